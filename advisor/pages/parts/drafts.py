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
from advisor.language import say
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.weld.words import TradeWord

T = TypeVar("T")
_BROUGHT, _STARTED, _LOST, _STORED = "·brought", "·started", "·lost", "·stored"
_OWN = (_BROUGHT, _STARTED, _LOST, _STORED)


def key_of(form: str, part: str = "") -> str:
    """Return what the keys of a form's widgets begin with.

    An emptied form gets new keys: a browser sends the values of a key it knows again and again,
    whatever the server has forgotten.

    Parameters
    ----------
    form : str
        Name of the form, the same after a restart.
    part : str
        Anything that starts the form afresh when it changes.
    """
    emptied = st.session_state.get(f"emptied·{form}", 0)
    return f"{form}·{emptied}·{part}" if part else f"{form}·{emptied}"


@contextmanager
def draft(session: Session, form: str, part: str = "") -> Iterator[str]:
    """Draw a form whose fields are kept while they are filled in; gives what keys begin with.

    Parameters
    ----------
    session : Session
        Whose form it is; nothing is kept for nobody.
    form : str
        Name under which the draft is kept, the same after a restart.
    part : str
        As for `key_of`.
    """
    key = key_of(form, part)
    prefix = f"{key}·"
    if session.who and prefix + _BROUGHT not in st.session_state:
        st.session_state[prefix + _BROUGHT] = _bring_back(session, form, prefix)
    if brought := st.session_state.get(prefix + _BROUGHT):
        _offer_to_empty(session, form, prefix, brought)
    yield key
    if session.who:
        _keep(session, form, prefix)


def _offer_to_empty(session: Session, form: str, prefix: str, brought: datetime) -> None:
    left, right = st.columns([3, 2], vertical_alignment="center")
    left.caption(
        say("What you had typed at {moment:%H:%M} on {moment:%d %b} is back.", moment=brought)
    )
    if right.button(say("Empty the form"), key=f"drop·{prefix}", width="stretch"):
        forget(session, form)
        st.rerun()


def forget(session: Session, form: str) -> None:
    """Empty a form: it was kept, or is not wanted."""
    if session.who:
        session.log.drop_draft(session.who, form)
    st.session_state[f"emptied·{form}"] = st.session_state.get(f"emptied·{form}", 0) + 1


def _bring_back(session: Session, form: str, prefix: str) -> datetime | None:
    """Put the fields of a draft where the widgets find them; return when it was kept."""
    kept = session.log.draft(session.who, form)
    if kept is None:
        return None
    for name, value in json.loads(kept.body).items():
        st.session_state.setdefault(prefix + name, _read(value))
    st.session_state[prefix + _STORED] = kept.body
    return kept.saved_at.astimezone()


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
        st.warning(say("What you type is not kept as a draft: {why}", why=plain(error)))


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


def started(key: str, now: T) -> T:
    """Return the record a form started from: the one that was stored when it was first drawn."""
    found: T = st.session_state.setdefault(f"{key}·{_STARTED}", now)
    return found


def keep_or_show_both(
    session: Session,
    form: str,
    now: T,
    *,
    pressed: bool,
    action: Callable[[T], object],
    done: str,
) -> bool:
    """Carry out what a form asks for; after a lost race show both versions and ask.

    Parameters
    ----------
    session : Session
        Whose form it is.
    form : str
        Its name.
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
        Whether it was carried out; the form is empty then.
    """
    key = key_of(form)
    lost = st.session_state.get(f"{key}·{_LOST}")
    try:
        if pressed:
            action(started(key, now))
        elif lost and _ask(session, form, lost):
            action(now)
        else:
            return False
    except LostRaceError as error:
        st.session_state[f"{key}·{_LOST}"] = str(error)
        st.rerun()
    except AdvisorError as error:
        st.error(plain(error))
        return False
    forget(session, form)
    st.session_state["said"] = done
    return True


def _ask(session: Session, form: str, lost: str) -> bool:
    """Show a lost race; return whether mine is to be put over theirs."""
    st.error(plain(lost))
    left, right = st.columns(2)
    mine = left.button(say("Keep mine over theirs"), key=f"mine·{form}", width="stretch")
    if right.button(say("Leave theirs"), key=f"theirs·{form}", width="stretch"):
        forget(session, form)
        st.rerun()
    return mine
