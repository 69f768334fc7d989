"""Pass rates: who and what passes how often, with intervals that show how little is known."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pandas as pd
import streamlit as st

from advisor.pages.parts import charts
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.plain import closed
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
    since = (datetime.now(UTC) - timedelta(days=days)).date() if days else None
    group = group or "welder"
    counts = session.log.pass_counts(group, since=since)
    if counts.empty:
        st.info("No coupon was judged in this period.")
        return
    table = _with_intervals(counts)
    st.altair_chart(
        charts.pass_rates(table[table["judged"] > 0]),
        width="stretch",
        alt=f"Pass rate by {_GROUPS[group].lower()} with 95 % intervals; the figures stand below",
    )
    st.html(f'<div class="card">{bullets(_rows(table))}</div>')
    st.caption(
        "95 % intervals, Wilson. A rate from few coupons says little: read the interval before the "
        "rate. Rows stand in order of the lower end, so that a small sample never leads. Coupons "
        "not yet judged and voided ones are left out. Days begin at midnight UTC."
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


def _rows(table: pd.DataFrame) -> list[str]:
    """Return the table in words, so that a phone can wrap it."""
    return [
        f"{closed(name)}: {reading}" + (f"; {waiting} not yet judged" if waiting else "")
        for name, reading, waiting in zip(
            table["name"].astype(str), table["reading"].astype(str), table["open"], strict=True
        )
    ]
