"""Who is at the bench, which log is open, and in which units this person reads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import streamlit as st

from advisor.pages.parts.units_choice import UnitChoice
from advisor.store.demo import fill_demo
from advisor.store.log import Log, default_url, demo_url, open_log
from advisor.units import Calibration


@dataclass
class Session:
    """What every page needs to know.

    Parameters
    ----------
    log : Log
        The open log: the shop's, or the invented demo shop's.
    who : str
        Name of the person at the bench; empty when nobody has chosen.
    units : UnitChoice
        Their units.
    """

    log: Log
    who: str
    units: UnitChoice

    @cached_property
    def _calibrations(self) -> dict[str, Calibration]:
        return {machine.name: machine.calibration for machine in self.log.machines()}

    def calibration(self, machine: str) -> Calibration:
        """Return how a machine's cycles and air pressures read."""
        return self._calibrations[machine]

    def thickness(self, value_mm: float) -> str:
        """Write a sheet thickness given in mm in this person's unit."""
        return self.units.show("thickness", value_mm)


@st.cache_resource(show_spinner="Opening the log …")
def _opened(url: str, *, demo: bool) -> Log:
    log = open_log(url)
    if demo and log.is_empty():
        fill_demo(log)
    return log


def in_demo() -> bool:
    """Whether this browser looks at the invented demo shop."""
    return st.query_params.get("shop") == "demo" or st.session_state.get("demo", False)


def enter_demo(inside: bool) -> None:
    """Switch between the demo shop and the shop's own log; the two are separate databases."""
    st.session_state.clear()
    st.session_state["demo"] = inside
    st.query_params.clear()
    if inside:
        st.query_params["shop"] = "demo"


def current() -> Session:
    """Return the session of this browser.

    Raises
    ------
    StoreError
        The log cannot be opened; the text says why and what to do.
    """
    demo = in_demo()
    st.session_state["demo"] = demo
    if demo:
        st.query_params["shop"] = "demo"
    log = _opened(demo_url() if demo else default_url(), demo=demo)
    who = _who(log)
    stored = st.session_state.get("units")
    if stored is None:
        stored = log.preferences(who) if who else {}
        st.session_state["units"] = stored
    return Session(log, who, UnitChoice.read(stored))


def _who(log: Log) -> str:
    who = st.session_state.get("who") or st.query_params.get("who", "")
    known = log.welders()
    who = who if who in known else (known[0] if len(known) == 1 else "")
    st.session_state["who"] = who
    if who:
        st.query_params["who"] = who
    return who


def change_person(who: str) -> None:
    """Let another person take over the bench; their units come with them."""
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
