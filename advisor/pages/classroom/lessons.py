"""Lessons: the question, the class's guess, and only then what the welds show."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from advisor.heat.history import WeldHistory
from advisor.language import say
from advisor.pages.classroom import showing
from advisor.pages.classroom.paper import hand_out_button
from advisor.pages.parts import addressed
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.entry import quantity
from advisor.pages.session import Session
from advisor.teaching.lesson import Lesson, SizeGuess, WordGuess
from advisor.teaching.lessons import prepared
from advisor.teaching.words import CALCULATED, source_words, start_words

Guess = float | int | None


def show(session: Session) -> None:
    """Draw the view."""
    lesson = _choose()
    st.subheader(say(lesson.title))
    for shown in lesson.welds[: _asked(lesson)]:
        st.html(showing.set_up(session, shown))
    st.caption(start_words())
    st.markdown(f"**{say(lesson.question)}**")
    guess = _ask(session, lesson)
    if not st.toggle(say("Reveal"), key=f"class·reveal·{lesson.key}"):
        st.caption(say("Let the class decide first; then reveal."))
        return
    histories = showing.calculated(lesson.welds)
    if histories is not None:
        _reveal(session, lesson, histories, guess)


def _choose() -> Lesson:
    lessons = prepared()
    key = addressed.choose(
        st.selectbox,
        say("Lesson"),
        list(lessons),
        lambda each: say(lessons[each].title),
        key="lesson",
    )
    return lessons[key]


def _asked(lesson: Lesson) -> int:
    """Return how many welds the question speaks of; what comes after them belongs to the answer."""
    guess = lesson.guess
    return guess.weld + 1 if isinstance(guess, SizeGuess) else len(lesson.welds)


def _ask(session: Session, lesson: Lesson) -> Guess:
    key = f"class·guess·{lesson.key}"
    if isinstance(lesson.guess, SizeGuess):
        return quantity(say("The class says: size"), "diameter", key, session.units)
    words = lesson.guess.options
    return st.radio(
        say("The class says"),
        range(len(words)),
        index=None,
        format_func=lambda number: say(words[number]),
        key=key,
    )


def _reveal(
    session: Session, lesson: Lesson, histories: Sequence[WeldHistory], guess: Guess
) -> None:
    compared = _compared(session, lesson, histories, guess)
    st.html(f'<div class="card good" role="status">{bullets(compared)}</div>')
    showing.sections(session, lesson.welds, histories, f"class·{lesson.key}")
    showing.figures_table(session, lesson.welds, histories)
    st.markdown(f"**{say('The point')}**")
    st.html(bullets(map(say, lesson.point)))
    showing.curves(session, lesson.welds, histories, f"lesson-{lesson.key}", say(lesson.title))
    st.caption(f"{say(CALCULATED)} {source_words(lesson.sources)}")
    hand_out_button(
        session,
        lesson.welds,
        histories,
        lesson.key,
        title=say(lesson.title),
        described=(*(f"{each.name}: {say(each.what)}" for each in lesson.welds), start_words()),
        question=say(lesson.question),
        point=tuple(map(say, lesson.point)),
        sources=source_words(lesson.sources),
    )


def _compared(
    session: Session, lesson: Lesson, histories: Sequence[WeldHistory], guess: Guess
) -> list[str]:
    """Return how the guess stands against what was calculated."""
    asked = lesson.guess
    if isinstance(asked, WordGuess):
        if guess is None:
            right = say(asked.options[asked.right(histories)])
            return [say("The calculation says: {answer}.", answer=right)]
        return [asked.compared(histories, int(guess))]
    units, answer = session.units, asked.answer_mm(histories)
    shown = lesson.welds[asked.weld]
    least = shown.minima_mm[asked.interface]
    found = [
        say(
            "{weld} comes out at {size}; its minimum is {minimum}.",
            weld=shown.name,
            size=units.show("diameter", answer),
            minimum=units.show("diameter", least),
        )
    ]
    if guess is not None:
        off = units.show("diameter", abs(guess - answer))
        side = say("too large") if guess > answer else say("too small")
        found.append(say("The guess is {off} {side}.", off=off, side=side))
    return found
