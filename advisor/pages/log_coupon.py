"""Log a coupon: what it is for, what was dialled in, what came out; verdict and next setting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import streamlit as st

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.errors import AdvisorError, NoAdviceError
from advisor.pages.parts.advice import advice, last_coupon
from advisor.pages.parts.cards import coupon_line, joint_card, setting_card, verdict_card
from advisor.pages.parts.entry import attempt, choice, quantity
from advisor.pages.parts.joint_choice import Target, ask_target
from advisor.pages.parts.result_entry import Typed, ask_flags, ask_results
from advisor.pages.parts.revise import revise
from advisor.pages.session import Session
from advisor.units import Calibration
from advisor.weld.cautions import AT_THE_MACHINE
from advisor.weld.electrode import Electrode
from advisor.weld.failure import TestType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Log a coupon")
    target = ask_target(session)
    if target is None:
        return
    machine = session.log.machine(target.machine)
    caps = session.log.bench(target.machine).electrode
    if caps is None:
        st.warning(f"Say which caps are fitted on {target.machine} first: Shop set-up, Machines.")
        return
    if target.joint is not None:
        coverage = session.log.coverage(target.joint)
        st.html(joint_card(target.joint, coverage, session.units, machine.calibration))
    _form(session, target, machine, caps)
    _last_verdict(session, target, machine)
    _recent(session, machine.calibration)


def _last_verdict(session: Session, target: Target, machine: Machine) -> None:
    number = st.session_state.get("just-logged")
    if number is None:
        return
    logged = session.log.coupon(number)
    if not logged.coupon.stack.same_as(target.stack):
        return
    st.html(verdict_card(logged.verdict, f"Coupon #{number}"))
    try:
        suggestion = advice(session, target, machine, logged.coupon.electrode)
    except NoAdviceError as refusal:
        st.info(str(refusal))
        return
    title = "Next setting for a coupon, not for the vehicle"
    lines = (suggestion.explanation,)
    st.html(setting_card(title, suggestion.setting, session.units, machine.calibration, lines))


def _form(session: Session, target: Target, machine: Machine, caps: Electrode) -> None:
    before = last_coupon(session, target)
    token = f"{target.key}·{before.number if before else 0}"
    start = _first_setting(session, target, machine, caps, before)
    with st.form(f"coupon·{token}", enter_to_submit=True):
        dialled = _ask_setting(session, machine.calibration, token, start)
        results = ask_results(session.units, target.stack, token)
        rest = _ask_rest(token)
        submitted = st.form_submit_button("Judge and keep", type="primary", width="stretch")
        st.caption(" ".join(AT_THE_MACHINE[:2]))
    if submitted:
        _keep(session, target, caps, dialled, results, rest)


def _first_setting(
    session: Session,
    target: Target,
    machine: Machine,
    caps: Electrode,
    before: LoggedCoupon | None,
) -> Setting | None:
    if before is not None:
        st.caption(f"Setting as on coupon #{before.number}; change what you changed.")
        return before.coupon.setting
    try:
        suggestion = advice(session, target, machine, caps)
    except AdvisorError as refusal:
        st.info(str(refusal))
        return None
    st.caption(f"First coupon of this stack: {suggestion.basis}. For a coupon, not the vehicle.")
    return suggestion.setting


def _ask_setting(
    session: Session, calibration: Calibration, token: str, start: Setting | None
) -> dict[str, float | None]:
    def ask(words: str, field: str, name: str, empty: float | None = None) -> float | None:
        first = getattr(start, name) if start else empty
        return quantity(words, field, f"{token}·{name}", session.units, first, calibration)

    with st.container(key=f"row-setting-{token}"):
        main = st.columns(3)
    with main[0]:
        current = ask("Current", "current", "current_kA")
    with main[1]:
        weld = ask("Weld time", "time", "weld_ms")
    with main[2]:
        force = ask("Force", "force", "force_kN")
    values = {"current_kA": current, "weld_ms": weld, "force_kN": force}
    with st.expander("Squeeze, hold, pulses, pre-pulse"):
        more = st.columns(2)
        for i, (words, field, name) in enumerate(
            (
                ("Squeeze", "time", "squeeze_ms"),
                ("Hold", "time", "hold_ms"),
                ("Pause between pulses", "time", "pause_ms"),
                ("Pre-pulse current", "current", "pre_current_kA"),
                ("Pre-pulse time", "time", "pre_ms"),
            )
        ):
            with more[i % 2]:
                values[name] = ask(words, field, name, 0.0)
        with more[1]:
            pulses = st.number_input(
                "Pulses", value=start.pulses if start else 1, step=1, key=f"{token}·pulses"
            )
    values["pulses"] = pulses
    return values


@dataclass(frozen=True)
class _Rest:
    flags: dict[str, bool]
    test: TestType
    made: datetime
    notes: str


def _ask_rest(token: str) -> _Rest:
    flags = ask_flags(token)
    with st.expander("Test type, earlier date, note"):
        test = choice("Test", list(TestType), f"{token}·test", TestType.PEEL)
        made = st.datetime_input("Welded earlier", value=None, key=f"{token}·made")
        notes = st.text_input("Note", key=f"{token}·notes")
    moment = made.astimezone() if made else datetime.now(UTC)
    return _Rest(flags, test or TestType.PEEL, moment, notes)


def _keep(
    session: Session,
    target: Target,
    caps: Electrode,
    dialled: dict[str, float | None],
    results: list[Typed],
    rest: _Rest,
) -> None:
    empty = [
        name
        for name, value in (
            ("the current", dialled["current_kA"]),
            ("the weld time", dialled["weld_ms"]),
            ("the force", dialled["force_kN"]),
        )
        if value is None
    ]
    if empty:
        st.error("Give " + ", ".join(empty) + " that was dialled in.")
        return

    def write() -> None:
        numbers = {k: v for k, v in dialled.items() if v is not None and k != "pulses"}
        coupon = Coupon(
            made_at=rest.made,
            welder=session.who,
            machine=target.machine,
            electrode=caps,
            stack=target.stack,
            setting=Setting(pulses=int(dialled["pulses"] or 1), **numbers),
            results=tuple(InterfaceResult(*each) for each in results),
            job=target.joint.job if target.joint else "",
            welds_since_dressing=session.log.welds_since_dressing_hint(target.machine),
            test=rest.test,
            expulsion=rest.flags["expulsion"],
            edge_weld=rest.flags["edge_weld"],
            cracks=rest.flags["cracks"],
            notes=rest.notes,
        )
        logged = session.log.add_coupon(coupon, session.who)
        st.session_state["just-logged"] = logged.number

    if attempt(write, "Kept."):
        st.rerun()


def _recent(session: Session, calibration: Calibration) -> None:
    recent = session.log.recent_coupons(limit=5)
    if not recent:
        return
    st.subheader("Latest coupons")
    for logged in recent:
        st.markdown("- " + coupon_line(logged, session.units, calibration))
    with st.expander("Correct or void a coupon"):
        revise(session, recent, calibration)
