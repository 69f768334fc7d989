"""The way from what was found to where something is done about it."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from advisor.language import say
from advisor.pages.parts.plain import plain
from advisor.pages.parts.ways import go_button
from advisor.pages.session import Session, go_to

#: Jobs that get a button of their own; the page itself has the others. Choice of this project: as
#: many as a phone shows below a card.
MOST_JOBS = 4


def to_jobs(session: Session, jobs: Iterable[str], where: str) -> None:
    """Draw a button for each open job, to its joints and what they lack.

    Parameters
    ----------
    session : Session
        Who goes there.
    jobs : iterable of str
        The jobs, in order; closed ones, empty names and repetitions are left out.
    where : str
        Tells these buttons from others on the same page.
    """
    named = list(dict.fromkeys(filter(None, jobs)))
    known = set(session.log.jobs()) if named else set()
    open_jobs = [each for each in named if each in known]
    for job in open_jobs[:MOST_JOBS]:
        words = say("Before welding: {job}", job=plain(job))
        if st.button(words, key=f"job·{where}·{job}"):
            go_to("before", session, job=job)
    if len(open_jobs) > MOST_JOBS:
        go_button(session, say("Before welding"), "before", where=where)


def to_caps(session: Session, where: str) -> None:
    """Draw the button to where dressing is noted; `where` tells it from others on the same page."""
    go_button(session, say("Note the dressing"), "shop", "machines", where=where)
