"""Class: lessons with a question first, stacks side by side, a practice bench, published starts."""

from __future__ import annotations

import streamlit as st

from advisor.language import msg, say
from advisor.pages.classroom import bench, lessons, side_by_side, starts
from advisor.pages.parts.cards import bullets
from advisor.pages.parts.views import Views, show_view
from advisor.pages.session import PRACTICE, Session, aside, enter, practise
from advisor.store.practice import practice_file
from advisor.teaching.adhesive import CURED, EVIDENCE, NO_NUMBER, WET

#: Views by their word inside: title as a message, and what draws it.
VIEWS: Views = {
    "lessons": (msg("Lessons"), lessons.show),
    "beside": (msg("Side by side"), side_by_side.show),
    "bench": (msg("Practice bench"), bench.show),
    "starts": (msg("Published starts"), starts.show),
}


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Class"))
    if show_view(session, VIEWS) != "bench":
        _adhesive()
        _practice(session)


def _adhesive() -> None:
    """Say what adhesive does to the contact and to the evidence; nothing of it is calculated."""
    with st.expander(say("And adhesive?")):
        st.write(say(NO_NUMBER))
        left, right = st.columns(2)
        for column, title, sentences in (
            (left, say("Wet"), WET),
            (right, say("Cured"), CURED),
        ):
            with column:
                st.markdown(f"**{title}**")
                st.html(bullets(map(say, sentences)))
        st.markdown(say("**As evidence**"))
        st.html(bullets(map(say, EVIDENCE)))


def _practice(session: Session) -> None:
    """Offer a copy of the log in which a class may try everything."""
    if aside() or not session.who:
        return
    with st.expander(say("A practice copy of the shop's log")):
        st.write(
            say(
                "Log coupons, release joints, change rules and machines with the class: the copy "
                "is a file of its own, marked on every page and print, and nothing in it reaches "
                "the log."
            )
        )
        left, right = st.columns(2)
        if left.button(say("Make a new copy and open it"), width="stretch"):
            with st.spinner(say("Copying the log …")):
                practise(session)
            st.rerun()
        if practice_file(session.who).exists() and right.button(
            say("Open the copy made before"), width="stretch"
        ):
            enter(PRACTICE)
            st.rerun()
