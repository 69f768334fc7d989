"""Choices kept in the address, in English whoever reads: a link opens the same in any language."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import streamlit as st

from advisor.language import ENGLISH, speaking

T = TypeVar("T")
#: Under which the session knows what the address said of each choice when it was last drawn.
_HELD = "address·held"


def follow() -> None:
    """Forget the choices that the address no longer holds: somebody went back, or to a link."""
    held: dict[str, str] = st.session_state.setdefault(_HELD, {})
    for key in [each for each, word in held.items() if st.query_params.get(each, "") != word]:
        del held[key]
        st.session_state.pop(key, None)


def choose(
    draw: Callable[..., T | None],
    label: str,
    options: Sequence[T],
    words: Callable[[T], str],
    *,
    key: str,
    first: T | None = None,
    **look: Any,
) -> T:
    """Ask for one of some options, and keep in the address which one it is.

    Parameters
    ----------
    draw : callable
        What asks, such as `streamlit.selectbox`.
    label : str
        What is asked for.
    options : sequence
        What there is to choose from.
    words : callable
        Returns an option in the language that is spoken; in English it is the word in the address.
    key : str
        Name in the address, and key of the widget.
    first : optional
        What is chosen at first, and not in the address; the first option when left out.
    **look
        Goes to `draw`.
    """
    start = options[0] if first is None else first
    with speaking(ENGLISH):
        named = {words(option): option for option in options}
    if st.session_state.get(key) not in options:
        st.session_state[key] = named.get(st.query_params.get(key, ""), start)
    drawn = draw(label, options, format_func=words, key=key, **look)
    chosen = start if drawn is None else drawn
    word = next(word for word, option in named.items() if option == chosen)
    _keep(key, "" if chosen == start else word)
    return chosen


def _keep(key: str, word: str) -> None:
    """Write a choice into the address unless it stands there."""
    if word and st.query_params.get(key) != word:
        st.query_params[key] = word
    if not word and key in st.query_params:
        del st.query_params[key]
    st.session_state.setdefault(_HELD, {})[key] = word
