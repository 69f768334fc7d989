"""Next setting: the start for the next coupon, how sure it is, and what it rests on."""

from __future__ import annotations

import numpy as np
import pandas as pd
import streamlit as st

from advisor.coupons.coverage import CoverState
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import JudgingRules
from advisor.coupons.verdict import weakest_size_mm
from advisor.errors import AdvisorError
from advisor.learning.model import MachineModel
from advisor.learning.suggestion import Suggestion
from advisor.pages.parts import charts
from advisor.pages.parts.advice import Advice, advice, show_joint
from advisor.pages.parts.cards import bullets, coupon_setting_card
from advisor.pages.parts.joint_choice import Target, ask_target
from advisor.pages.session import Session
from advisor.units import from_inner
from advisor.weld.cautions import AT_THE_MACHINE
from advisor.weld.setting import Setting


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Next setting for a coupon")
    target = ask_target(session)
    if target is None:
        return
    coverage = show_joint(session, target)
    if coverage is not None and coverage.state is CoverState.COVERED:
        st.markdown("This joint is covered: weld it with the setting above and no other.")
        with st.expander("Explore further on coupons"):
            _advice(session, target)
        return
    _advice(session, target)


def _advice(session: Session, target: Target) -> None:
    try:
        found = advice(session, target)
    except AdvisorError as refusal:
        st.warning(f"No setting from this tool: {refusal}")
        return
    _answer(session, target, found.suggestion)
    _chart(session, target, found)
    with st.expander("Cautions at the machine"):
        st.html(bullets(AT_THE_MACHINE))


def _answer(session: Session, target: Target, suggestion: Suggestion) -> None:
    units = session.units
    lines = (
        suggestion.explanation,
        f"Expected size {units.show('diameter', suggestion.size_mm)}, nine coupons in ten between "
        f"{units.show('diameter', suggestion.low_mm)} and "
        f"{units.show('diameter', suggestion.high_mm)}; minimum "
        f"{units.show('diameter', suggestion.minimum_mm)}.",
        f"Chance to reach the minimum: {_percent(suggestion.chance)}.",
    )
    st.html(coupon_setting_card(suggestion.setting, session, target.machine.name, lines))
    st.caption(f"Rests on: {suggestion.basis}. {suggestion.distance}.")
    st.html(bullets(suggestion.notes))


def _percent(chance: float) -> str:
    """Write a chance; a model of a few coupons never knows one to be certain."""
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{chance:.0%}"


def _chart(session: Session, target: Target, found: Advice) -> None:
    setting = found.suggestion.setting
    st.subheader("Size against current, at this time and force")
    current_unit, size_unit = session.units.unit("current"), session.units.unit("diameter")
    curve = _in_units(_curve(target, found.model, setting), current_unit, size_unit)
    tested = _tested(target, found.coupons, found.rules.judging)
    tested = _in_units(tested, current_unit, size_unit)
    st.altair_chart(
        charts.size_against_current(curve, tested, current_unit, size_unit),
        width="stretch",
        alt="Expected weld size against current with its 90 % range; suggested "
        + session.units.show("current", setting.current_kA),
    )
    st.caption(
        "Line: expected size. Shade: where nine coupons in ten fall. Dashes: minimum. Marks: "
        "coupons of this stack, whatever their time and force."
    )


def _in_units(frame: pd.DataFrame, current_unit: str, size_unit: str) -> pd.DataFrame:
    """Add a column in the person's unit beside each in kA or mm."""
    added = {}
    for name in frame.columns:
        if name.endswith("_kA"):
            added[name[:-3]] = [from_inner("current", v, current_unit) for v in frame[name]]
        elif name.endswith("_mm"):
            added[name[:-3]] = [from_inner("diameter", v, size_unit) for v in frame[name]]
    return frame.assign(**added)


def _curve(target: Target, model: MachineModel, setting: Setting) -> pd.DataFrame:
    low = max(target.machine.smallest_current_kA, 0.7 * setting.current_kA)
    high = min(target.machine.largest_current_kA, 1.3 * setting.current_kA)
    grid = pd.DataFrame({"current_kA": np.linspace(low, high, 40)})
    grid["weld_ms"], grid["force_kN"] = setting.weld_ms, setting.force_kN
    found = model.predict(target.stack, target.caps, grid)
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
