"""Review: who needs training, what drifts, why coupons fail, what was welded on what evidence."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from advisor.language import msg, say
from advisor.pages.review import drift, evidence, failures, glance, rates, week
from advisor.pages.session import Session

#: Views by the word in the address: title as a message, and what draws it.
VIEWS: dict[str, tuple[str, Callable[[Session], None]]] = {
    "now": (msg("What needs you"), glance.show),
    "rates": (msg("Pass rates"), rates.show),
    "drift": (msg("Drift"), drift.show),
    "failures": (msg("Failures"), failures.show),
    "evidence": (msg("Evidence"), evidence.show),
    "week": (msg("Week on paper"), week.show),
}


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Review"))
    view = st.segmented_control(
        say("View"),
        list(VIEWS),
        default="now",
        format_func=lambda name: say(VIEWS[name][0]),
        key="view",
        required=True,
        bind="query-params",
        label_visibility="collapsed",
    )
    VIEWS[view or "now"][1](session)
