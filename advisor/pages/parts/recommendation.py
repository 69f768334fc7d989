"""The welder maker's recommended settings for cured adhesive: shown as the maker's, not ours."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.pages.parts.entry import attempt
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session


def show(session: Session, joint: Joint, key: str) -> None:
    """Draw the maker's recommendation for a joint, and the form that copies one."""
    found = session.log.recommendation(joint.machine, joint.stack)
    if found is not None:
        st.info(plain(found.sentence))
    with st.popover("Copy the welder maker's recommendation"):
        st.write(
            f"For {plain(joint.machine)} and this stack through cured adhesive, as printed. This "
            "tool shows it and calculates nothing with it."
        )
        document = st.text_input("Document", key=f"{key}·document")
        page = st.text_input("Page", key=f"{key}·page")
        settings = st.text_area("Settings as printed", key=f"{key}·settings")
        if st.button("Keep it", key=f"{key}·copy") and attempt(
            lambda: session.log.add_recommendation(
                MakerRecommendation(
                    joint.machine,
                    joint.stack,
                    document,
                    page,
                    settings,
                    session.who,
                    datetime.now(UTC),
                )
            ),
            "The maker's recommendation is kept.",
        ):
            st.rerun()
