"""The week on paper: made when asked, then offered as PDF and CSV."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import ENGLISH, say, speaking
from advisor.pages.parts import addressed
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.plain import closed, plain
from advisor.pages.parts.record import PLACE, SHOP
from advisor.pages.review.filters import ask_target, today
from advisor.pages.session import Session
from advisor.record.week import WeekPrinting, WeekSummary, attention, week_of
from advisor.record.week_csv import week_csv
from advisor.record.week_pdf import week_pdf
from advisor.store.lead import week_summary

#: Weeks to choose from, this one first.
_WEEKS = 13


def show(session: Session) -> None:
    """Draw the view."""
    monday = _ask_week()
    target = ask_target()
    known = session.log.preferences(session.who) if session.who else {}
    left, right = st.columns(2)
    with left:
        shop = st.text_input(
            say("Shop name on paper"), known.get(SHOP, ""), key="week-shop"
        ).strip()
    with right:
        place = st.text_input(say("Place"), known.get(PLACE, ""), key="week-place").strip()
    if not st.button(say("Make the summary"), type="primary", key="week-make"):
        return
    if not shop:
        st.error(say("Whose summary is it? Give the shop's name first."))
        return
    try:
        with st.spinner(say("Making the summary …")):
            summary = _make(session, monday, target, shop, place)
            with speaking(ENGLISH):  # for the CSV, which programs read
                english = _make(session, monday, target, shop, place)
    except AdvisorError as error:
        st.error(plain(error))
        return
    if session.who and (known.get(SHOP), known.get(PLACE)) != (shop, place):
        session.log.save_preferences(session.who, {SHOP: shop, PLACE: place})
    _offer(summary, english, monday)


def _ask_week() -> date:
    this, _ = week_of(today())
    mondays = [this - timedelta(weeks=n) for n in range(_WEEKS)]
    return addressed.choose(st.selectbox, say("Week"), mondays, _week_words, key="week")


def _week_words(monday: date) -> str:
    sunday = monday + timedelta(days=6)
    return say(
        "{monday:%d %b} to {sunday:%d %b %Y} (week {week})",
        monday=monday,
        sunday=sunday,
        week=monday.isocalendar().week,
    )


def _make(session: Session, monday: date, target: float, shop: str, place: str) -> WeekSummary:
    log = session.log
    now = datetime.now().astimezone()
    printing = WeekPrinting(shop, place, now, session.who, log.is_demo, log.is_copy)
    return week_summary(log, printing, monday, monday + timedelta(days=7), target)


def _offer(summary: WeekSummary, english: WeekSummary, monday: date) -> None:
    name = f"week-{monday}"
    left, right = st.columns(2)
    with left:
        st.download_button(
            say("Week as PDF"),
            data=week_pdf(summary),
            file_name=f"{name}.pdf",
            mime="application/pdf",
            on_click="ignore",
            type="primary",
        )
    with right:
        st.download_button(
            say("Week as CSV"),
            data=_csv(english),
            file_name=f"{name}.csv",
            mime="text/csv",
            on_click="ignore",
        )
    st.html(f'<div class="card">{bullets(map(closed, _lines(summary)))}</div>')
    st.caption(say("Page 1 of the PDF says what needs attention; the tables follow."))


def _csv(english: WeekSummary) -> bytes:
    with speaking(ENGLISH):
        return week_csv(english)


def _lines(summary: WeekSummary) -> list[str]:
    counts = summary.counts
    return [
        say(
            "{judged} coupons judged, {passed} passed",
            judged=counts.passed + counts.failed,
            passed=counts.passed,
        ),
        say(
            "{releases} releases, {voided} coupons voided",
            releases=len(summary.releases),
            voided=len(summary.voided),
        ),
        *(f"{say(each.kind)}: {each.what}: {each.why}" for each in attention(summary)),
    ]
