"""The HTML document that Streamlit's program draws a page into: its language, our one script."""

from __future__ import annotations

import re
from functools import cache
from html import escape
from pathlib import Path

import streamlit as st
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from advisor.language import say, speaking
from advisor.pages.spoken import of_request

#: Address of the script. It is the same for everybody and holds nothing of the shop.
SCRIPT = "/typing.js"
#: Streamlit's own document.
THEIRS = (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")
_PAGE = re.compile(r"/[a-z]*")
#: What of Streamlit's document is ours; a version of it that has none of this keeps its own.
_LANG, _TITLE, _END = '<html lang="en">', "<title>Streamlit</title>", "</head>"


class Document:
    """ASGI middleware that answers for a page's document and for its script.

    Parameters
    ----------
    app : ASGI application
        Streamlit, which answers everything else.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        answer = _answer(scope) or self._app
        await answer(scope, receive, send)


def _answer(scope: Scope) -> Response | None:
    if scope["type"] != "http" or scope["method"] not in {"GET", "HEAD"}:
        return None
    if scope["path"] == SCRIPT:
        return _script(Headers(scope=scope).get("if-none-match", ""))
    if not _PAGE.fullmatch(scope["path"]):
        return None
    return HTMLResponse(
        html(of_request(HTTPConnection(scope))),
        headers={"Cache-Control": "no-cache", "Vary": "Accept-Language, Cookie"},
    )


@cache
def html(code: str) -> str:
    """Return the document.

    Parameters
    ----------
    code : str
        Language that the browser asks for, a key of `LANGUAGES`.
    """
    with speaking(code):
        title = escape(say("Weld coupons"))
    page = THEIRS.replace(_LANG, f'<html lang="{code}">', 1)
    page = page.replace(_TITLE, f"<title>{title}</title>", 1)
    return page.replace(_END, f'<script src="{SCRIPT}" defer></script>{_END}', 1)


@cache
def _code() -> tuple[str, str]:
    path = Path(__file__).with_name("typing.js")
    return path.read_text(encoding="utf-8"), f'"{path.stat().st_mtime_ns:x}"'


def _script(known: str) -> Response:
    code, tag = _code()
    headers = {"Cache-Control": "no-cache", "ETag": tag}
    if known == tag:
        return Response(status_code=304, headers=headers)
    return PlainTextResponse(code, headers=headers, media_type="text/javascript")
