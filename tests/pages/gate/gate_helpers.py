"""The gate and its routes without a server: requests as a server would hand them over."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from urllib.parse import urlencode

import streamlit as st
from starlette.applications import Starlette
from starlette.datastructures import Headers
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route, WebSocketRoute

from advisor.pages import server
from advisor.pages.gate import Gate

BEHIND = "behind the gate"
LEAD, WELDER = ("Lea Lead", "482915"), ("Wim Welder", "771204")
EVERY_ADDRESS = "0.0.0.0"  # noqa: S104  (named here, listened to nowhere)
METHODS = ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"]


def in_a_loop(work):
    """Run a coroutine to its end, in a thread: a browser of other tests has a loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


@dataclass
class Answer:
    status: int
    headers: Headers
    body: str
    read: int = 0  # how many parts of the body were asked for
    cookies: dict[str, str] = field(default_factory=dict)  # name to the whole line


def behind(log):
    """An app behind the gate that tells that it was reached."""

    async def page(_: Request):
        return PlainTextResponse(BEHIND)

    async def stream(websocket):
        await websocket.accept()
        await websocket.close()

    routes = [
        *server.ROUTES,
        WebSocketRoute("/_stcore/stream", stream),
        Route("/{path:path}", page, methods=METHODS),
    ]
    return Starlette(routes=routes, middleware=[Middleware(Gate, log=lambda: log)])


def listens(monkeypatch, address, *names):
    """Let the server listen at an address, asked for by some names."""
    options = {"server.address": address, "server.allowedHosts": list(names)}
    true = st.get_option
    monkeypatch.setattr(st, "get_option", lambda key: options[key] if key in options else true(key))


@dataclass
class Door:
    """One browser before the gate; it keeps cookies."""

    app: Starlette
    host: str = "127.0.0.2:8501"
    device: str = "10.1.1.7"
    came_in_at: str = "127.0.0.2"
    scheme: str = "http"
    jar: dict[str, str] = field(default_factory=dict)

    def get(self, path, **headers):
        return self.ask("GET", path, headers)

    def post(self, path, form, **headers):
        head = {"origin": f"{self.scheme}://{self.host}", **headers}
        return self.ask("POST", path, head, [urlencode(form).encode()])

    def sign_in(self, who, **more):
        name, pin = who
        headers = more.pop("headers", {})
        return self.post("/sign-in", {"name": name, "pin": pin, **more}, **headers)

    def connect(self, **headers):
        """Status of opening the connection of a page; 101 when it is open."""
        head = {"origin": f"http://{self.host}", **headers}
        return self.ask("GET", "/_stcore/stream", head, kind="websocket").status

    def ask(self, method, path, headers=(), parts=(b"",), kind="http"):
        return in_a_loop(self._ask(method, path, dict(headers), list(parts), kind))

    async def _ask(self, method, path, headers, parts, kind):
        sent, asked = [], 0

        async def receive():
            nonlocal asked
            asked += 1
            if kind == "websocket":
                return {"type": "websocket.connect" if asked == 1 else "websocket.disconnect"}
            part = parts[asked - 1] if asked <= len(parts) else b""
            return {"type": "http.request", "body": part, "more_body": asked < len(parts)}

        async def send(message):
            sent.append(message)

        await self.app(self._scope(method, path, headers, kind), receive, send)
        return self._answer(sent, asked)

    def _scope(self, method, path, headers, kind):
        path, _, query = path.partition("?")
        lines = {"host": self.host, **{k.replace("_", "-"): v for k, v in headers.items()}}
        if self.jar and "cookie" not in lines:
            lines["cookie"] = "; ".join(f"{name}={value}" for name, value in self.jar.items())
        scope = {
            "type": kind,
            "asgi": {"version": "3.0"},
            "path": path,
            "raw_path": path.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": [(k.encode(), v.encode()) for k, v in lines.items() if v is not None],
            "client": (self.device, 50000),
            "server": (self.came_in_at, 8501),
        }
        if kind == "http":
            return {**scope, "method": method, "scheme": self.scheme, "http_version": "1.1"}
        return {**scope, "scheme": "ws", "extensions": {"websocket.http.response": {}}}

    def _answer(self, sent, asked):
        start = sent[0]
        if start["type"] == "websocket.accept":
            return Answer(101, Headers(), "", asked)
        headers = Headers(raw=start.get("headers", []))
        body = b"".join(message.get("body", b"") for message in sent[1:])
        answer = Answer(start.get("status", 403), headers, body.decode(), asked)
        for line in headers.getlist("set-cookie"):
            name, _, rest = line.partition("=")
            answer.cookies[name] = line
            self.jar[name] = rest.partition(";")[0].strip('"')
            if not self.jar[name]:
                del self.jar[name]
        return answer
