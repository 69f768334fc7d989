"""The whole log of a shop on the page Files: out in one file, and in again after a preview."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable
from dataclasses import dataclass

import pandas as pd
import streamlit as st

from advisor.errors import AdvisorError
from advisor.exchange.arrived import Arrived
from advisor.exchange.kinds import KIND_NAMED
from advisor.exchange.log_file import LogFile
from advisor.language import language, msg, say, say_number
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session

_PREVIEW = "whole_log_preview"
#: A message for `say`.
_MORE_HELP = msg(
    "All that the log holds, photos and PINs left out. A log of more than some 100,000 coupons is "
    "better written by the command: python -m advisor export FILE"
)


@dataclass(frozen=True)
class _Preview:
    """What bringing a file in would do, or why it cannot be done.

    It is of one file, for one person, in their language.
    """

    of: tuple[str, str, str]
    arrived: Arrived | None
    problems: tuple[str, ...]


def downloads(session: Session) -> None:
    """Draw the buttons for everything."""
    _download(say("Everything as JSON Lines"), "log.jsonl", lambda: _json_lines(session))
    _download(say("Everything as CSV (zip)"), "log.zip", lambda: _tables(session))


def _download(words: str, name: str, data: Callable[[], bytes]) -> None:
    # Of no kind that a browser would rather show than keep.
    mime = "application/octet-stream"
    st.download_button(words, data, name, mime, on_click="ignore", help=say(_MORE_HELP))


def _json_lines(session: Session) -> bytes:
    file = io.BytesIO()
    session.log.export_json_lines(file)
    return file.getvalue()


def _tables(session: Session) -> bytes:
    file = io.BytesIO()
    session.log.export_tables(file)
    return file.getvalue()


def bring_in(session: Session) -> None:
    """Draw the upload of a whole log, its preview and the button; folded, for it is rare."""
    with st.expander(say("Bring in the whole log of a shop")):
        st.caption(
            say(
                "This takes a lead. A file that this program exported as JSON Lines or CSV (zip) "
                "is added to this log: what is here already stays, and the same file twice adds "
                "nothing."
            )
        )
        if not session.log.may_bring_in(session.who or _anybody(session)):
            _refuse(session)
            return
        who = session.who or st.text_input(say("Your name, for the log of changes")).strip()
        upload = st.file_uploader(say("JSON Lines or zip, at most 10 MB"), type=["jsonl", "zip"])
        if upload is None:
            st.caption(say("Nothing is stored before you have seen the preview."))
        elif not who:
            st.info(say("Give your name, then the file is looked at."))
        else:
            _show(session, upload.getvalue(), who)


def _anybody(session: Session) -> str:
    """Return a name for somebody in a shop that has no names yet."""
    return "" if session.log.welders() else "somebody"


def _refuse(session: Session) -> None:
    if session.who:
        st.info(
            say(
                "{name} is no lead in this shop; ask a lead to bring the file in.",
                name=plain(session.who),
            )
        )
    else:
        st.info(say("Choose your name at the top first."))


def _show(session: Session, data: bytes, who: str) -> None:
    of = (hashlib.sha256(data).hexdigest(), who, language())
    preview: _Preview | None = st.session_state.get(_PREVIEW)
    if preview is None or preview.of != of:
        with st.spinner(say("Looking at the file …")):
            preview = _look(session, data, of)
        st.session_state[_PREVIEW] = preview
    arrived = preview.arrived
    if arrived is None:
        _problems(preview.problems)
        return
    _arriving(arrived)
    words = say("Bring in {new:,} records", new=arrived.new)
    if st.button(words, type="primary", disabled=not arrived.new):
        _bring_in(session, data, who)


def _arriving(arrived: Arrived) -> None:
    """Say what a file would add."""
    st.text(
        say(
            "Log of {shop}: {new:,} records are new, {known:,} are here already, no problems.",
            shop=arrived.shop,
            new=arrived.new,
            known=arrived.known,
        )
    )
    counts = [
        {
            say("kind"): KIND_NAMED[each.kind].words,
            say("new"): each.new,
            say("known"): each.known,
        }
        for each in arrived.counts
        if each.new or each.known
    ]
    st.dataframe(
        pd.DataFrame(counts), hide_index=True, width="stretch", alt=say("What the file would add")
    )
    for remark in arrived.remarks():
        st.text(remark)


def _look(session: Session, data: bytes, of: tuple[str, str, str]) -> _Preview:
    try:
        file = LogFile(io.BytesIO(data))
        problems = file.problems()
        if problems:
            return _Preview(of, None, tuple(problems))
        return _Preview(of, session.log.try_bringing_in(file, of[1]), ())
    except AdvisorError as error:
        return _Preview(of, None, (str(error),))


def _problems(problems: tuple[str, ...]) -> None:
    st.error(
        say_number(
            "Nothing can be brought in: {number} problem found.",
            "Nothing can be brought in: {number} problems found.",
            len(problems),
        )
    )
    for each in problems:
        st.text(each)


def _bring_in(session: Session, data: bytes, who: str) -> None:
    try:
        arrived = session.log.bring_in(LogFile(io.BytesIO(data)), who)
    except AdvisorError as error:
        st.error(plain(error))
        return
    del st.session_state[_PREVIEW]
    st.session_state["said"] = say("{new:,} records brought in.", new=arrived.new)
    st.rerun()
