"""Machines of the shop: limits, calibration, caps, dressing and repair."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import streamlit as st

from advisor.coupons.joint import Bench
from advisor.errors import InputError
from advisor.language import msg, say
from advisor.pages.parts.drafts import draft, keep_or_show_both, started
from advisor.pages.parts.entry import attempt, pick, quantity
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.units import NO_CALIBRATION
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine

#: A choice, and a message for `say`.
NEW = msg("a new one …")
_LIMITS = {
    "largest_current_kA": msg("Largest current"),
    "smallest_current_kA": msg("Smallest current"),
    "largest_force_kN": msg("Largest force"),
    "smallest_force_kN": msg("Smallest force"),
}


def machines_tab(session: Session) -> None:
    """Draw the machines of the shop and what was done to them."""
    known = {machine.name: machine for machine in session.log.machines()}
    name = st.selectbox(
        say("Machine"),
        [*known, NEW],
        format_func=lambda each: say(NEW) if each == NEW else each,
        key=f"machine·{len(known)}",
    )
    machine = known.get(name)
    if machine is not None:
        _electrodes(session, machine)
    with st.expander(say("Limits and calibration"), expanded=machine is None):
        _machine_form(session, machine)


def _electrodes(session: Session, machine: Machine) -> None:
    bench = session.log.bench(machine.name)
    _fitted(bench)
    with st.container(horizontal=True):
        if st.button(say("Dressed to the same face"), disabled=bench.electrode is None):
            _event(session, "dress", machine, say("Dressing noted; coverage stays."))
        if st.button(say("Machine repaired")):
            done = say("Repair noted; earlier coupons no longer cover.")
            _event(session, "repair", machine, done)
    _new_caps(session, machine)
    for event in session.log.events(machine.name, 5):
        st.caption(plain(event))


def _fitted(bench: Bench) -> None:
    """Say which caps are fitted, and since when."""
    if bench.electrode is None:
        st.warning(say("No caps are entered: say which are fitted."))
        return
    caps = plain(bench.electrode.title())
    if bench.fitted_at is None:
        st.markdown(say("Fitted: **{caps}**", caps=caps))
        return
    day = bench.fitted_at.astimezone()
    st.markdown(say("Fitted: **{caps}** since {day:%d %b %Y}", caps=caps, day=day))


def _new_caps(session: Session, machine: Machine) -> None:
    with st.form(f"caps·{machine.name}", enter_to_submit=False):
        st.markdown(say("**New caps** (earlier coupons no longer cover)"))
        left, middle, right = st.columns(3)
        with left:
            shape = pick(say("Shape"), list(CapShape), f"shape·{machine.name}")
        with middle:
            face = quantity(say("Face"), "diameter", f"face·{machine.name}", session.units)
        with right:
            material = st.text_input(say("Material class"), value="CuCrZr")
        fitted = st.form_submit_button(say("Fitted now"))
    if fitted and face is None:
        st.error(say("Give the face diameter of the caps."))
    elif fitted and face is not None:
        if attempt(
            lambda: session.log.fit_caps(
                machine.name, Electrode(shape, face, material.strip()), _now(), session.who
            ),
            say("New caps noted."),
        ):
            st.rerun()


def _event(session: Session, what: str, machine: Machine, done: str) -> None:
    act = getattr(session.log, what)
    if attempt(lambda: act(machine.name, _now(), session.who), done):
        st.rerun()


def _now() -> datetime:
    return datetime.now(UTC)


def _machine_form(session: Session, old: Machine | None) -> None:
    form = f"machine·{old.name if old else ''}·limits"
    with draft(session, form) as key:
        build = _ask_machine(session, key, started(key, old))
        pressed = st.button(say("Keep the machine"), type="primary", key=f"keep-{key}")

    def save(start: Machine | None) -> None:
        session.log.save_machine(build(), session.who, started_from=start)

    done = say("Machine kept.")
    if keep_or_show_both(session, form, old, pressed=pressed, action=save, done=done):
        st.rerun()


def _ask_machine(session: Session, key: str, old: Machine | None) -> Callable[[], Machine]:
    """Ask for a machine; what is returned builds it, or says what is missing."""
    units = session.units
    # The choice above names an old one.
    name = old.name if old else st.text_input(say("Name"), key=f"{key}·name")
    numbers: dict[str, float | None] = {}
    left, right = st.columns(2)
    for column, field, word in ((left, "current", "current_kA"), (right, "force", "force_kN")):
        for end in ("largest", "smallest"):
            with column:
                numbers[f"{end}_{word}"] = quantity(
                    say(_LIMITS[f"{end}_{word}"]),
                    field,
                    f"{key}·{end}·{field}",
                    units,
                    getattr(old, f"{end}_{word}") if old else None,
                    old.calibration if old else NO_CALIBRATION,
                )
    with left:
        mains = st.segmented_control(
            say("Mains [Hz]"),
            [50, 60],
            default=int(old.mains_hz) if old else None,
            key=f"{key}·hz",
        )
        is_inverter = st.toggle(
            say("Inverter (time in ms)"),
            value=not old or old.is_inverter,
            key=f"{key}·inverter",
        )
    with right:
        per_bar = st.number_input(
            say("Force per air pressure [kN/bar]"),
            value=old.force_kN_per_bar if old else None,
            format="%.3f",
            help=say("From a force gauge; leave empty where the force is set in kN or daN."),
            key=f"{key}·per_bar",
        )
        offset = st.number_input(
            say("Force at zero pressure [kN]"),
            value=old.force_offset_kN if old else 0.0,
            format="%g",
            key=f"{key}·offset",
        )

    def build() -> Machine:
        given = {k: v for k, v in numbers.items() if v is not None}
        if not {"largest_current_kA", "largest_force_kN"} <= set(given) or mains is None:
            raise InputError(
                say("give the largest current, the largest force and the mains frequency")
            )
        return Machine(
            name.strip(),
            mains_hz=float(mains),
            is_inverter=is_inverter,
            force_kN_per_bar=per_bar,
            force_offset_kN=offset or 0.0,
            **given,
        )

    return build
