"""The gate before every request: which host and origin it names, who sends it, and what goes back.

On a server for this machine alone it looks at host and origin only. On any other nobody passes
without a visit: neither to a page nor to its connection, nor to files sent or fetched.
"""

from __future__ import annotations

import base64
import hashlib
import re
import time
from collections.abc import Callable, Mapping
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from advisor.errors import AdvisorError, RoleError
from advisor.language import msg, say, speaking
from advisor.pages import sign_in
from advisor.pages.document import SCRIPT, THEIRS
from advisor.pages.listening import (
    is_forwarded,
    is_guarded,
    is_served,
    is_this_machine,
    uses_openid,
)
from advisor.pages.spoken import of_request
from advisor.pages.visit import UNTIL_COOKIE, by_service, by_token, shop_log, signed_user
from advisor.store.log import Log
from advisor.store.people import Person

#: Without a visit: signing in and out, whether the server lives, and the programs that draw pages,
#: which are the same for everybody and hold nothing of the shop.
_FREE = ("/sign-in", "/sign-out", "/_stcore/health", SCRIPT)
_FREE_BELOW = "/static/"
#: What a browser needs to reach the shop's sign-in service and to come back.
_TO_SERVICE = ("/_stcore/host-config", "/_stcore/stream", "/auth/login", "/auth/logout")
#: Not pages: who asks for these is not shown a form but refused.
_INSIDE = ("/_stcore/", "/media/", "/component/", "/app/")

_ELSEWHERE = msg(
    "this server was started for its own machine alone; to reach it from others start it with: "
    "python -m advisor --listen ADDRESS (behind a proxy with --behind-proxy)"
)
_WRONG_NAME = msg(
    "this server is not served under the name {host}; use the address it printed on starting, or "
    "start it with: python -m advisor --listen ADDRESS --host NAME"
)
_FOREIGN = msg("this came from a page of another server; open this one's own page")
_NO_VISIT = msg("nobody is signed in here")


def _policy() -> str:
    """Return what a browser may do with the app's pages, as strict as Streamlit allows."""
    inline = (
        base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        for script in re.findall(r"<script>(.*?)</script>", THEIRS, re.DOTALL)
    )
    hashes = " ".join(f"'sha256-{each}'" for each in inline)
    return (
        f"default-src 'none'; script-src 'self' {hashes}; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' data:; "
        "media-src 'self' blob:; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )


_HEADERS = {
    "Content-Security-Policy": _policy(),
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class Gate:
    """ASGI middleware that lets through what may pass.

    Parameters
    ----------
    app : ASGI application
        What is behind the gate.
    log : callable
        Opens the log that knows who has signed in.
    """

    def __init__(self, app: ASGIApp, log: Callable[[], Log] = shop_log) -> None:
        self._app = app
        self._log = log

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        asked = HTTPConnection(scope)
        with speaking(of_request(asked)):
            refusal = _misdirected(asked) or await self._unknown(asked)
        more = {} if refusal else _reload_when_over(asked)
        await (refusal or self._app)(scope, receive, _with_headers(send, _HEADERS | more))

    async def _unknown(self, asked: HTTPConnection) -> Response | None:
        """Refuse somebody who has no visit, where one is asked for."""
        path = asked.scope["path"]
        if not is_guarded() or path in _FREE or path.startswith(_FREE_BELOW):
            return None
        try:
            if await run_in_threadpool(self._person, asked) is not None:
                return None
            if uses_openid():
                return None if _leads_to_service(asked) else refused(403, say(_NO_VISIT))
            await run_in_threadpool(lambda: self._log().check_may_listen())
        except RoleError as error:
            return refused(503, str(error))
        except AdvisorError as error:
            return refused(503, say("the log cannot be read: {reason}", reason=error))
        return _to_sign_in(asked) if _is_page(asked) else refused(403, say(_NO_VISIT))

    def _person(self, asked: HTTPConnection) -> Person | None:
        if uses_openid():
            user = signed_user(asked.cookies)
            return by_service(self._log(), user) if user else None
        return by_token(self._log(), asked.cookies)


def _misdirected(asked: HTTPConnection) -> Response | None:
    """Refuse what names another host or comes from another server's page."""
    server = asked.scope.get("server") or (None,)
    if not is_guarded() and (is_forwarded(asked.headers) or not is_this_machine(server[0])):
        return refused(403, say(_ELSEWHERE))
    host = asked.headers.get("host", "")
    if not is_served(host):
        return refused(403, say(_WRONG_NAME, host=host[:100] or say("(none)")))
    changes = asked.scope["type"] == "websocket" or asked.scope["method"] not in {"GET", "HEAD"}
    if changes and urlsplit(asked.headers.get("origin", "")).netloc != host:
        return refused(403, say(_FOREIGN))
    return None


def _is_page(asked: HTTPConnection) -> bool:
    scope = asked.scope
    is_read = scope["type"] == "http" and scope["method"] in {"GET", "HEAD"}
    return is_read and not scope["path"].startswith(_INSIDE)


def _leads_to_service(asked: HTTPConnection) -> bool:
    return asked.scope["path"] in _TO_SERVICE or _is_page(asked)


def _to_sign_in(asked: HTTPConnection) -> Response:
    target = asked.url.path + (f"?{asked.url.query}" if asked.url.query else "")
    return RedirectResponse(f"/sign-in?next={quote(target, safe='')}", 303)


def refused(status: int, sentence: str) -> Response:
    """Return an answer that says why a request goes no further."""
    return HTMLResponse(
        sign_in.notice(sentence), status, {"Content-Security-Policy": sign_in.POLICY, **NO_STORE}
    )


NO_STORE = {"Cache-Control": "no-store"}


def _with_headers(send: Send, more: Mapping[str, str]) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] in {"http.response.start", "websocket.http.response.start"}:
            headers = MutableHeaders(scope=message)
            for name, value in more.items():
                headers.setdefault(name, value)
        await send(message)

    return sending


def _reload_when_over(asked: HTTPConnection) -> dict[str, str]:
    """Let the browser open a page anew once its visit is over, so that it does not stay on view.

    The cookie only says when that is; whether the visit lasts is looked up each time.
    """
    until = asked.cookies.get(UNTIL_COOKIE, "")
    if not (_is_page(asked) and is_guarded() and until.isascii() and until.isdigit()):
        return {}
    left_s = int(until[:12]) - int(time.time())
    return {"Refresh": str(left_s + 1)} if left_s > 0 else {}
