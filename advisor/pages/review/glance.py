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
from advisor.pages.session import Session
from advisor.record.week import Attention, CouponCounts, WeekPrinting, attention
from advisor.store.lead import RATES_BACK, week_summary

#: Days that are looked at, today included. Choice of this project: a week.
DAYS = 7
#: View in which each part of a summary is shown.
_VIEWS = {
    "rates": "rates",
    "drift": "drift",
    "releases": "evidence",
    "voided": "evidence",
    "missing": "evidence",
    "dressing": "evidence",
}
#: What the button of each kind of finding says.
_LOOK = {
    "Below target": msg("Look: below target"),
    "Drifting": msg("Look: drifting"),
    "Release open again": msg("Look: release open again"),
    "Evidence voided": msg("Look: evidence voided"),
    "Dressing overdue": msg("Look: dressing overdue"),
    "Bonded-joint test": msg("Look: bonded-joint test"),
}
#: Worst first; the others follow.
_ORDER = ("Below target", "Drifting", "Release open again", "Evidence voided")


def show(session: Session) -> None:
    """Draw the view."""
    with st.columns(3)[0]:
        target = ask_target()
    until = today() + timedelta(days=1)
    log = session.log
    # To the minute, so that the next touch asks for the same.
    now = datetime.now().astimezone().replace(second=0, microsecond=0)
    printing = WeekPrinting("", "", now, session.who)
    since = until - timedelta(days=DAYS)
    summary = week_summary(log, printing, since, until, target, drifts=drifts(session))
    st.html(f'<div class="card">{escape(_counted(summary.counts))}</div>')
    found = sorted(attention(summary), key=_rank)
    if not found:
        _nothing(session)
    for kind, group in groupby(found, key=lambda each: each.kind):
        _card(kind, list(group))
    st.caption(
        say(
            "Only what the numbers show beyond chance stands here: rates of release coupons of "
            "{back} days and of all coupons of {days} days, 95 % intervals; drift by the weighted "
            "average of each machine with the caps it has now. What is too few to say is under "
            "Pass rates. Days begin at midnight UTC.",
            back=RATES_BACK.days,
            days=DAYS,
        )
    )


def _nothing(session: Session) -> None:
    """Say that nothing is evident; without a coupon that would be no comfort."""
    words = say("What needs you shows here as soon as coupons make it evident.")
    if not nothing_logged(session, words):
        nothing = state("good", say("Nothing needs you that is evident"))
        st.html(f'<div class="card good">{nothing}</div>')


def _rank(each: Attention) -> int:
    return _ORDER.index(each.kind) if each.kind in _ORDER else len(_ORDER)


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


def _card(kind: str, found: Sequence[Attention]) -> None:
    lines = "".join(
        f"<li><b>{escape(closed(each.what))}</b>: {escape(closed(each.why))}</li>" for each in found
    )
    view = _VIEWS[found[0].section]
    with st.container(key=f"needs-{kind.lower().replace(' ', '-')}"):
        st.html(f'<div class="card bad">{state("bad", say(kind), "!")}<ul>{lines}</ul></div>')
        st.button(
            say(_LOOK[kind]),
            key=f"look·{kind}",
            on_click=_go,
            args=(view, _machine_of(found[0])),
        )


def _machine_of(each: Attention) -> str:
    """Return the machine that a finding of drift is about."""
    return each.what.rsplit(", ", 1)[0] if each.section == "drift" else ""


def _go(view: str, machine: str) -> None:
    st.session_state["view"] = view
    if machine:
        st.session_state["gun"] = machine
