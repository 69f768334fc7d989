"""Which language a page speaks: what its reader chose, else what their browser asks for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextvars import ContextVar

import streamlit as st
from starlette.requests import HTTPConnection
from streamlit.runtime.scriptrunner import get_script_run_ctx

from advisor.language import CATALOGUES, ENGLISH, LANGUAGES, ask, say

#: Under which the choice is kept, in the session and with a person's preferences.
KEPT = "language"
#: A header that is longer is not read to its end. [characters]
_LONGEST = 1000
_ASKED_FOR = re.compile(
    r"\s*([A-Za-z]{1,8})(?:-[A-Za-z0-9-]*)?\s*(?:;\s*q=([01](?:\.\d{0,3})?)\s*)?"
)

# Looked up once a run: asking the session state for every sentence would let Streamlit break off
# a run in the middle of what it writes.
_here: ContextVar[str] = ContextVar("language of the page drawn here", default="")


class SaidLater(str):
    """A message that stands where only a constant can, and is said when it is shown."""

    __slots__ = ()

    def __str__(self) -> str:
        """Say it."""
        return say(str.__str__(self))


def offered() -> list[str]:
    """Return the codes of the languages there are: English and those with a catalogue."""
    return [code for code in LANGUAGES if code == ENGLISH or (CATALOGUES / f"{code}.po").is_file()]


def settle() -> None:
    """Find out once what the page drawn now speaks, and let every sentence of it follow."""
    ask(spoken_here)
    _here.set(_chosen())


def spoken_here() -> str | None:
    """Return the language of the page that is drawn in this thread; None where none is drawn."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return None
    if not _here.get():  # a part of a page that runs by itself
        _here.set(_chosen())
    return _here.get()


def speak(code: str) -> None:
    """Speak another language in this browser from now on.

    Parameters
    ----------
    code : str
        A key of `LANGUAGES`; empty for what the browser asks for.
    """
    st.session_state[KEPT] = code
    _here.set(_chosen())


def kept() -> dict[str, str]:
    """Return what of the choice is to be remembered; nothing where nobody has chosen."""
    code = st.session_state.get(KEPT)
    return {KEPT: code} if code else {}


def take_up(preferences: Mapping[str, str]) -> None:
    """Speak what somebody chose before; without a choice of theirs nothing changes."""
    speak(preferences.get(KEPT) or st.session_state.get(KEPT, ""))


def of_request(asked: HTTPConnection) -> str:
    """Return the language that the browser behind a request wants most, of those there are."""
    return of_header(asked.headers.get("accept-language", ""))


def of_header(accepted: str) -> str:
    """Return the language that a header wants most, of those there are; else English.

    Parameters
    ----------
    accepted : str
        A header `Accept-Language`, such as ``de-AT, en;q=0.7``.
    """
    parts = map(_ASKED_FOR.fullmatch, accepted[:_LONGEST].split(","))
    wanted = [(float(part[2] or 1), part[1].lower()) for part in parts if part]
    ranked = sorted(wanted, key=lambda each: each[0], reverse=True)
    there = offered()
    return next((code for weight, code in ranked if weight and code in there), ENGLISH)


def _chosen() -> str:
    code = st.session_state.get(KEPT)
    return code if code in offered() else of_header(st.context.locale or "")
