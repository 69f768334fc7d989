"""Who is at the bench, which log is open, and in which units this person reads."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NoReturn

import streamlit as st
from streamlit.errors import StreamlitAPIException

from advisor.language import msg
from advisor.pages import spoken
from advisor.pages.listening import is_guarded, uses_openid
from advisor.pages.parts.units_choice import UnitChoice
from advisor.pages.visit import Visit, by_service, by_token
from advisor.store.backups.daily import keep_backed_up
from advisor.store.base import Trust
from advisor.store.demo import fill_demo
from advisor.store.log import Log, default_url, demo_url, open_log
from advisor.store.people import Person
from advisor.store.practice import make_practice_copy, practice_file, practice_url
from advisor.store.practice_bench import bench_file, bench_url, make_bench
from advisor.units import Calibration


@dataclass
class Session:
    """What every page needs to know.

    Parameters
    ----------
    opened : Log
        The open log: the shop's, or the invented demo shop's.
    who : str
        Name of the person at the bench; empty when nobody has chosen.
    units : UnitChoice
        Their units.
    visit : Visit, optional
        Who has signed in, where that is asked for.
    """

    opened: Log
    who: str
    units: UnitChoice
    visit: Visit | None = None

    @property
    def log(self) -> Log:
        """The open log; a page whose visit has ended is drawn anew instead."""
        if self.visit is not None:
            self.visit.confirm()
        return self.opened

    @cached_property
    def _calibrations(self) -> dict[str, Calibration]:
        return {machine.name: machine.calibration for machine in self.log.machines()}

    def calibration(self, machine: str) -> Calibration:
        """Return how a machine's cycles and air pressures read."""
        return self._calibrations[machine]

    def thickness(self, value_mm: float) -> str:
        """Write a sheet thickness given in mm in this person's unit.

        Parameters
        ----------
        value_mm : float
            The thickness. [mm]
        """
        return self.units.show("thickness", value_mm)


@st.cache_resource(show_spinner=spoken.SaidLater(msg("Opening the log …")))
def _opened(url: str, *, demo: bool) -> Log:
    log = open_log(url)
    if demo and log.is_empty():
        fill_demo(log)
    return log


DEMO, PRACTICE, BENCH = "demo", "practice", "bench"
#: Places of which each person has one of their own: its file, and its address.
_OF_ONES_OWN: dict[str, tuple[Callable[[str], Path], Callable[[str], str]]] = {
    PRACTICE: (practice_file, practice_url),
    BENCH: (bench_file, bench_url),
}


def aside() -> str:
    """Return where this browser is instead of in the shop's log; empty when it is there."""
    asked = st.query_params.get("shop", "")
    found: str = asked if asked in (DEMO, PRACTICE, BENCH) else st.session_state.get("aside", "")
    return found


def enter(place: str) -> None:
    """Go to the demo shop, to a copy of one's own, or with "" back to the shop's own log.

    They are separate databases: nothing in one can mix with the other.
    """
    who = st.session_state.get("who", "") if place in _OF_ONES_OWN else ""
    language = spoken.kept()
    st.session_state.clear()
    st.session_state.update(language)
    st.session_state["aside"] = place
    _empty_address()
    if place:
        st.query_params["shop"] = place
    if who:
        st.query_params["who"] = who


def _empty_address() -> None:
    """Take out of the address what can be; the view of the page stays, and what widgets keep."""
    for name in set(st.query_params) - {"view"}:
        with suppress(StreamlitAPIException):
            del st.query_params[name]


def practise(session: Session) -> None:
    """Make a practice copy of the open log for the person at the bench, and go there."""
    url = practice_url(session.who)
    _opened(url, demo=False).close()
    _opened.clear(url, demo=False)
    make_practice_copy(session.log, session.who)
    enter(PRACTICE)


def go_to(page: str, session: Session, **address: str) -> NoReturn:
    """Go to another page of the same place.

    Parameters
    ----------
    page : str
        Address of the page.
    session : Session
        Who goes there.
    **address : str
        What the address says besides; all else in it is left behind.
    """
    here = {"shop": aside(), "who": "" if session.visit else session.who, **address}
    kept = {name: value for name, value in here.items() if value}
    st.switch_page(st.Page(_nothing, url_path=page), query_params=kept)


def _nothing() -> None:
    """Stand for a page that the frame draws: going there needs its address only."""


def begin_bench(session: Session, exercise: str, seed: int) -> None:
    """Begin an exercise on the practice bench of the person at the bench, and go there.

    Parameters
    ----------
    session : Session
        Whose bench it is, and their units.
    exercise : str
        A key of `EXERCISES`.
    seed : int
        Number of the virtual machine.
    """
    close_bench(session.who)
    make_bench(session.who, exercise, seed, {**session.units.stored(), **spoken.kept()})
    enter(BENCH)


def close_bench(who: str) -> None:
    """Close a person's practice bench, so that its file can be replaced or deleted."""
    if bench_file(who).exists():
        _opened(bench_url(who), demo=False).close()
    _opened.clear(bench_url(who), demo=False)


def bench_log(who: str) -> Log | None:
    """Return the log of a person's practice bench; None where they have none."""
    return _own_log(BENCH, who)


def _log_aside(place: str, visit: Visit | None) -> Log | None:
    """Open the demo shop or a copy of one's own; None where there is no such copy."""
    if place == DEMO:
        return _opened(demo_url(), demo=True)
    # Going to another page empties the address.
    picked = st.query_params.get("who") or st.session_state.get("who", "")
    return _own_log(place, visit.person.name if visit else picked)


def _own_log(place: str, who: str) -> Log | None:
    if place not in _OF_ONES_OWN or not who:
        return None
    file, url = _OF_ONES_OWN[place]
    return _opened(url(who), demo=False) if file(who).exists() else None


def visit_here() -> Visit | None:
    """Return who has signed in in this browser; None when nobody has.

    Only the cookie that signing in has set is read, or what the shop's sign-in service has said;
    nothing else that a browser sends.

    Raises
    ------
    StoreError
        The log cannot be opened; the text says why and what to do.
    """
    log = _opened(default_url(), demo=False)

    service = uses_openid()
    sent = dict(said_by_service() if service else _cookies())  # a download asks later, without them

    def look() -> Person | None:
        return by_service(log, sent) if service else by_token(log, sent)

    person = look()
    if person is None:
        return None
    if st.session_state.setdefault("visitor", person.name) != person.name:
        st.session_state.clear()  # what was typed and chosen here is somebody else's
        st.session_state["visitor"] = person.name
    return Visit(person, look)


def _cookies() -> Mapping[str, str]:
    return st.context.cookies


def said_by_service() -> Mapping[str, Any]:
    """Return what the shop's sign-in service has said of this browser."""
    said: dict[str, Any] = st.user.to_dict()
    return said


def current(visit: Visit | None = None) -> Session:
    """Return the session of this browser.

    Parameters
    ----------
    visit : Visit, optional
        Who has signed in, where that is asked for.

    Raises
    ------
    StoreError
        The log cannot be opened; the text says why and what to do.
    RoleError
        Nobody has signed in although that is asked for.
    """
    place = aside()
    found = _log_aside(place, visit)
    st.session_state["aside"] = place = place if found else ""
    if place:
        st.query_params["shop"] = place
    log = found or _opened(default_url(), demo=False)
    if not place:
        keep_backed_up(default_url())
    if visit is not None and place != DEMO:
        log, who = log.used_by(Trust.SIGNED_IN, visit.person.name), visit.person.name
    else:
        if visit is None and is_guarded():
            log = log.used_by(Trust.SIGNED_OUT)
        who = _who(log)
    stored = st.session_state.get("units")
    if stored is None:
        stored = log.preferences(who) if who else {}
        st.session_state["units"] = stored
        spoken.take_up(stored)
    return Session(log, who, UnitChoice.read(stored), visit)


def _who(log: Log) -> str:
    who = st.session_state.get("who") or st.query_params.get("who", "")
    known = log.welders()
    who = who if who in known else (known[0] if len(known) == 1 else "")
    st.session_state["who"] = who
    if who:
        st.query_params["who"] = who
    return who


def change_person(who: str) -> None:
    """Let another person take over the bench; their units and language come with them."""
    if st.session_state.get("who"):  # what nobody in particular has chosen stays
        st.session_state.pop(spoken.KEPT, None)
    st.session_state["who"] = who
    st.session_state.pop("units", None)
    if who:
        st.query_params["who"] = who
    else:
        st.query_params.pop("who", None)


def change_units(session: Session, units: UnitChoice) -> None:
    """Remember this person's units."""
    st.session_state["units"] = units.stored()
    if session.who:
        session.log.save_preferences(session.who, units.stored())


def change_language(session: Session, code: str) -> None:
    """Remember in which language this person reads.

    Parameters
    ----------
    session : Session
        Who reads.
    code : str
        A key of `LANGUAGES`.
    """
    spoken.speak(code)
    if session.who:
        session.log.save_preferences(session.who, spoken.kept())
