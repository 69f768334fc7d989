"""Review: who needs training, what drifts, why coupons fail, what was welded on what evidence."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.pages.review import drift, evidence, failures, glance, rates, week
from advisor.pages.session import Session

#: Views by the word in the address: title, and what draws it.
VIEWS: dict[str, tuple[str, Callable[[Session], None]]] = {
    "now": ("What needs you", glance.show),
    "rates": ("Pass rates", rates.show),
    "drift": ("Drift", drift.show),
    "failures": ("Failures", failures.show),
    "evidence": ("Evidence", evidence.show),
    "week": ("Week on paper", week.show),
}


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Review")
    view = st.segmented_control(
        "View",
        list(VIEWS),
        default="now",
        format_func=lambda name: VIEWS[name][0],
        key="view",
        required=True,
        bind="query-params",
        label_visibility="collapsed",
    )
    VIEWS[view or "now"][1](session)
