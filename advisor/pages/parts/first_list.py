"""Before the first bonded joint: what a new shop does first, ticked from what its log holds."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts.ways import go_button
from advisor.pages.session import Session, aside, go_to
from advisor.store.first_steps import First, FirstStep, first_steps

#: What is remembered for a person: that they have looked at the rules, that the list is put away.
_SEEN, _AWAY = "first_rules_seen", "first_list_away"
#: Kept while the browser is here: the shop is no longer new, so nothing is asked of the log again.
_OVER = "first list over"
_WORDS = {
    First.ADHESIVE: msg("Enter the adhesive with the times of its label (Shop set-up, Adhesives)."),
    First.RULES: msg(
        "Look at the shop's rules: when a coupon passes and how many a joint needs. They hold as "
        "they are until a lead changes them."
    ),
    First.JOINT: msg("Add the first bonded joint, below: where it is, its sheets, its adhesive."),
    First.COUPON: msg(
        "Weld a coupon of the same sheets and adhesive, peel it and log it: it is judged at once."
    ),
    First.MAKER: msg(
        "Only where adhesive has cured before welding: copy the welder maker's recommended "
        "settings onto the joint's card, as printed."
    ),
}


def show(session: Session) -> bool:
    """Draw the list where the shop is new; return whether it is there."""
    if aside() or st.session_state.get(_OVER):
        return False
    known = session.log.preferences(session.who) if session.who else {}
    steps = first_steps(session.log, rules_seen=_SEEN in known)
    if _AWAY in known or not steps:
        st.session_state[_OVER] = True
        return False
    with st.container(key="first-steps"):
        st.html(_card(steps))
        with st.container(horizontal=True):
            _buttons(session, steps)
    return True


def _card(steps: Sequence[FirstStep]) -> str:
    lines = "".join(map(_line, steps))
    title = escape(say("Before the first bonded joint"))
    return f'<div class="card"><div class="name">{title}</div><ul class="ticks">{lines}</ul></div>'


def _line(step: FirstStep) -> str:
    words = escape(say(_WORDS[step.what]))
    if not step.is_done:
        return f'<li><span aria-hidden="true">○</span><span>{words}</span></li>'
    word = say("Done:")
    done = f"<b>{escape(word)}</b> "
    return f'<li class="done"><span aria-hidden="true">✓</span><span>{done}{words}</span></li>'


def _buttons(session: Session, steps: Sequence[FirstStep]) -> None:
    """Draw the way to each step that is not done on this page; what comes next stands out."""
    left = [step.what for step in steps if not step.is_done]
    if First.ADHESIVE in left:
        go_button(session, say("Enter the adhesive"), "shop", "adhesives", primary=True)
    if First.RULES in left and st.button(say("Look at the rules")):
        _remember(session, _SEEN)
        go_to("shop", session, tab="rules")
    if First.COUPON in left:
        is_next = First.ADHESIVE not in left and First.JOINT not in left
        go_button(session, say("Log the first coupon"), "coupon", primary=is_next)
    if st.button(say("Put this list away"), type="tertiary"):
        _remember(session, _AWAY)
        st.session_state[_OVER] = True
        st.rerun()


def _remember(session: Session, name: str) -> None:
    if session.who:
        session.log.save_preferences(session.who, {name: "yes"})
