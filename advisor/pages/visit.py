"""Who is behind a request or a rerun of a page: by the cookie of a visit, or by sign-in service."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import streamlit as st

from advisor.errors import RoleError
from advisor.language import say
from advisor.store.log import Log, default_url, open_log
from advisor.store.people import Person

#: Cookie that holds the token of a visit.
COOKIE = "weld_visit"
#: Cookie that says when the visit is over. [s since 1970]
UNTIL_COOKIE = "weld_until"
#: A visit is looked up again in the log when the last look is older. [s]
_FRESH_S = 1.0


@cache
def shop_log() -> Log:
    """Return the shop's own log as the gate uses it, opened once."""
    return open_log(default_url())


def by_token(log: Log, cookies: Mapping[str, str]) -> Person | None:
    """Return whose visit the cookies of a request stand for, if it still lasts."""
    token = cookies.get(COOKIE)
    return log.visitor(token) if token else None


def by_service(log: Log, user: Mapping[str, Any]) -> Person | None:
    """Return whom the shop's sign-in service has named, if the shop knows the address.

    Parameters
    ----------
    log : Log
        The shop's own log.
    user : mapping
        What the service said: `is_logged_in`, `email` and, from most, `email_verified`.
    """
    email = user.get("email")
    if not user.get("is_logged_in") or is_doubtful(user) or not isinstance(email, str):
        return None
    return log.person_with_email(email)


def is_doubtful(user: Mapping[str, Any]) -> bool:
    """Whether the sign-in service says that it has not made sure of the address."""
    return str(user.get("email_verified", True)).casefold() == "false"


def signed_user(cookies: Mapping[str, str]) -> dict[str, Any]:
    """Return what the sign-in service said, from the cookie that Streamlit has signed for it.

    Streamlit itself reads this cookie on opening a page's connection; the gate has to know as well
    who sends a file or asks for one. A cookie with a wrong signature says nothing.
    """
    from streamlit.auth_util import get_cookie_with_chunks
    from streamlit.web.server.server_util import AUTH_COOKIE_NAME, get_cookie_secret
    from streamlit.web.server.starlette.starlette_app_utils import decode_signed_value

    secret = get_cookie_secret()

    def one(name: str) -> bytes | None:
        value = cookies.get(name)
        if not secret or value is None:
            return None
        return decode_signed_value(secret, name, value.encode("latin-1", "replace"))

    found = get_cookie_with_chunks(one, AUTH_COOKIE_NAME)
    said = json.loads(found) if found else {}
    return said if isinstance(said, dict) else {}


@dataclass
class Visit:
    """Somebody who has signed in, for as long as that lasts.

    Parameters
    ----------
    person : Person
        Who it is, as the log had it at the last look.
    look : callable
        Looks in the log; None when the visit has ended.
    """

    person: Person
    look: Callable[[], Person | None]
    _looked_at: float = field(default_factory=time.monotonic)

    def confirm(self) -> None:
        """Look again whether the visit still lasts; draw the whole page anew when it does not.

        A part of a page that runs by itself (a dialog, a ticking clock) asks here, because it does
        not pass the door at the top of the page.
        """
        if time.monotonic() - self._looked_at < _FRESH_S:
            return
        found = self.look()
        if found is None:
            st.rerun()  # comes back only outside a page, where a file is made
            raise RoleError(say("the visit has ended; sign in again"))
        self.person, self._looked_at = found, time.monotonic()
