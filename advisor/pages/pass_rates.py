"""Pass rates: who and what passes how often, with intervals that show how little is known."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import altair as alt
import pandas as pd
import streamlit as st

from advisor.pages.parts.look import ACCENT
from advisor.pages.session import Session
from advisor.review.intervals import pass_rate
from advisor.store.log import Group

_GROUPS: dict[Group, str] = {
    "welder": "Welder",
    "machine": "Machine",
    "adhesive_state": "Adhesive",
    "stack": "Stack",
}
_PERIODS = {"7 days": 7, "30 days": 30, "90 days": 90, "all": None}


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Pass rates")
    left, right = st.columns(2)
    with left:
        group = st.segmented_control(
            "By",
            list(_GROUPS),
            default="welder",
            format_func=_GROUPS.__getitem__,
            key="by",
            required=True,
            bind="query-params",
        )
    with right:
        period = st.segmented_control(
            "Of the last",
            list(_PERIODS),
            default="30 days",
            key="of",
            required=True,
            bind="query-params",
        )
    days = _PERIODS[period or "all"]
    since = datetime.now(UTC) - timedelta(days=days) if days else None
    group = group or "welder"
    counts = session.log.pass_counts(group, since=since)
    if counts.empty:
        st.info("No coupon was judged in this period.")
        return
    table = _with_intervals(counts)
    _chart(table, _GROUPS[group])
    _table(table, _GROUPS[group])
    st.caption(
        "95 % intervals, Wilson. A rate from few coupons says little: read the interval before the "
        "rate. Rows stand in order of the lower end, so that a small sample never leads. Coupons "
        "not yet judged and voided ones are left out."
    )


def _with_intervals(counts: pd.DataFrame) -> pd.DataFrame:
    rates = [
        pass_rate(int(passed), int(passed + failed))
        for passed, failed in zip(counts["passed"], counts["failed"], strict=True)
    ]
    table = counts.assign(
        judged=[r.judged for r in rates],
        rate=[math.nan if r.rate is None else r.rate for r in rates],
        low=[r.low for r in rates],
        high=[r.high for r in rates],
        reading=[r.words() for r in rates],
    )
    return table.sort_values(["low", "judged"], ascending=False, ignore_index=True)


def _chart(table: pd.DataFrame, title: str) -> None:
    shown = table[table["judged"] > 0]
    order = list(shown["name"])
    y = alt.Y("name:N", sort=order, title=None, axis=alt.Axis(labelLimit=260))
    axis = alt.Axis(format="%")
    bars = (
        alt.Chart(shown)
        .mark_rule(strokeWidth=5, color=ACCENT, opacity=0.45)
        .encode(
            alt.X("low:Q", title="share that passed", scale=alt.Scale(domain=[0, 1]), axis=axis),
            alt.X2("high:Q"),
            y,
        )
    )
    points = (
        alt.Chart(shown)
        .mark_point(size=120, filled=True, shape="diamond", color=ACCENT, opacity=1)
        .encode(alt.X("rate:Q"), y, tooltip=["name", "reading"])
    )
    st.altair_chart(
        alt.layer(bars, points).properties(height=60 + 44 * len(shown)),
        width="stretch",
        alt=f"Pass rate by {title.lower()} with 95 % intervals; the table below has the figures",
    )


def _table(table: pd.DataFrame, title: str) -> None:
    shown = pd.DataFrame(
        {
            title: table["name"],
            "pass rate": table["rate"].map("{:.0%}".format, na_action="ignore").fillna("–"),
            "passed of judged": [
                f"{p} of {j}" for p, j in zip(table["passed"], table["judged"], strict=True)
            ],
            "95 % interval": [
                f"{low:.0%} to {high:.0%}"
                for low, high in zip(table["low"], table["high"], strict=True)
            ],
            "not yet judged": table["open"],
        }
    )
    st.dataframe(shown, hide_index=True, width="stretch", alt=f"Pass rates by {title.lower()}")
