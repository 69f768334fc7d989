"""Next setting: the start for the next coupon, how sure it is, and what it rests on."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd
import streamlit as st

from advisor.coupons.coverage import CURED_WITHOUT_TEST, CoverState
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import JudgingRules
from advisor.coupons.verdict import weakest_size_mm
from advisor.errors import AdvisorError
from advisor.learning.model import MachineModel
from advisor.learning.suggestion import Suggestion, suggest
from advisor.pages.parts.advice import fitted_model
from advisor.pages.parts.cards import joint_card, setting_card
from advisor.pages.parts.joint_choice import Target, ask_target
from advisor.pages.parts.look import ACCENT, BAD, GOOD
from advisor.pages.session import Session
from advisor.units import digits, from_inner, label
from advisor.weld.cautions import AT_THE_MACHINE, CURED, FOR_A_COUPON
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Next setting for a coupon")
    target = ask_target(session)
    if target is None:
        return
    machine = session.log.machine(target.machine)
    caps = session.log.bench(target.machine).electrode
    if caps is None:
        st.warning(f"Say which caps are fitted on {target.machine} first: Shop set-up, Machines.")
        return
    _what_outranks(session, target, machine)
    model, coupons = fitted_model(session, machine.name)
    try:
        suggestion = suggest(model, target.stack, machine, caps, session.log.rules(), coupons)
    except AdvisorError as refusal:
        st.warning(f"No setting from this tool: {refusal}")
        return
    _answer(session, machine, suggestion)
    _chart(session, target, machine, caps, model, coupons, suggestion)
    with st.expander("Cautions at the machine"):
        st.markdown("\n".join(f"- {line}" for line in AT_THE_MACHINE))


def _what_outranks(session: Session, target: Target, machine: Machine) -> None:
    cured = target.stack.adhesive_state is AdhesiveState.CURED
    if target.joint is not None:
        coverage = session.log.coverage(target.joint)
        st.html(joint_card(target.joint, coverage, session.units, machine.calibration))
        cured = cured and coverage.state is not CoverState.COVERED
    elif cured:
        st.warning(CURED_WITHOUT_TEST)
    if cured:
        st.warning(CURED)


def _answer(session: Session, machine: Machine, suggestion: Suggestion) -> None:
    units = session.units
    lines = (
        suggestion.explanation,
        f"Expected size {units.show('diameter', suggestion.size_mm)}, nine coupons in ten between "
        f"{units.show('diameter', suggestion.low_mm)} and "
        f"{units.show('diameter', suggestion.high_mm)}; minimum "
        f"{units.show('diameter', suggestion.minimum_mm)}.",
        f"Chance to reach the minimum: {_chance(suggestion.chance)}.",
    )
    card = setting_card(FOR_A_COUPON, suggestion.setting, units, machine.calibration, lines)
    st.html(card)
    st.caption(f"Rests on: {suggestion.basis}. {suggestion.distance}.")
    for line in suggestion.notes:
        st.markdown(f"- {line}")


def _chance(chance: float) -> str:
    """Write a chance; a model of a few coupons never knows one to be certain."""
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{chance:.0%}"


def _chart(
    session: Session,
    target: Target,
    machine: Machine,
    caps: Electrode,
    model: MachineModel,
    coupons: list[LoggedCoupon],
    suggestion: Suggestion,
) -> None:
    st.subheader("Size against current, at this time and force")
    curve = _curve(target, machine, caps, model, suggestion.setting)
    tested = _tested(target, coupons, session.log.rules().judging)
    units, current_unit = session.units, session.units.unit("current")
    size_unit = units.unit("diameter")
    for frame in (curve, tested):
        frame["current"] = [from_inner("current", v, current_unit) for v in frame["current_kA"]]
        for name in frame.columns.intersection(["size_mm", "low_mm", "high_mm", "minimum_mm"]):
            frame[name[:-3]] = [from_inner("diameter", v, size_unit) for v in frame[name]]
    x = alt.X("current:Q", title=f"weld current [{current_unit}]", scale=alt.Scale(zero=False))

    def y(name: str) -> alt.Y:
        title = f"weld size [{label(size_unit)}]"
        return alt.Y(f"{name}:Q", title=title, scale=alt.Scale(zero=False))

    band = (
        alt.Chart(curve).mark_area(opacity=0.18, color=ACCENT).encode(x, y("low"), alt.Y2("high"))
    )
    line = alt.Chart(curve).mark_line(color=ACCENT, strokeWidth=3).encode(x, y("size"))
    least = alt.Chart(curve).mark_line(color=BAD, strokeDash=[6, 4]).encode(x, y("minimum"))
    points = (
        alt.Chart(tested)
        .mark_point(size=90, filled=True)
        .encode(
            x,
            y("size"),
            alt.Shape(
                "verdict:N",
                title=None,
                scale=alt.Scale(domain=["pass", "fail"], range=["circle", "cross"]),
            ),
            alt.Color(
                "verdict:N",
                title=None,
                scale=alt.Scale(domain=["pass", "fail"], range=[GOOD, BAD]),
            ),
            tooltip=["coupon", "current", "size", "verdict"],
        )
    )
    layers = [band, line, least] + ([points] if len(tested) else [])
    places = digits("current", current_unit)
    st.altair_chart(
        alt.layer(*layers).properties(height=300),
        width="stretch",
        alt=f"Expected weld size against current with the 90 % range; suggested "
        f"{from_inner('current', suggestion.setting.current_kA, current_unit):.{places}f} "
        f"{current_unit}",
    )
    st.caption(
        "Line: expected size. Shade: where nine coupons in ten fall. Dashes: minimum. Marks: "
        "coupons of this stack, whatever their time and force."
    )


def _curve(
    target: Target, machine: Machine, caps: Electrode, model: MachineModel, setting: Setting
) -> pd.DataFrame:
    low = max(machine.smallest_current_kA, 0.7 * setting.current_kA)
    high = min(machine.largest_current_kA, 1.3 * setting.current_kA)
    grid = pd.DataFrame({"current_kA": np.linspace(low, high, 40)})
    grid["weld_ms"], grid["force_kN"] = setting.weld_ms, setting.force_kN
    found = model.predict(target.stack, caps, grid)
    return pd.concat([grid, found[["size_mm", "low_mm", "high_mm", "minimum_mm"]]], axis=1)


def _tested(target: Target, coupons: list[LoggedCoupon], rules: JudgingRules) -> pd.DataFrame:
    found = [
        {
            "coupon": f"#{c.number}",
            "current_kA": c.coupon.setting.current_kA,
            "size_mm": weakest_size_mm(c.coupon, rules),
            "verdict": c.verdict.outcome.label,
        }
        for c in coupons
        if c.coupon.stack.same_as(target.stack)
    ]
    return pd.DataFrame(found, columns=["coupon", "current_kA", "size_mm", "verdict"]).dropna()
