"""Why a setting is proposed: what it rests on, how far it is from anything tested, the window."""

from __future__ import annotations

import numpy as np
import pandas as pd
import streamlit as st

from advisor.coupons.verdict import weakest_size_mm
from advisor.language import say
from advisor.learning.next_coupon import NextCoupon
from advisor.pages.parts import charts
from advisor.pages.parts.advice import Advised
from advisor.pages.parts.cards import bullets, percent
from advisor.pages.parts.joint_choice import Target
from advisor.pages.parts.window import marks_key, show_windows, what_came_out, window_words
from advisor.pages.session import Session
from advisor.units import from_inner, label


@st.fragment
def why(session: Session, target: Target, found: Advised) -> None:
    """Draw the reasons; the maps are worked out only once somebody opens them."""
    fold = st.expander(say("Why this setting"), key=f"why·{target.key}", on_change="rerun")
    if not fold.open:
        return
    with fold:
        st.html(bullets(_reasons(session, found)))
        show_windows(session, target, found)
        _size_chart(session, target, found)


def likeliest(session: Session, found: Advised) -> str:
    """Return in which numbers the setting likeliest to be sound is another than the next coupon's.

    Empty where both are the same.
    """
    calibration = session.calibration(found.machine)
    advised = (found.advice.suggestion.setting, found.advice.next_coupon.setting)
    best, following = (session.units.dials(each, calibration) for each in advised)
    return ", ".join(one for one, other in zip(best, following, strict=True) if one != other)


def _reasons(session: Session, found: Advised) -> list[str]:
    suggestion, other = found.advice.suggestion, likeliest(session, found)
    about = say(
        "What follows is about the setting likeliest to be sound, {setting}.", setting=other
    )
    return [
        *([about] if other else []),
        say("Rests on {basis}.", basis=suggestion.basis),
        f"{suggestion.distance}.",
        window_words(session, suggestion),
        *_doubt(found.advice.next_coupon),
        *suggestion.notes,
    ]


def _doubt(following: NextCoupon) -> list[str]:
    """Say how much of the doubt about the window the next coupon should take away."""
    if following.doubt_after_kA is None or not following.doubt_kA:
        return []
    share = 1 - following.doubt_after_kA / following.doubt_kA
    if share <= 0:
        return [say("This coupon should leave the doubt about the window's edges about as it is.")]
    return [
        say(
            "This coupon should take about {share} of the doubt about the window away.",
            share=percent(share),
        )
    ]


def _size_chart(session: Session, target: Target, found: Advised) -> None:
    setting = found.advice.next_coupon.setting
    units = session.units
    current_unit, size_unit = units.unit("current"), units.unit("diameter")
    curve = _in_units(_curve(target, found), current_unit, size_unit)
    tested = _in_units(_tested(target, found), current_unit, size_unit)
    calibration = session.calibration(target.machine.name)
    at = say(
        "weld time {time}, electrode force {force}",
        time=units.show("time", setting.weld_ms, calibration),
        force=units.show("force", setting.force_kN, calibration),
    )
    st.markdown(say("**Weld size against current** ({at})", at=at))
    st.html(marks_key(tested["what"]))
    st.altair_chart(
        charts.size_against_current(curve, tested, label(current_unit), label(size_unit)),
        width="stretch",
        alt=say(
            "Expected weld size against current with its 90 % range, at {at}; next coupon at "
            "{current}",
            at=at,
            current=units.show("current", setting.current_kA),
        ),
    )
    st.caption(
        say(
            "Line: expected size without expulsion. Shade: where nine coupons in ten fall. Dashes: "
            "minimum. Marks: coupons of this very stack, whatever their time and force."
        )
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


def _curve(target: Target, found: Advised) -> pd.DataFrame:
    setting, machine = found.advice.next_coupon.setting, target.machine
    low = max(machine.smallest_current_kA, 0.7 * setting.current_kA)
    high = min(machine.largest_current_kA, 1.3 * setting.current_kA)
    grid = pd.DataFrame({"current_kA": np.linspace(low, high, 40)})
    grid["weld_ms"], grid["force_kN"] = setting.weld_ms, setting.force_kN
    sizes = found.model.predict(target.stack, target.caps, grid)
    return pd.concat([grid, sizes[["size_mm", "low_mm", "high_mm", "minimum_mm"]]], axis=1)


def _tested(target: Target, found: Advised) -> pd.DataFrame:
    rows = [
        {
            "coupon": f"#{c.number}",
            "current_kA": c.coupon.setting.current_kA,
            "size_mm": weakest_size_mm(c.coupon, found.rules.judging),
            "what": what_came_out(c),
        }
        for c in found.coupons
        if c.coupon.stack.same_as(target.stack)
    ]
    return pd.DataFrame(rows, columns=["coupon", "current_kA", "size_mm", "what"]).dropna()
