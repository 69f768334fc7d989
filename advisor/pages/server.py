"""What the server is made of beside Streamlit: the gate, signing in and out, opening a browser."""

from __future__ import annotations

import asyncio
import gc
import math
import time
import webbrowser
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from functools import wraps
from importlib import import_module
from threading import Thread
from typing import Any
from urllib.parse import parse_qsl, quote, unquote

import streamlit as st
from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from advisor.errors import AdvisorError, RoleError
from advisor.language import msg, say, speaking
from advisor.pages import sign_in
from advisor.pages.document import Document
from advisor.pages.gate import NO_STORE, Gate, refused
from advisor.pages.listening import is_behind_proxy, is_guarded, uses_openid
from advisor.pages.spoken import of_request
from advisor.pages.throttle import Throttle
from advisor.pages.visit import COOKIE, UNTIL_COOKIE, by_token, shop_log
from advisor.store.people import VISIT_HOURS

#: Cookie that holds who signed in last on this device.
NAME_COOKIE = "weld_name"
_NAME_DAYS = 365
#: A name and a PIN are short; what is longer is not read. [bytes]
_LONGEST_BODY = 4096
_TOO_LONG = msg("a name and a PIN take less than {bytes} bytes; nothing was read")

#: How long the other pages are held back for the first one. [s]
_FIRST_PAGE_S = 5.0

_throttle = Throttle()
# Each PIN that is looked at takes 64 MiB and a core for a while; the others wait their turn.
_looking = asyncio.Semaphore(2)

_Answer = Callable[[Request], Awaitable[Response]]


def _in_their_language(answer: _Answer) -> _Answer:
    """Answer in the language that the browser asks for."""

    @wraps(answer)
    async def answered(request: Request) -> Response:
        with speaking(of_request(request)):
            return await answer(request)

    return answered


@_in_their_language
async def ask(request: Request) -> Response:
    """Show the page that asks for name and PIN, to somebody who has not signed in."""
    target = own_path(request.query_params.get("next", ""))
    if not is_guarded() or uses_openid():
        return RedirectResponse("/", 303)
    try:
        if await run_in_threadpool(lambda: by_token(shop_log(), request.cookies)) is not None:
            return RedirectResponse(target, 303)
        await run_in_threadpool(lambda: shop_log().check_may_listen())
    except AdvisorError as error:
        return refused(503, str(error))
    name = request.query_params.get("who") or unquote(request.cookies.get(NAME_COOKIE, ""))
    return _page(200, sign_in.form(name[:200], target))


@_in_their_language
async def enter(request: Request) -> Response:
    """Sign somebody in, or say why not."""
    if not is_guarded() or uses_openid():
        return RedirectResponse("/", 303)
    body = await _read(request)
    if body is None:
        return refused(413, say(_TOO_LONG, bytes=_LONGEST_BODY))
    typed = dict(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True))
    name, target = typed.get("name", "").strip(), own_path(typed.get("next", ""))
    address = _address(request)
    wait_s = math.ceil(_throttle.begin(address))
    if wait_s:
        said = say("too many tries from this device; try again in {wait_s} s", wait_s=wait_s)
        return _page(429, sign_in.form(name, target, said), {"Retry-After": str(wait_s)})
    try:
        async with _looking:
            token, known = await run_in_threadpool(_begin, name, typed.get("pin", ""))
    except RoleError as error:
        return _page(403, sign_in.form(name, target, str(error)))
    except AdvisorError as error:
        return refused(503, str(error))
    _throttle.take_back(address)
    return _welcome(request, token, known, target)


def _begin(name: str, pin: str) -> tuple[str, str]:
    """Begin a visit; return its token and the name as the shop writes it."""
    token = shop_log().sign_in(name, pin)
    person = shop_log().visitor(token)
    return token, person.name if person else name


def _welcome(request: Request, token: str, name: str, target: str) -> Response:
    response = RedirectResponse(target, 303, NO_STORE)
    rest: dict[str, Any] = {"path": "/", "httponly": True, "samesite": "strict"}
    rest["secure"] = _is_https(request)
    visit_s = VISIT_HOURS * 3600
    response.set_cookie(COOKIE, token, max_age=visit_s, **rest)
    response.set_cookie(UNTIL_COOKIE, str(int(time.time()) + visit_s), max_age=visit_s, **rest)
    response.set_cookie(NAME_COOKIE, quote(name, safe=""), max_age=_NAME_DAYS * 86400, **rest)
    return response


@_in_their_language
async def leave(request: Request) -> Response:
    """End the visit; another server's page cannot do it, for it is not given the cookie."""
    token = request.cookies.get(COOKIE)
    try:
        if token:
            await run_in_threadpool(lambda: shop_log().sign_out(token))
    except AdvisorError as error:
        return refused(503, say("the visit has not ended: {reason}", reason=error))
    response = RedirectResponse("/sign-in", 303, NO_STORE)
    for name in (COOKIE, UNTIL_COOKIE):
        response.delete_cookie(name, path="/", httponly=True, samesite="strict")
    return response


def own_path(target: str) -> str:
    """Return where to go after signing in: a path of this server, else its first page.

    Browsers take a second slash, a backslash or a control character for the start of a host.
    """
    is_odd = "\\" in target or not target.isprintable()
    if is_odd or not target.startswith("/") or target.startswith(("//", "/sign-", "/_stcore/")):
        return "/"
    return target


async def _read(request: Request) -> bytes | None:
    """Return the body of a request; None when it is too long, which is not waited for."""
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > _LONGEST_BODY:
            return None
    return body


def _address(request: Request) -> str:
    """Return the address of the device; behind the shop's proxy, the last one it has added."""
    seen = request.headers.get("x-forwarded-for", "") if is_behind_proxy() else ""
    last = seen.rpartition(",")[2].strip()
    return last or (request.client.host if request.client else "")


def _is_https(request: Request) -> bool:
    told = request.headers.get("x-forwarded-proto", "") if is_behind_proxy() else ""
    return (told or request.url.scheme) == "https"


def _page(status: int, html: str, headers: dict[str, str] | None = None) -> Response:
    own = {"Content-Security-Policy": sign_in.POLICY, **NO_STORE}
    return HTMLResponse(html, status, {**own, **(headers or {})})


@asynccontextmanager
async def started(_: st.App) -> AsyncIterator[None]:
    """Open the page in a browser once the server is up, unless it was started without.

    What draws pages is loaded meanwhile, so that the first one does not wait for it.
    """
    Thread(target=_load, daemon=True).start()
    if not st.get_option("server.headless"):
        scheme = "https" if st.get_option("server.sslCertFile") else "http"
        host, port = st.get_option("browser.serverAddress"), st.get_option("server.port")
        name = f"[{host}]" if ":" in host else host
        await run_in_threadpool(webbrowser.open, f"{scheme}://{name}:{port}")
    yield


def _load() -> None:
    """Load what draws pages, and take it out of what is searched for garbage.

    Streamlit has all of it searched after each run of a page, which took 0.2 s, and nobody else's
    page went on meanwhile.
    """
    shell = import_module("advisor.pages.shell")
    # The page that somebody waits for goes first; the others are loaded while it is looked at.
    shell.first_drawn.wait(_FIRST_PAGE_S)
    shell.load_all()
    gc.collect()
    gc.freeze()


MIDDLEWARE = [Middleware(Gate), Middleware(Document)]
ROUTES = [
    Route("/sign-in", ask, methods=["GET"]),
    Route("/sign-in", enter, methods=["POST"]),
    Route("/sign-out", leave, methods=["GET", "POST"]),
]
