"""Forms that outlive a dropped connection, and what happens when two people fill in the same one.

What is typed is kept in the log a field at a time, under the person's name. A form remembers the
record it started from; when somebody else has changed it since, both versions are shown.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any, TypeVar

import streamlit as st

from advisor.errors import AdvisorError, LostRaceError
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.weld.words import TradeWord

T = TypeVar("T")
_BROUGHT, _STARTED, _LOST, _STORED = "·brought", "·started", "·lost", "·stored"
_DROP = "·drop"
_OWN = (_BROUGHT, _STARTED, _LOST, _STORED, _DROP)


@contextmanager
def draft(session: Session, form: str, prefix: str) -> Iterator[None]:
    """Draw a form whose fields are kept while they are filled in.

    Parameters
    ----------
    session : Session
        Whose form it is; nothing is kept for nobody.
    form : str
        Name under which the draft is kept, the same after a restart.
    prefix : str
        What the keys of all its widgets begin with.
    """
    if st.session_state.pop(prefix + _DROP, False):
        forget(session, form, prefix)
    if session.who and prefix + _BROUGHT not in st.session_state:
        st.session_state[prefix + _BROUGHT] = _bring_back(session, form, prefix)
    if st.session_state.get(prefix + _BROUGHT):
        left, right = st.columns([3, 2], vertical_alignment="center")
        left.caption(f"What you had typed at {st.session_state[prefix + _BROUGHT]} is back.")
        if right.button("Empty the form", key=f"drop·{prefix}", width="stretch"):
            forget(session, form, prefix)
            st.rerun()
    yield
    if session.who:
        _keep(session, form, prefix)


def forget(session: Session, form: str, prefix: str) -> None:
    """Empty a form: it was kept, or is not wanted."""
    _empty(prefix)
    if session.who:
        session.log.drop_draft(session.who, form)
    st.session_state[prefix + _BROUGHT] = ""


def _empty(prefix: str) -> None:
    for key in [key for key in st.session_state if str(key).startswith(prefix)]:
        del st.session_state[key]


def _bring_back(session: Session, form: str, prefix: str) -> str:
    """Put the fields of a draft where the widgets find them; return when it was kept."""
    kept = session.log.draft(session.who, form)
    if kept is None:
        return ""
    for name, value in json.loads(kept.body).items():
        st.session_state.setdefault(prefix + name, _read(value))
    st.session_state[prefix + _STORED] = kept.body
    return f"{kept.saved_at.astimezone():%H:%M on %d %b}"


def _keep(session: Session, form: str, prefix: str) -> None:
    fields = {
        str(key).removeprefix(prefix): _written(value)
        for key, value in st.session_state.items()
        if str(key).startswith(prefix) and not str(key).endswith(_OWN) and _is_kept(value)
    }
    body = json.dumps(fields, sort_keys=True)
    before = st.session_state.get(prefix + _STORED)
    st.session_state[prefix + _STORED] = body
    if before is None or before == body:
        return  # nobody has touched it yet
    try:
        session.log.save_draft(session.who, form, body)
    except AdvisorError as error:
        st.warning(f"What you type is not kept as a draft: {plain(error)}")


def _is_kept(value: object) -> bool:
    return value is None or isinstance(value, bool | int | float | str | datetime | date)


def _written(value: object) -> Any:
    if isinstance(value, TradeWord):
        return {"list": type(value).__name__, "word": value.value}
    if isinstance(value, datetime):
        return {"moment": value.isoformat()}
    return {"day": value.isoformat()} if isinstance(value, date) else value


def _read(value: Any) -> object:
    if not isinstance(value, Mapping):
        return value
    if "moment" in value:
        return datetime.fromisoformat(value["moment"])
    if "day" in value:
        return date.fromisoformat(value["day"])
    lists = {each.__name__: each for each in TradeWord.__subclasses__()}
    return lists[value["list"]].of(value["word"])


def started(prefix: str, now: T) -> T:
    """Return the record a form started from: the one that was stored when it was first drawn."""
    found: T = st.session_state.setdefault(prefix + _STARTED, now)
    return found


def keep_or_show_both(
    prefix: str, now: T, *, pressed: bool, action: Callable[[T], object], done: str
) -> bool:
    """Carry out what a form asks for; after a lost race show both versions and ask.

    Parameters
    ----------
    prefix : str
        What the keys of the form's widgets begin with.
    now : object
        The record as it is stored now.
    pressed : bool
        Whether the form's button was pressed.
    action : callable
        Writes the form's record over the one it is given.
    done : str
        What is said when it is done.

    Returns
    -------
    bool
        Whether it was carried out.
    """
    lost = st.session_state.get(prefix + _LOST)
    try:
        if pressed:
            action(started(prefix, now))
        elif lost and _ask(prefix, lost):
            action(now)
        else:
            return False
    except LostRaceError as error:
        st.session_state[prefix + _LOST] = str(error)
        st.rerun()
    except AdvisorError as error:
        st.error(plain(error))
        return False
    st.session_state["said"] = done
    return True


def _ask(prefix: str, lost: str) -> bool:
    """Show a lost race; return whether mine is to be put over theirs."""
    st.error(plain(lost))
    left, right = st.columns(2)
    mine = left.button("Keep mine over theirs", key=f"mine·{prefix}", width="stretch")
    if right.button("Leave theirs", key=f"theirs·{prefix}", width="stretch"):
        _empty(prefix)
        st.session_state[prefix + _DROP] = True
        st.rerun()
    return mine
