"""Larger type and thicker strokes for a classroom; remembered in the address."""

from __future__ import annotations

import streamlit as st

from advisor.language import say

_HELD, _SWITCH, _IN_ADDRESS, _YES = "projector-on", "projector·switch", "projector", "on"
#: Type is enlarged through the root's size. Charts have theirs in pixels: they are drawn for a
#: narrower place and then stretched as a whole.
_STYLE = """
<style>
@media screen and (min-width: 641px) {
  html { font-size: 25px !important; }
  :root { --stroke: 3px; --band: 16px; --touch: 60px; }
  [data-testid="stElementContainer"]:has(> * [data-testid="stVegaLiteChart"]) {
    width: 71.43% !important; }
  [data-testid="stVegaLiteChart"] svg.marks { width: 140% !important; height: auto !important; }
  .dials div { border-top-width: 5px; } .size .line { border-top-width: 4px; }
  .size .least { border-left-width: 5px; }
}
</style>
"""


def is_on() -> bool:
    """Tell whether this browser shows the pages to a class."""
    on: bool = st.session_state.get(_HELD, st.query_params.get(_IN_ADDRESS) == _YES)
    return on


def style() -> str:
    """Return the style sheet of a classroom; empty where there is none."""
    return _STYLE if is_on() else ""


def switch() -> None:
    """Draw the switch, and keep in the address how it stands, so that it outlives a reload."""
    on = is_on()
    st.session_state[_HELD] = on
    if on:
        st.query_params[_IN_ADDRESS] = _YES
    else:
        st.query_params.pop(_IN_ADDRESS, None)
    with st.container(key="projector", width="content"):
        st.checkbox(say("Projector"), value=on, key=_SWITCH, on_change=_turn)


def _turn() -> None:
    st.session_state[_HELD] = st.session_state[_SWITCH]
