"""The ribbon over a place that is not the shop's own log: what it is, and the way back."""

from __future__ import annotations

from html import escape

import streamlit as st

from advisor.language import msg, say
from advisor.pages.parts import tour
from advisor.pages.session import BENCH, DEMO, PRACTICE, enter

_RIBBONS = {
    DEMO: msg("DEMO – an invented shop; nothing here is a real record"),
    PRACTICE: msg("PRACTICE COPY – try everything; nothing here reaches the shop's log"),
    BENCH: msg("PRACTICE BENCH – a virtual machine; nothing here reaches the shop's log"),
}
_LEAVE = {
    DEMO: msg("Leave the demo"),
    PRACTICE: msg("Back to the shop"),
    BENCH: msg("Back to the shop"),
}


def ribbon(place: str) -> None:
    """Say that this is not the shop's own log, and offer the way back to it.

    Parameters
    ----------
    place : str
        Where this browser is, as `aside` returns it.
    """
    with st.container(horizontal=True, vertical_alignment="center", key="ribbon"):
        st.html(f'<div class="ribbon">{escape(say(_RIBBONS[place]), quote=False)}</div>')
        if place == DEMO:
            tour.offer()
        leave_button(place)


def leave_button(place: str, where: str = "ribbon") -> None:
    """Draw the button that leads back to the shop's own log.

    Parameters
    ----------
    place : str
        Where this browser is.
    where : str
        Tells the button from another on the same page.
    """
    if st.button(say(_LEAVE[place]), key=f"leave·{where}"):
        enter("")
        st.rerun()
