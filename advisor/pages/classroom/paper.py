"""The hand-out as a file: nothing of it is drawn before somebody asks for it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import streamlit as st
import vl_convert

from advisor.heat.history import WeldHistory
from advisor.language import language, say, speaking
from advisor.pages.classroom import showing
from advisor.pages.parts.palette import on_white
from advisor.pages.review.filters import mark_of
from advisor.pages.session import Session
from advisor.teaching.handout import HandOut, hand_out_pdf
from advisor.teaching.lesson import Shown

_SCALE = 2.0


def hand_out_button(
    session: Session,
    welds: Sequence[Shown],
    histories: Sequence[WeldHistory],
    name: str,
    *,
    title: str,
    described: tuple[str, ...],
    question: str = "",
    point: tuple[str, ...] = (),
    sources: str = "",
) -> None:
    """Offer a hand-out for downloading.

    Parameters
    ----------
    session : Session
        Whose log is open, for the mark of a demo or a copy, and the person's units.
    welds, histories : sequence of Shown, sequence of WeldHistory
        The welds and how they grew.
    name : str
        Of the file, without ending.
    title, described, question, point, sources
        As for `HandOut`.
    """
    mark, spoken = mark_of(session), language()
    mark = say(mark) if mark else ""

    def make() -> bytes:
        with speaking(spoken):
            sheet = HandOut(
                title,
                question,
                described,
                tuple(showing.heads(welds)),
                tuple(map(tuple, showing.lines(session, welds, histories))),
                point,
                sources,
                datetime.now().astimezone(),
            )
            pictures = [
                vl_convert.svg_to_png(on_white(each), scale=_SCALE)
                for each in showing.pictures(session, welds, histories)
            ]
            return hand_out_pdf(sheet, pictures, mark)

    st.download_button(
        say("Hand-out as PDF"),
        data=make,
        file_name=f"class-{name}.pdf",
        mime="application/pdf",
        on_click="ignore",
        width="stretch",
        key=f"hand-out·{name}",
    )
