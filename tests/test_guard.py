"""The guard before the table: each rule of it alone, with all else right."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

import pytest

from ringstep.table.guard import REFUSED, Guard, Message

PORT = 8123
HERE = f"127.0.0.1:{PORT}"
COOKIE = f"ringstep-table-{PORT}"
Headers = Mapping[str, str | list[str]]


class Behind:
    """The app behind the guard: keeps what came through."""

    def __init__(self) -> None:
        self.seen: list[str] = []

    async def __call__(self, scope: Message, receive: Any, send: Any) -> None:
        self.seen.append(scope["type"])
        if scope["type"] == "http":
            headers = [(b"Cache-Control", b"public"), (b"x-own", b"kept")]
            await send({"type": "http.response.start", "status": 200, "headers": headers})
            await send({"type": "http.response.body", "body": b"the table"})
        elif scope["type"] == "websocket":
            await send({"type": "websocket.accept"})


BEHIND = Behind()
GUARD = Guard(BEHIND, PORT, key="the-key", ticket="the-ticket")


def right(kind: str) -> dict[str, str | list[str]]:
    """The headers of a request from the table's own page."""
    return {
        "host": HERE,
        "origin": f"http://{HERE}",
        "cookie": f"{COOKIE}=the-ticket",
        **({"sec-fetch-site": "same-origin"} if kind == "http" else {}),
    }


def asked(
    headers: Headers, kind: str = "http", path: str = "/", query: str = ""
) -> tuple[list[Message], bool]:
    """What the guard answers, and whether the request came through."""
    pairs = [(k, v) for k, vs in headers.items() for v in ([vs] if isinstance(vs, str) else vs)]
    scope = {
        "type": kind,
        "method": "GET",
        "path": path,
        "query_string": query.encode(),
        "headers": [(k.encode(), v.encode("latin-1")) for k, v in pairs],
    }
    answers: list[Message] = []

    async def send(message: Message) -> None:
        answers.append(message)

    async def receive() -> Message:
        raise AssertionError("nothing is read from a request that is refused")

    BEHIND.seen.clear()
    asyncio.run(GUARD(scope, receive, send))
    return answers, BEHIND.seen == [kind]


def headers_of(answer: Message) -> dict[str, str]:
    """The headers of an answer by their small names, each of which stands once."""
    pairs = [(k.decode().lower(), v.decode()) for k, v in answer["headers"]]
    assert len(dict(pairs)) == len(pairs)
    return dict(pairs)


def refused(answers: list[Message], kind: str) -> bool:
    """True for the plain refusal of a request, or of a websocket that was not accepted."""
    if kind == "websocket":
        return answers == [{"type": "websocket.close", "code": 1008}]
    start, body = answers
    told = f"{headers_of(start)}{body['body']}"
    assert "the-key" not in told
    assert "the-ticket" not in told
    return start["status"] == 403 and body["body"] == REFUSED and "set-cookie" not in told


@pytest.mark.parametrize("host", [HERE, f"localhost:{PORT}"])
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_what_comes_from_the_table_comes_through(kind: str, host: str) -> None:
    answers, through = asked({**right(kind), "host": host, "origin": f"http://{host}"}, kind)
    assert through
    assert answers[0]["type"] == ("http.response.start" if kind == "http" else "websocket.accept")


def test_an_address_typed_in_comes_through_with_the_cookie() -> None:
    typed = {"host": HERE, "sec-fetch-site": "none", "cookie": f"a=b; {COOKIE}=the-ticket"}
    assert asked(typed, path="/elsewhere")[1]
    del typed["sec-fetch-site"]  # older browsers say nothing
    assert asked(typed)[1]


WRONG: list[tuple[str, str | list[str]]] = [
    *[("host", host) for host in (
        "", "127.0.0.1", "localhost", f"127.0.0.1:{PORT + 1}", f"evil.example:{PORT}",
        f"127.0.0.1.evil.example:{PORT}", f"{HERE}.evil.example", f"evil.example@{HERE}",
        f"LOCALHOST:{PORT}", f"0.0.0.0:{PORT}", f"[::1]:{PORT}", f" {HERE}", f"127.1:{PORT}",
    )],
    ("host", [HERE, HERE]),
    ("host", [HERE, f"evil.example:{PORT}"]),
    *[("origin", origin) for origin in (
        "", "null", "http://evil.example", f"https://{HERE}", f"http://localhost:{PORT}",
        f"http://127.0.0.1:{PORT + 1}", f"http://{HERE}.evil.example", f"http://{HERE}/", HERE,
    )],
    ("origin", [f"http://{HERE}", "http://evil.example"]),
    *[("cookie", cookie) for cookie in (
        "", COOKIE, f"{COOKIE}=", f"{COOKIE}=the-ticke", f"{COOKIE}=the-ticket2",
        f"{COOKIE}=the-key", f"{COOKIE}=\xe9", f"ringstep-table-{PORT + 1}=the-ticket",
        f"x{COOKIE}=the-ticket", "the-ticket", f'{COOKIE}="the-ticket"',
    )],
    *[("sec-fetch-site", site) for site in ("cross-site", "same-site", "", "Same-Origin")],
    ("sec-fetch-site", ["same-origin", "cross-site"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), WRONG)
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_one_header_wrong(kind: str, name: str, value: str | list[str]) -> None:
    answers, through = asked({**right(kind), name: value}, kind)
    assert not through
    assert refused(answers, kind)


@pytest.mark.parametrize(
    ("kind", "name"),
    [("http", "host"), ("http", "cookie"), ("websocket", "host"), ("websocket", "cookie"),
     ("websocket", "origin")],
)  # fmt: skip
def test_one_header_missing(kind: str, name: str) -> None:
    headers = right(kind)
    del headers[name]
    answers, through = asked(headers, kind)
    assert not through
    assert refused(answers, kind)


@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_a_second_cookie_that_another_port_set_shuts_nobody_out(kind: str) -> None:
    cookies = f"{COOKIE}=evil; {COOKIE}=the-ticket"
    assert asked({**right(kind), "cookie": cookies}, kind)[1]


# -- the key -------------------------------------------------------------------------------------

FIRST: Headers = {"host": HERE, "sec-fetch-site": "none"}


def test_the_key_is_answered_with_a_cookie_and_the_address_without_it() -> None:
    answers, through = asked(FIRST, query="key=the-key")
    assert not through
    assert answers[0]["status"] == 303
    found = headers_of(answers[0])
    assert found["location"] == "/"
    parts = found["set-cookie"].split("; ")
    assert parts[0] == f"{COOKIE}=the-ticket"
    assert set(parts[1:]) == {"HttpOnly", "SameSite=Strict", "Path=/"}
    assert asked({"host": HERE, "cookie": parts[0]})[1]


def test_the_rest_of_the_address_is_kept() -> None:
    found = headers_of(asked(FIRST, query="a=1&key=the-key&b=%0D%0Ax")[0][0])
    assert found["location"] == "/?a=1&b=%0D%0Ax"


def test_the_key_counts_again_where_the_cookie_is_lost() -> None:
    assert [asked(FIRST, query="key=the-key")[0][0]["status"] for _ in "ab"] == [303, 303]


KEYS = ["key=", "key=the-ke", "key=the-key2", "key=the-ticket", "key=%C3%A9", "key=%FF",
        "key=the-key&key=the-key", "key=the-key&key=", "key=x&key=the-key", "KEY=the-key",
        ]  # fmt: skip


@pytest.mark.parametrize("query", KEYS)
def test_a_wrong_key_and_two_keys_are_refused(query: str) -> None:
    answers, through = asked(FIRST, query=query)
    assert not through
    assert refused(answers, "http")


def test_a_wrong_key_is_refused_even_with_the_cookie() -> None:
    answers, through = asked(right("http"), query="key=of-an-earlier-table")
    assert not through
    assert refused(answers, "http")


@pytest.mark.parametrize(
    ("name", "value"),
    [("host", f"evil.example:{PORT}"), ("origin", "null"), ("sec-fetch-site", "cross-site")],
)
def test_the_right_key_opens_nothing_from_elsewhere(name: str, value: str) -> None:
    assert refused(asked({**FIRST, name: value}, query="key=the-key")[0], "http")


def test_the_key_opens_no_other_address_and_no_websocket() -> None:
    for path in ("//evil.example", "/page", "/_nicegui/x"):
        assert refused(asked(FIRST, path=path, query="key=the-key")[0], "http")
    headers = right("websocket")
    del headers["cookie"]
    assert refused(asked(headers, "websocket", query="key=the-key")[0], "websocket")


# -- answers -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("headers", "query"), [(right("http"), ""), (FIRST, "key=the-key"), (FIRST, "")]
)
def test_every_answer_keeps_to_itself(headers: Headers, query: str) -> None:
    found = headers_of(asked(headers, query=query)[0][0])
    assert found["cache-control"] == "no-store"
    assert found["referrer-policy"] == "no-referrer"
    assert found["x-content-type-options"] == "nosniff"
    rules = [rule.split() for rule in found["content-security-policy"].split("; ")]
    policy = {name: sources for name, *sources in rules}
    assert policy["frame-ancestors"] == policy["form-action"] == ["'none'"]
    assert policy["default-src"] == ["'self'"]
    allowed = {source for sources in policy.values() for source in sources}
    assert allowed <= {"'self'", "'none'", "'unsafe-inline'", "'unsafe-eval'", "data:", "blob:",
                       f"ws://{HERE}", f"ws://localhost:{PORT}"}  # fmt: skip


def test_what_the_app_says_itself_is_kept() -> None:
    answers, _ = asked(right("http"))
    assert headers_of(answers[0])["x-own"] == "kept"
    assert answers[1]["body"] == b"the table"


def test_the_start_and_end_of_the_server_pass() -> None:
    assert asked({}, "lifespan")[1]


def test_every_table_has_a_key_and_a_ticket_of_its_own() -> None:
    tables = [Guard(BEHIND, PORT), Guard(BEHIND, PORT), Guard(BEHIND, PORT + 1)]
    assert len({secret for one in tables for secret in (one.key, one.ticket)}) == 6
    assert all(len(one.key) >= 43 for one in tables)  # 32 bytes in letters of 6 bits
    assert len({one.cookie for one in tables}) == 2
    assert tables[0].address == f"http://{HERE}/?key={tables[0].key}"
    assert tables[0].key not in repr(tables[0])
