"""What the guard hands on to the app behind it, and its own answers whole."""

from __future__ import annotations

import asyncio
from typing import Any

from test_guard import COOKIE, HERE, PORT, asked, headers_of, right

from ringstep.table.guard import REFUSED, Guard, Message


def through(scope: Message, *answers: Message) -> tuple[list[Any], list[Message]]:
    """What the app behind is given, and what comes of its answers."""
    given: list[Any] = []
    sent: list[Message] = []

    async def app(*arguments: Any) -> None:
        given.extend(arguments)
        for one in answers:
            await arguments[2](one)

    async def send(message: Message) -> None:
        sent.append(message)

    async def receive() -> Message:
        return {"type": "told"}

    asyncio.run(Guard(app, PORT, "the-key", "the-ticket")(scope, receive, send))
    assert given[0] is scope
    assert asyncio.run(given[1]()) == {"type": "told"}
    return given, sent


HEADERS = [(k.title().encode(), str(v).encode()) for k, v in right("http").items()]


def test_the_app_behind_gets_what_was_sent_and_what_comes() -> None:
    scope = {"type": "http", "path": "/", "headers": HEADERS}  # without any query
    start = {"type": "http.response.start", "status": 200}
    body = {"type": "http.response.body", "body": b"it"}
    _, sent = through(scope, start, body)
    assert sent[0]["status"] == 200
    assert headers_of(sent[0])["cache-control"] == "no-store", "an answer may have no headers"
    assert sent[1] == body
    assert "headers" not in start, "what the app holds is left as it is"
    own = {**start, "headers": [(b"X-Own", b"kept"), (b"Referrer-Policy", b"unsafe-url")]}
    _, sent = through(scope, own)
    found = headers_of(sent[0])
    assert (found["x-own"], found["referrer-policy"]) == ("kept", "no-referrer")


def test_the_start_of_the_server_is_handed_on_whole() -> None:
    _, sent = through({"type": "lifespan"}, {"type": "lifespan.startup.complete"})
    assert sent == [{"type": "lifespan.startup.complete"}]


def test_a_refusal_is_plain_text_of_its_length() -> None:
    start, body = asked({"host": HERE})[0]
    found = headers_of(start)
    assert found["content-type"] == "text/plain"
    assert found["content-length"] == str(len(REFUSED))
    assert body == {"type": "http.response.body", "body": REFUSED}
    start, body = asked({"host": HERE}, query="key=the-key")[0]
    assert headers_of(start)["content-length"] == "0"
    assert body["body"] == b""


def test_only_the_key_is_taken_out_of_the_address() -> None:
    found = headers_of(asked({"host": HERE}, query="file=a%20b&empty=&key=the-key")[0][0])
    assert found["location"] == "/?file=a+b&empty="
    assert asked({**right("http"), "cookie": f"{COOKIE}=the-ticket"}, query="file=a")[1]


def test_cookies_may_come_in_several_lines() -> None:
    assert asked({**right("http"), "cookie": ["a=b", f"c=d;  {COOKIE}=the-ticket ; e"]})[1]


def test_a_browser_may_say_twice_that_it_is_from_here() -> None:
    assert asked({**right("http"), "sec-fetch-site": ["same-origin", "none"]})[1]
    assert not asked({**right("http"), "sec-fetch-site": ["none", "same-site"]})[1]
