"""The hand-out as a file: drawings become pictures only when somebody asks for it."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st
import vl_convert

from advisor.language import language, say, speaking
from advisor.pages.parts.palette import on_white
from advisor.pages.review.filters import mark_of
from advisor.pages.session import Session
from advisor.teaching.handout import HandOut, hand_out_pdf

_SCALE = 2.0


def hand_out_button(session: Session, sheet: HandOut, drawn: Sequence[str], name: str) -> None:
    """Offer a hand-out for downloading.

    Parameters
    ----------
    session : Session
        Whose log is open, for the mark of a demo or a copy.
    sheet : HandOut
        What it says.
    drawn : sequence of str
        Sections as SVG.
    name : str
        Of the file, without ending.
    """
    mark, spoken = mark_of(session), language()
    mark = say(mark) if mark else ""

    def make() -> bytes:
        with speaking(spoken):
            pictures = [vl_convert.svg_to_png(on_white(each), scale=_SCALE) for each in drawn]
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
