"""What needs the lead now: only what is evident, each with the way to its view."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from html import escape
from itertools import groupby

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts.cards import state
from advisor.pages.parts.plain import closed
from advisor.pages.parts.ways import nothing_logged
from advisor.pages.review.filters import ask_target, drifts, today
from advisor.pages.review.remedies import to_caps, to_jobs
from advisor.pages.session import Session
from advisor.record.week import Attention, CouponCounts, WeekPrinting, attention
from advisor.store.lead import RATES_BACK, week_summary

#: Days that are looked at, today included. Choice of this project: a week.
DAYS = 7
#: View in which each part of a summary is shown; what is missing or overdue is done elsewhere.
_VIEWS = {"rates": "rates", "drift": "drift", "releases": "evidence", "voided": "evidence"}
#: What the button to the view of each kind of finding says.
_LOOK = {
    "Below target": msg("Look: below target"),
    "Drifting": msg("Look: drifting"),
    "Release open again": msg("Look: release open again"),
    "Evidence voided": msg("Look: evidence voided"),
}


def show(session: Session) -> None:
    """Draw the view."""
    # The target and the count stand below what needs somebody, and are asked for before.
    cards, counted = st.container(), st.container()
    with st.columns(3)[0]:
        target = ask_target()
    until = today() + timedelta(days=1)
    log = session.log
    # To the minute, so that the next touch asks for the same.
    now = datetime.now().astimezone().replace(second=0, microsecond=0)
    printing = WeekPrinting("", "", now, session.who)
    since = until - timedelta(days=DAYS)
    summary = week_summary(log, printing, since, until, target, drifts=drifts(session))
    with cards:
        _cards(session, attention(summary))
    counted.html(f'<div class="card">{escape(_counted(summary.counts))}</div>')
    st.caption(
        say(
            "Rates and drift stand here only where they show beyond chance: rates of release "
            "coupons of {back} days and of all coupons of {days} days, 95 % intervals; drift by "
            "the weighted average of each machine with the caps it has now. What is too few to say "
            "is under Pass rates. Days begin at midnight UTC.",
            back=RATES_BACK.days,
            days=DAYS,
        )
    )


def _cards(session: Session, found: Sequence[Attention]) -> None:
    if not found:
        _nothing(session)
    for kind, group in groupby(found, key=lambda each: each.kind):
        _card(session, kind, list(group))


def _nothing(session: Session) -> None:
    """Say that nothing is evident; without a coupon that would be no comfort."""
    words = say("What needs you shows here as soon as coupons make it evident.")
    if not nothing_logged(session, words):
        nothing = state("good", say("Nothing needs you that is evident"))
        st.html(f'<div class="card good">{nothing}</div>')


def _counted(counts: CouponCounts) -> str:
    return say(
        _COUNTED_WITH_OPEN if counts.open else _COUNTED,
        days=DAYS,
        judged=counts.passed + counts.failed,
        passed=counts.passed,
        failed=counts.failed,
        open=counts.open,
    )


_COUNTED = msg("The last {days} days: {judged} coupons judged, {passed} passed, {failed} failed.")
_COUNTED_WITH_OPEN = msg(
    "The last {days} days: {judged} coupons judged, {passed} passed, {failed} failed, {open} not "
    "yet judged."
)


def _card(session: Session, kind: str, found: Sequence[Attention]) -> None:
    lines = "".join(
        f"<li><b>{escape(closed(each.what))}</b>: {escape(closed(each.why))}</li>" for each in found
    )
    section = found[0].section
    name = kind.lower().replace(" ", "-")
    with st.container(key=f"needs-{name}"):
        st.html(f'<div class="card bad">{state("bad", say(kind), "!")}<ul>{lines}</ul></div>')
        with st.container(key=f"ways-{name}", horizontal=True):
            if section in _VIEWS:
                st.button(
                    say(_LOOK[kind]),
                    key=f"look·{kind}",
                    on_click=_go,
                    args=(_VIEWS[section], _machine_of(found[0])),
                )
            to_jobs(session, (each.job for each in found), name)
            if section == "dressing":
                to_caps(session, name)


def _machine_of(each: Attention) -> str:
    """Return the machine that a finding of drift is about."""
    return each.what.rsplit(", ", 1)[0] if each.section == "drift" else ""


def _go(view: str, machine: str) -> None:
    st.session_state["view"] = view
    if machine:
        st.session_state["gun"] = machine
