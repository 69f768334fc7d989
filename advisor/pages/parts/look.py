"""The look: the colours of the ground, and one style sheet for the frame and one for our HTML."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import streamlit as st

from advisor.language import language
from advisor.pages.parts import palette, projector

_SHEETS = ("look.css", "cards.css")


def dress_page() -> None:
    """Put the style sheets on the page, and for who reads it aloud the language it speaks.

    The script beside the pages gives that language to the document; nothing else can.
    """
    st.html(f'{_style()}{projector.style()}<style class="spoken" lang="{language()}"></style>')


@cache
def _style() -> str:
    here = Path(__file__).parent
    sheets = [(here / name).read_text(encoding="utf-8") for name in _SHEETS]
    return f"<style>{palette.sheet()}{''.join(sheets)}</style>"
