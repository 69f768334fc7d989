"""Next setting: the coupon to weld next, what to expect of it, and behind it why."""

from __future__ import annotations

import math

import streamlit as st

from advisor.coupons.coverage import Coverage, CoverState
from advisor.errors import AdvisorError
from advisor.language import say
from advisor.learning.sound import Expected
from advisor.pages.parts.advice import Advised, advice, show_joint
from advisor.pages.parts.cards import bullets, next_coupon_card, percent, still_wanted
from advisor.pages.parts.joint_choice import Target, ask_target
from advisor.pages.parts.plain import plain
from advisor.pages.parts.size_bar import size_bar, size_words
from advisor.pages.parts.ways import no_joint_yet
from advisor.pages.parts.why import likeliest, why
from advisor.pages.session import Session
from advisor.weld.cautions import AT_THE_MACHINE


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Next setting for a coupon"))
    no_joint_yet(session)
    target = ask_target(session)
    if target is None:
        return
    coverage = show_joint(session, target)
    if coverage is not None and coverage.state is CoverState.COVERED:
        st.markdown(say("This joint is covered: weld it with the setting above and no other."))
        if not st.toggle(say("Explore further on coupons"), key=f"explore·{target.key}"):
            return
    try:
        found = advice(session, target)
    except AdvisorError as refusal:
        st.warning(say("No setting from this tool: {reason}", reason=plain(refusal)))
        return
    _answer(session, target, found, coverage)
    why(session, target, found)
    with st.expander(say("Cautions at the machine")):
        st.html(bullets(map(say, AT_THE_MACHINE)))


def _answer(session: Session, target: Target, found: Advised, coverage: Coverage | None) -> None:
    following = found.advice.next_coupon
    hoped = found.advice.expected(following.setting)
    figures = _chances(hoped) + size_bar(hoped, session.units)
    figures += f"<div>{size_words(hoped, session.units)}</div>"
    lines = [still_wanted(following, coverage) or following.reason, _explained(session, found)]
    st.html(next_coupon_card(following, session, target.machine.name, figures, lines))


def _chances(hoped: Expected) -> str:
    sound, expulsion = percent(hoped.chance_sound, math.floor), percent(hoped.chance_expulsion)
    words = say(
        "<b>Chance of a sound weld {sound}</b>, of throwing metal out {expulsion}.",
        sound=sound,
        expulsion=expulsion,
    )
    return f'<div class="chance">{words}</div>'


def _explained(session: Session, found: Advised) -> str:
    suggestion = found.advice.suggestion
    other = likeliest(session, found)
    if not other:
        return suggestion.explanation
    chance = percent(suggestion.chance_sound, math.floor)
    return say(
        "Likeliest to be sound, {chance}, would be {setting}. {explanation}",
        chance=chance,
        setting=other,
        explanation=suggestion.explanation,
    )
