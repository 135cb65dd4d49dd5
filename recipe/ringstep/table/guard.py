"""The guard before the table: only the browser that was opened for it comes through.

Any page in any browser of this machine may send requests to a port of it, and so may a name that
was made to lead here. So a key stands in the first address, which is answered with a cookie and the
address without the key; from then on every request, and every websocket before it is accepted, must
bring that cookie, name this machine as its host and come from the table's own page.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qsl, urlencode

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]

#: What a browser is told where it may not come in.
REFUSED = b"Refused. Open the table with the address that 'ringstep table' shows.\n"
#: What the frame of the page is made of (scripts within the page, templates compiled in it, styles,
#: pictures as data) and nothing from elsewhere; no page may hold this one.
_POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
    "worker-src 'self' blob:; object-src 'none'; "
    "connect-src 'self' ws://127.0.0.1:{port} ws://localhost:{port}; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


def _secret() -> str:
    return secrets.token_urlsafe(32)


@dataclass(frozen=True)
class Guard:
    """Stands before an ASGI app; refuses with one plain line, a websocket before it is accepted.

    app: what stands behind it. port: where that is served on 127.0.0.1. key: stands in the first
    address, and may again, in case the cookie is lost. ticket: what the cookie holds.
    """

    app: App
    port: int
    key: str = field(default_factory=_secret, repr=False)
    ticket: str = field(default_factory=_secret, repr=False)

    @property
    def address(self) -> str:
        """The address to open first."""
        return f"http://127.0.0.1:{self.port}/?{urlencode({'key': self.key})}"

    @property
    def cookie(self) -> str:
        """Its name, with the port: a browser gives a cookie to every port of a host."""
        return f"ringstep-table-{self.port}"

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        sent, answer = _Sent(scope), self._with_headers(send)
        if not self._from_here(sent):
            await _refuse(scope, answer)
        elif scope["type"] == "http" and scope["path"] == "/" and sent.keys:
            if len(sent.keys) == 1 and _same(sent.keys[0], self.key):
                cookie = f"{self.cookie}={self.ticket}; HttpOnly; SameSite=Strict; Path=/"
                place = f"/?{sent.other}" if sent.other else "/"
                await _answer(answer, 303, b"", {"location": place, "set-cookie": cookie})
            else:
                await _refuse(scope, answer)
        elif any(_same(value, self.ticket) for value in sent.cookies(self.cookie)):
            await self.app(scope, receive, answer)
        else:
            await _refuse(scope, answer)

    def _from_here(self, sent: _Sent) -> bool:
        """True where a request names this machine and comes from the table, or was typed in."""
        hosts, origins = sent.all("host"), sent.all("origin")
        if hosts not in ([f"127.0.0.1:{self.port}"], [f"localhost:{self.port}"]):
            return False
        if (origins or sent.websocket) and origins != [f"http://{hosts[0]}"]:
            return False
        return set(sent.all("sec-fetch-site")) <= {"same-origin", "none"}

    def _with_headers(self, send: Send) -> Send:
        """The same `send`, with what every answer carries in place of headers of the same name."""
        ours = {
            b"cache-control": b"no-store",
            b"content-security-policy": _POLICY.format(port=self.port).encode(),
            b"referrer-policy": b"no-referrer",
            b"x-content-type-options": b"nosniff",
        }

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                kept = [h for h in message.get("headers", ()) if h[0].lower() not in ours]
                message = {**message, "headers": [*kept, *ours.items()]}
            await send(message)

        return sending


class _Sent:
    """What came with a request. keys: those in the address; other: the rest of its query."""

    def __init__(self, scope: Message) -> None:
        self.websocket = scope["type"] == "websocket"
        self.headers = [(k.decode("latin-1").lower(), v.decode("latin-1"))
                        for k, v in scope["headers"]]  # fmt: skip
        asked = parse_qsl(scope.get("query_string", b"").decode("latin-1"), keep_blank_values=True)
        self.keys = [value for name, value in asked if name == "key"]
        self.other = urlencode([pair for pair in asked if pair[0] != "key"])

    def all(self, name: str) -> list[str]:
        """Every header of that name."""
        return [value for key, value in self.headers if key == name]

    def cookies(self, name: str) -> list[str]:
        """Every cookie of that name: a page of another port may have set a second one."""
        pairs = [part.strip().partition("=") for part in ";".join(self.all("cookie")).split(";")]
        return [value for key, _, value in pairs if key == name]


def _same(given: str, right: str) -> bool:
    """True for equal texts; how long that takes tells nothing of where they differ."""
    return secrets.compare_digest(given.encode(), right.encode())


async def _answer(send: Send, status: int, body: bytes, headers: dict[str, str]) -> None:
    """Answer a request without the app behind."""
    given = {**headers, "content-type": "text/plain", "content-length": str(len(body))}
    pairs = [(name.encode(), value.encode()) for name, value in given.items()]
    await send({"type": "http.response.start", "status": status, "headers": pairs})
    await send({"type": "http.response.body", "body": body})


async def _refuse(scope: Message, send: Send) -> None:
    """Refuse a request with one line, a websocket before it is accepted."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
    else:
        await _answer(send, 403, REFUSED, {})
