"""Shop set-up: machines and their electrodes, people, adhesives, rules."""

from __future__ import annotations

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts.setup_adhesives import adhesives_tab
from advisor.pages.parts.setup_machines import machines_tab
from advisor.pages.parts.setup_people import people_tab
from advisor.pages.parts.setup_rules import rules_tab
from advisor.pages.session import Session

#: By the word in the address: the title of each tab, a message for `say`.
TABS = {
    "machines": msg("Machines"),
    "people": msg("People"),
    "adhesives": msg("Adhesives"),
    "rules": msg("Rules"),
}


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Shop set-up"))
    titles = {name: say(title) for name, title in TABS.items()}
    asked = titles.get(st.query_params.get("tab", ""))
    machines, people, adhesives, rules = st.tabs(list(titles.values()), default=asked)
    with machines:
        machines_tab(session)
    with people:
        people_tab(session)
    with adhesives:
        adhesives_tab(session)
    with rules:
        rules_tab(session)
