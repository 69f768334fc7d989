"""Which coupons a view looks at: asked once, kept in the address so that a view can be shared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import streamlit as st

from advisor.coupons.purpose import Purpose
from advisor.language import ENGLISH, msg, say, speaking
from advisor.pages.parts import addressed
from advisor.pages.parts.plain import plain
from advisor.pages.parts.ways import nothing_logged
from advisor.pages.session import Session
from advisor.record.week import WeekPrinting
from advisor.review.intervals import Method
from advisor.review.standing import TARGET
from advisor.store.lead import MachineDrift, all_drift
from advisor.store.log import Log
from advisor.store.reviewing import Which

ALL = msg("all")
#: Lengths of periods by their words in English, which are the choices. [days]
PERIODS = {msg("7 days"): 7, msg("30 days"): 30, msg("90 days"): 90, msg("a year"): 365}
_PERIODS = {**PERIODS, ALL: None}
_PURPOSES = {
    Purpose.FIRST.value: msg("first attempts"),
    Purpose.SET_UP.value: msg("set-up coupons"),
    Purpose.RELEASE.value: msg("release coupons"),
    ALL: msg("all coupons"),
}
_METHODS: dict[Method, str] = {
    "wilson": msg("Wilson"),
    "exact": msg("exact (Clopper-Pearson)"),
    "jeffreys": msg("Jeffreys"),
}


@dataclass(frozen=True)
class Filters:
    """What was chosen.

    Parameters
    ----------
    which : Which
        Which coupons.
    words : str
        The same in words.
    """

    which: Which
    words: str


def today() -> date:
    """Return the day that days are counted from, in UTC as in the log."""
    return datetime.now(UTC).date()


def ask_filters(session: Session, default_purpose: str = Purpose.RELEASE.value) -> Filters:
    """Ask for period, purpose and machine.

    Parameters
    ----------
    session : Session
        The log and who looks at it.
    default_purpose : str
        Purpose that is chosen at first.
    """
    with st.container(key="pair-filters"):
        first, second, third = st.columns(3)
    with first:
        periods = list(_PERIODS)
        period = addressed.choose(
            st.selectbox, say("Of the last"), periods, say, key="of", first=periods[2]
        )
    with second:
        purpose = addressed.choose(
            st.selectbox,
            say("Coupons"),
            list(_PURPOSES),
            lambda purpose: say(_PURPOSES[purpose]),
            key="what",
            first=default_purpose,
        )
    with third:
        machine = ask_machine(session, ALL)
    days = _PERIODS[period]
    which = Which(
        since=today() - timedelta(days=days) if days else None,
        machine=None if machine == ALL else machine,
        purpose=None if purpose == ALL else Purpose.of(purpose),
    )
    return Filters(which, ", ".join(_said(which, purpose)))


def nothing_judged(session: Session, filters: Filters, words: str) -> None:
    """Say that no coupon was judged among these, and what to choose; or that none is logged at all.

    Parameters
    ----------
    session : Session
        The log and who looks at it.
    filters : Filters
        What was chosen.
    words : str
        What will be seen here, for a log without a coupon.
    """
    if nothing_logged(session, words):
        return
    st.info(
        say(
            "No coupon was judged among these: {which}. Choose all coupons or a longer period.",
            which=plain(filters.words),
        )
    )


def _said(which: Which, purpose: str) -> Iterator[str]:
    yield say(_PURPOSES[purpose])
    yield say("since {day}", day=which.since) if which.since else say("of all time")
    if which.machine:
        yield say("on {machine}", machine=which.machine)


def ask_machine(session: Session, *first: str, key: str = "on") -> str:
    """Ask for a machine; `first` are choices before the machines, `key` its word in the address."""
    names = [*first, *(machine.name for machine in session.log.machines())]
    return st.selectbox(
        say("Machine"), names, format_func=_machine_words, key=key, bind="query-params"
    )


def _machine_words(name: str) -> str:
    return say(ALL) if name == ALL else plain(name)


def ask_target() -> float:
    """Ask for the share of coupons that should pass, 0 to 1."""
    percent = st.number_input(
        say("Target [%]"),
        min_value=50,
        max_value=99,
        value=round(100 * TARGET),
        step=1,
        key="target",
        help=say("Share of coupons that should pass; 90 % is common practice, no source."),
        bind="query-params",
    )
    return (percent or 100 * TARGET) / 100


def ask_method() -> Method:
    """Ask for the interval of a row's own rate."""
    return addressed.choose(
        st.selectbox, say("Interval of the row alone"), list(_METHODS), method_words, key="interval"
    )


def method_words(method: Method) -> str:
    """Return the name of an interval."""
    return say(_METHODS[method])


def drifts(session: Session) -> list[MachineDrift]:
    """Return the drift of all machines, read once until something is written that it rests on."""
    log = session.log
    names = tuple(machine.name for machine in log.machines())
    return _drifts(log.url, log.drift_seal(), names, log)


@st.cache_resource(max_entries=16, show_spinner=False)
def _drifts(url: str, seal: str, names: tuple[str, ...], _log: Log) -> list[MachineDrift]:
    return all_drift(_log)


def mark_of(session: Session) -> str:
    """Return what stands on every file that is no record of a shop, as a message for `say`.

    It is empty when the file is a record.
    """
    now = datetime.now().astimezone()
    log = session.log
    with speaking(ENGLISH):
        return WeekPrinting("", "", now, "", log.is_demo, log.is_copy).mark
