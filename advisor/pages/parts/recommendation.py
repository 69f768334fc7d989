"""The welder maker's recommended settings for cured adhesive: shown as the maker's, not ours."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.language import say
from advisor.pages.parts.entry import attempt
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session


def show(session: Session, joint: Joint, key: str) -> None:
    """Draw the maker's recommendation for a joint, and the form that copies one."""
    found = session.log.recommendation(joint.machine, joint.stack)
    if found is not None:
        st.info(plain(found.sentence))
    with st.popover(say("Copy the welder maker's recommendation")):
        st.write(
            say(
                "For {machine} and this stack through cured adhesive, as printed. This tool shows "
                "it and calculates nothing with it.",
                machine=plain(joint.machine),
            )
        )
        document = st.text_input(say("Document"), key=f"{key}·document")
        page = st.text_input(say("Page"), key=f"{key}·page")
        settings = st.text_area(say("Settings as printed"), key=f"{key}·settings")
        if st.button(say("Keep it"), key=f"{key}·copy") and attempt(
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
            say("The maker's recommendation is kept."),
        ):
            st.rerun()
