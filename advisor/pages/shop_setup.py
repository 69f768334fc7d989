"""Shop set-up: machines and their electrodes, people, adhesives, rules."""

from __future__ import annotations

import streamlit as st

from advisor.language import say
from advisor.pages.parts.setup_adhesives import adhesives_tab
from advisor.pages.parts.setup_machines import machines_tab
from advisor.pages.parts.setup_people import people_tab
from advisor.pages.parts.setup_rules import rules_tab
from advisor.pages.session import Session


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Shop set-up"))
    machines, people, adhesives, rules = st.tabs(
        [say("Machines"), say("People"), say("Adhesives"), say("Rules")]
    )
    with machines:
        machines_tab(session)
    with people:
        people_tab(session)
    with adhesives:
        adhesives_tab(session)
    with rules:
        rules_tab(session)
