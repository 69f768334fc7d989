"""Views of one page: a row of buttons, kept in the address so that a view can be shared."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import streamlit as st

from advisor.language import say
from advisor.pages.parts import addressed
from advisor.pages.session import Session

#: By a word of ours: title as a message, and what draws the view.
Views = Mapping[str, tuple[str, Callable[[Session], None]]]


def show_view(session: Session, views: Views) -> str:
    """Ask which view of a page is wanted, draw it, and return its word.

    Parameters
    ----------
    session : Session
        The log and who looks at it.
    views : Views
        The views; the first one is shown where none was asked for.
    """
    addressed.follow()
    chosen = addressed.choose(
        st.segmented_control,
        say("View"),
        list(views),
        lambda name: say(views[name][0]),
        key="view",
        required=True,
        label_visibility="collapsed",
    )
    views[chosen][1](session)
    return chosen
