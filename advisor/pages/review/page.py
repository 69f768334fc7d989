"""Review: who needs training, what drifts, why coupons fail, what was welded on what evidence."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts.views import Views, show_view
from advisor.pages.review import drift, evidence, failures, glance, rates, week
from advisor.pages.review.kept import kept
from advisor.pages.session import Session

#: Views by the word in the address: title as a message, and what draws it.
VIEWS: Views = {
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
    show_view(replace(session, opened=kept(session.log)), VIEWS)
