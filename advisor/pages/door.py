"""The door inside the page: who has signed in goes on, anybody else sees one sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from html import escape
from importlib.util import find_spec

import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import msg, say
from advisor.pages.listening import is_guarded, uses_openid
from advisor.pages.parts.look import dress_page
from advisor.pages.parts.plain import plain
from advisor.pages.session import said_by_service, visit_here
from advisor.pages.visit import Visit, is_doubtful

_NO_PACKAGE = msg(
    "The settings name a sign-in service, but the package that speaks with it is missing; whoever "
    "runs the server installs it with: pip install 'weld-coupon-advisor[openid]'"
)
ENDED = msg("The visit has ended; what was kept is in the log. Sign in to go on.")


def at_the_door() -> tuple[Visit | None, Callable[[], None] | None]:
    """Return who has signed in, and what to draw instead of every page when nobody has.

    Returns
    -------
    visit : Visit or None
        Who has signed in; None where nobody is asked to.
    closed : callable or None
        Draws the one page that everybody else sees; None when the pages are open.
    """
    if not is_guarded():
        return None, None
    try:
        visit = visit_here()
    except AdvisorError as error:
        return None, partial(_say, str(error))
    if visit is not None:
        return visit, None
    return None, _to_service if uses_openid() else _ended


def _ended() -> None:
    _say(say(ENDED))
    st.html(_link("/sign-in", say("Sign in")))


def signed_in(visit: Visit) -> None:
    """Draw who has signed in, as what, and the way out."""
    st.markdown(
        say(
            "Signed in as **{who}**, {role}",
            who=plain(visit.person.name),
            role=visit.person.role.label,
        )
    )
    if not uses_openid():
        st.html(_link("/sign-out", say("Sign out")))
    else:
        st.button(say("Sign out"), on_click=st.logout)


def _to_service() -> None:
    """Offer the way to the shop's sign-in service, or say why its answer is not enough.

    The way is taken at a touch only: who has just signed out of a shared tablet stays out.
    """
    user = said_by_service()
    if find_spec("authlib") is None:
        _say(say(_NO_PACKAGE))
        return
    if user.get("is_logged_in"):
        _say(_not_enough(user))
        st.button(say("Sign in with another account"), on_click=st.logout)
        return
    _say(say("Sign in to open the log."))
    for service in _services():
        words = say("Sign in")
        if service:
            words = say("Sign in with {service}", service=plain(service))
        st.button(words, on_click=st.login, args=[service], type="primary")


def _not_enough(user: Mapping[str, object]) -> str:
    address = user.get("email")
    if not address:
        return say(
            "The sign-in service has named no e-mail address, so nobody can be told from it."
        )
    if is_doubtful(user):
        return say(
            "The sign-in service has not made sure that {address} is yours; ask who runs it.",
            address=address,
        )
    return say(
        "Nobody in this shop has the address {address}; a lead enters it under Shop set-up.",
        address=address,
    )


def _services() -> list[str | None]:
    """Return the names of the services in the secrets file; None stands for the one without."""
    part = st.secrets["auth"]
    named: list[str | None] = [name for name in part if isinstance(part[name], Mapping)]
    return [None, *named] if "client_id" in part or not named else named


def _say(sentence: str) -> None:
    dress_page()
    st.html(f'<div class="card doubt" role="alert">{escape(sentence)}</div>')


def _link(path: str, words: str) -> str:
    return f'<a class="door" href="{path}" target="_self">{words}</a>'
