"""Shop set-up: machines and their electrodes, welders, adhesives, rules."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TypeVar

import streamlit as st

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.pages.parts.entry import attempt, pick, quantity
from advisor.pages.session import Session, change_person
from advisor.units import NO_CALIBRATION
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine
from advisor.weld.published import Schedule
from advisor.weld.size import GoverningRule, SizeRule

NEW = "a new one …"


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Shop set-up")
    machines, people, adhesives, rules = st.tabs(["Machines", "Welders", "Adhesives", "Rules"])
    with machines:
        _machines(session)
    with people:
        _people(session)
    with adhesives:
        _adhesives(session)
    with rules:
        _rules(session)


def _machines(session: Session) -> None:
    known = {machine.name: machine for machine in session.log.machines()}
    name = st.selectbox("Machine", [*known, NEW], key=f"machine·{len(known)}")
    machine = known.get(name)
    if machine is not None:
        _electrodes(session, machine)
    with st.expander("Limits and calibration", expanded=machine is None):
        _machine_form(session, machine)


def _electrodes(session: Session, machine: Machine) -> None:
    bench = session.log.bench(machine.name)
    if bench.electrode is None:
        st.warning("No caps are entered: say which are fitted.")
    else:
        since = f" since {bench.fitted_at.astimezone():%d %b %Y}" if bench.fitted_at else ""
        st.markdown(f"Fitted: **{bench.electrode.title()}**{since}")
    with st.container(horizontal=True):
        if st.button("Dressed to the same face", disabled=bench.electrode is None):
            _event(session, "dress", machine, "Dressing noted; coverage stays.")
        if st.button("Machine repaired"):
            _event(session, "repair", machine, "Repair noted; earlier coupons no longer cover.")
    with st.form(f"caps·{machine.name}"):
        st.markdown("**New caps** (earlier coupons no longer cover)")
        left, middle, right = st.columns(3)
        with left:
            shape = pick("Shape", list(CapShape), f"shape·{machine.name}")
        with middle:
            face = quantity("Face", "diameter", f"face·{machine.name}", session.units)
        with right:
            material = st.text_input("Material class", value="CuCrZr")
        fitted = st.form_submit_button("Fitted now")
    if fitted and face is None:
        st.error("Give the face diameter of the caps.")
    elif fitted and face is not None:
        if attempt(
            lambda: session.log.fit_caps(
                machine.name, Electrode(shape, face, material.strip()), _now(), session.who
            ),
            "New caps noted.",
        ):
            st.rerun()
    for event in session.log.events(machine.name, 5):
        st.caption(str(event))


def _event(session: Session, what: str, machine: Machine, done: str) -> None:
    act = getattr(session.log, what)
    if attempt(lambda: act(machine.name, _now(), session.who), done):
        st.rerun()


def _now() -> datetime:
    return datetime.now(UTC)


def _machine_form(session: Session, old: Machine | None) -> None:
    key, units = f"machine·{old.name if old else ''}", session.units
    with st.form(key, border=False):
        name = st.text_input("Name", value=old.name if old else "", disabled=old is not None)
        numbers: dict[str, float | None] = {}
        left, right = st.columns(2)
        for column, field, word in ((left, "current", "current_kA"), (right, "force", "force_kN")):
            for end in ("largest", "smallest"):
                with column:
                    numbers[f"{end}_{word}"] = quantity(
                        f"{end.capitalize()} {field}",
                        field,
                        f"{key}·{end}·{field}",
                        units,
                        getattr(old, f"{end}_{word}") if old else None,
                        old.calibration if old else NO_CALIBRATION,
                    )
        with left:
            mains = st.segmented_control(
                "Mains [Hz]", [50, 60], default=int(old.mains_hz) if old else None, key=f"{key}·hz"
            )
            is_inverter = st.toggle("Inverter (time in ms)", value=not old or old.is_inverter)
        with right:
            per_bar = st.number_input(
                "Force per air pressure [kN/bar]",
                value=old.force_kN_per_bar if old else None,
                format="%.3f",
                help="From a force gauge; leave empty where the force is set in kN or daN.",
            )
            offset = st.number_input(
                "Force at zero pressure [kN]", value=old.force_offset_kN if old else 0.0
            )
        saved = st.form_submit_button("Keep the machine", type="primary")
    if not saved:
        return
    given = {k: v for k, v in numbers.items() if v is not None}
    if not {"largest_current_kA", "largest_force_kN"} <= set(given) or mains is None:
        st.error("Give the largest current, the largest force and the mains frequency.")
        return

    def save() -> None:
        machine = Machine(
            name.strip(),
            mains_hz=float(mains),
            is_inverter=is_inverter,
            force_kN_per_bar=per_bar,
            force_offset_kN=offset or 0.0,
            **given,
        )
        session.log.save_machine(machine, session.who)

    if attempt(save, "Machine kept."):
        st.rerun()


def _people(session: Session) -> None:
    for name in session.log.welders():
        st.markdown(f"- {name}")
    with st.form("welder", clear_on_submit=False):
        name = st.text_input("Name of a welder")
        added = st.form_submit_button("Add")
    if added and attempt(
        lambda: session.log.add_welder(name, session.who or name), f"{name.strip()} added."
    ):
        if not session.who:
            change_person(name.strip())
        st.rerun()


_SPANS = {
    "work": ("Work time", 1.0),
    "clamp": ("Clamps may come off after", 1.0),
    "cure": ("Full cure", 60.0),
}


def _adhesives(session: Session) -> None:
    known = {adhesive.name: adhesive for adhesive in session.log.adhesives()}
    chosen = st.selectbox("Adhesive", [*known, NEW], key=f"adhesive·{len(known)}")
    old = known.get(chosen)
    with st.form(f"adhesive·{chosen}"):
        name = st.text_input(
            "Name on the cartridge", value=old.name if old else "", disabled=old is not None
        )
        spans: dict[str, tuple[float | None, float | None]] = {}
        for part, (words, scale) in _SPANS.items():
            unit = "h" if scale == 60 else "min"
            before: Span | None = getattr(old, part) if old else None
            left, right = st.columns(2)
            with left:
                low = st.number_input(
                    f"{words}, from [{unit}]",
                    value=before.low_min / scale if before else None,
                    key=f"{chosen}·{part}·low",
                )
            with right:
                high = st.number_input(
                    f"{words}, to [{unit}]",
                    value=before.high_min / scale if before else None,
                    key=f"{chosen}·{part}·high",
                )
            spans[part] = (low and low * scale, high and high * scale)
        degrees = st.number_input(
            "Temperature the label speaks of [°C]", value=old.label_degC if old else 21.0
        )
        left, right = st.columns(2)
        with left:
            first = old.bead_mm if old else None
            bead = quantity("Bead to lay", "length", f"{chosen}·bead", session.units, first)
        with right:
            first = old.bond_line_mm if old else None
            line = quantity("Bond-line beads", "thickness", f"{chosen}·line", session.units, first)
        note = st.text_input("Maker's sheet, page", value=old.note if old else "")
        saved = st.form_submit_button("Keep the adhesive", type="primary")
    st.caption("Copy the times from the label or the maker's sheet; the tool knows no product.")
    if not saved:
        return
    if any(low is None or high is None for low, high in spans.values()):
        st.error("Give all three time ranges; the same number twice where the label has only one.")
        return

    def save() -> None:
        ranges = {k: Span(float(v[0] or 0), float(v[1] or 0)) for k, v in spans.items()}
        adhesive = Adhesive(
            name.strip(),
            **ranges,
            label_degC=degrees,
            note=note,
            bead_mm=bead,
            bond_line_mm=line,
        )
        session.log.save_adhesive(adhesive, session.who)

    if attempt(save, "Adhesive kept."):
        st.rerun()


def _rules(session: Session) -> None:
    rules = session.log.rules()
    judging, coverage = rules.judging, rules.coverage
    with st.form("rules"):
        st.markdown("**When a coupon passes**")
        k = st.number_input("k in k√t (mm)", value=judging.size.k, step=0.5)
        governing = _pick_rule("Which thickness is t", list(GoverningRule), judging.size.governing)
        failure = _pick_rule(
            "Failure through the interface",
            list(InterfaceFailureRule),
            judging.interface_failure,
        )
        expulsion = _pick_rule("Expulsion", list(ExpulsionRule), judging.expulsion)
        aspect = st.number_input(
            "Largest diameter ratio (limit from memory)", value=judging.largest_aspect
        )
        st.markdown("**When coupons speak for a joint** (common practice, no source)")
        left, right = st.columns(2)
        with left:
            passes = st.number_input("Passes in a row", value=coverage.passes_in_a_row, step=1)
            tolerance = st.number_input(
                "Thickness tolerance [mm]", value=coverage.thickness_tolerance_mm, step=0.01
            )
        with right:
            unbonded = st.number_input("Unbonded: days", value=coverage.unbonded_days, step=1)
            bonded = st.number_input("Bonded: days, same job", value=coverage.bonded_days, step=1)
        st.markdown("**Where a first setting comes from**")
        bare = _pick_rule(
            "Uncoated steel",
            [Schedule.HIGH_FORCE, Schedule.MEDIUM_FORCE],
            rules.bare_schedule,
        )
        saved = st.form_submit_button("Keep the rules", type="primary")
    st.caption("Verdicts already given keep the rules they were given by.")
    if not saved:
        return

    def save() -> None:
        session.log.save_rules(
            ShopRules(
                JudgingRules(SizeRule(k, governing), failure, expulsion, aspect),
                CoverageRules(passes, tolerance, unbonded, bonded),
                bare,
            ),
            session.who,
        )

    if attempt(save, "Rules kept; they hold from the next coupon on."):
        st.rerun()


R = TypeVar("R", GoverningRule, InterfaceFailureRule, ExpulsionRule, Schedule)


def _pick_rule(words: str, options: Sequence[R], now: R) -> R:
    return st.selectbox(
        words,
        options,
        index=options.index(now),
        format_func=lambda rule: f"{rule.label} ({rule.source})",
        key=f"rule·{words}",
    )
