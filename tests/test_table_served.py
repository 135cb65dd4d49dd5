"""What the server of the page answers, how it is begun, and the page of words."""

from __future__ import annotations

import asyncio
import socket
from collections import defaultdict
from html.parser import HTMLParser
from types import SimpleNamespace
from typing import Any

import pytest
from fastapi import FastAPI
from httpx import ASGITransport, AsyncClient, Response
from page_made_up import TEXT, Files, Papers

from ringstep.language.shipped import shipped_text
from ringstep.language.source import Refused
from ringstep.language.words_page import words_page
from ringstep.table import serve as serving
from ringstep.table.files import Opened
from ringstep.table.guard import Guard
from ringstep.table.page import Behind
from ringstep.table.words_sheet import words_sheet

# -- the page of words -----------------------------------------------------------------------------


class Read(HTMLParser):
    """The texts of a page by their element, and its tables row by row."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.within: list[str] = []
        self.texts: dict[str, list[str]] = defaultdict(list)
        self.rows: list[list[str]] = []
        self.order: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag != "meta":
            self.within.append(tag)
            self.texts[tag].append("")
            self.order.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.within.pop() == tag

    def handle_data(self, data: str) -> None:
        for tag in self.within:
            self.texts[tag][-1] += data
        if {"th", "td"} & set(self.within):
            self.rows[-1][-1] += data


def test_the_page_of_words_tells_every_word_under_its_heading() -> None:
    page = Read(words_sheet())
    assert page.within == []
    assert page.texts["title"] == page.texts["h1"] == ["The words of a recipe"]
    assert page.texts["h2"][:2] == ["The title", "Headings"]
    words = words_page()[0]
    assert page.texts["h2"] == [
        t.replace("`", "'") for t in dict.fromkeys(w.section for w in words)
    ]
    assert "`" not in "".join(page.texts["h2"])
    heads = [row for row in page.rows if row == ["words", "a line", "what they mean"]]
    assert len(heads) == len(page.texts["h2"]) == len(page.texts["table"])
    rows = [row for row in page.rows if row not in heads]
    assert rows == [[w.phrase, w.example, w.sentence] for w in words]
    assert page.texts["strong"] == [w.phrase for w in words]
    assert page.texts["code"] == [w.example for w in words]


def test_the_page_of_words_begins_with_an_example() -> None:
    page = Read(words_sheet())
    assert page.texts["pre"] == [shipped_text("simple_chain")]
    assert page.texts["p"][0].startswith("A recipe is read aloud: one thing a line.")
    parts = [tag for tag in page.order if tag in ("h1", "p", "pre", "h2", "table")]
    assert parts[:5] == ["h1", "p", "pre", "h2", "table"]
    # a long line of the example is broken on a phone
    assert page.texts["style"][0].rstrip().endswith("pre { white-space: pre-wrap; }")


# -- answers ---------------------------------------------------------------------------------------


class Made(Papers):
    def read(self, name: str) -> bytes:
        if name != "It-slip.html":
            raise Refused("no such page\x1b was made here")
        return "<p>7 °</p>".encode()


class Client:
    """A browser that only asks."""

    def __init__(self, web: FastAPI) -> None:
        self.web = web

    def ask(self, method: str, path: str, **given: Any) -> Response:
        async def asked() -> Response:
            transport = ASGITransport(app=self.web)
            async with AsyncClient(transport=transport, base_url="http://here") as client:
                return await client.request(method, path, **given)

        return asyncio.run(asked())

    def get(self, path: str) -> Response:
        return self.ask("GET", path)


@pytest.fixture
def client() -> Client:
    web = FastAPI(openapi_url=None)
    serving._answers(web, Behind(Files(), Made(), []))
    return Client(web)


def test_pages_that_were_made_are_given(client: Client) -> None:
    page = client.get("/made/It-slip.html")
    assert (page.status_code, page.text) == (200, "<p>7 °</p>")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    none = client.get("/made/other.html")
    assert (none.status_code, none.text) == (404, "no such page␛ was made here")
    assert none.headers["content-type"] == "text/plain; charset=utf-8"
    words = client.get("/words")
    assert (words.status_code, words.text) == (200, words_sheet())
    assert words.headers["content-type"] == "text/html; charset=utf-8"


CLIPS = "\N{LINKED PAPERCLIPS}"  # one letter, and two to a browser
RECIPE = f'weave "{CLIPS}"\nstart:\n  close A\nunit:\n  add {CLIPS} through prev A\n'


def asked(client: Client, about: str, at: int, text: str = RECIPE) -> Any:
    answer = client.ask("POST", f"/ask/{about}", json={"text": text, "at": at})
    assert answer.status_code == 200
    return answer.json()


def units(words: str, text: str = RECIPE) -> int:
    """Where some words begin as a browser counts."""
    return len(text[: text.index(words)].encode("utf-16-le")) // 2


def test_what_stands_at_a_place_is_told_as_a_browser_counts(client: Client) -> None:
    told = asked(client, "hover", units("through") + 2)
    assert (told["from"], told["to"]) == (units("through"), units("through") + 7)
    assert told["words"].split("\n")[0] == "through: the rings that the new one goes through."
    ring = asked(client, "hover", units(f"{CLIPS} through"))
    assert (ring["from"], ring["to"]) == (units(f"{CLIPS} through"), units(" through"))
    first = asked(client, "hover", 0)
    assert (first["from"], first["to"]) == (0, 5)
    assert asked(client, "hover", units("unit:"))["from"] == units("unit:"), "where a line begins"
    assert asked(client, "hover", units(CLIPS)) is None


def test_what_may_be_typed_is_offered_as_a_browser_counts(client: Client) -> None:
    text = RECIPE.replace("through prev A", "through pr")
    at = units("through pr", text) + 10
    told = asked(client, "completions", at, text)
    assert told["from"] == at - 2
    assert [one["label"] for one in told["options"]] == ["prev A", f"prev {CLIPS}", "prev"]
    assert told["options"][0]["apply"] == "prev A"
    assert told["options"][0]["detail"] == "the ring of the unit before"
    assert asked(client, "completions", units("It", RECIPE.replace(CLIPS, "It")) + 1) is None


# -- the page and the server -----------------------------------------------------------------------


class Shown:
    """What `ui` would show."""

    def __init__(self) -> None:
        self.paths: dict[str, Any] = {}
        self.head: list[str] = []
        self.told: list[tuple[str, ...]] = []
        self.served: list[tuple[Any, dict[str, Any]]] = []

    def page(self, path: str) -> Any:
        return lambda function: self.paths.setdefault(path, function)

    def add_head_html(self, text: str) -> None:
        self.head.append(text)

    def colors(self, **_: str) -> None:
        pass

    def label(self, *words: str) -> None:
        self.told.append(words)

    def link(self, *words: str) -> None:
        self.told.append(words)

    def run_with(self, web: Any, **given: Any) -> None:
        self.served.append((web, given))


def test_the_page_opens_the_recipe_that_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    shown, pages = Shown(), list[tuple[Any, str, Opened]]()
    monkeypatch.setattr(serving, "ui", shown)
    monkeypatch.setattr(serving, "Page", lambda *given: pages.append(given))
    files = Files()
    behind = Behind(files, Papers(), [])
    serving._page(behind, "It.weave")
    page = shown.paths["/"]
    page()
    page("another one.weave")
    assert [(at, name, opened.text) for at, name, opened in pages] == [
        (behind, "It.weave", TEXT), (behind, "another one.weave", TEXT + "# more\n"),
    ]  # fmt: skip
    assert [h[:7] for h in shown.head[:2]] == ["<style>", "<script"]
    assert "window.table" in shown.head[1]
    files.fault = Refused("it is no recipe\x1b")
    page()
    assert shown.told[0] == ("it is no recipe␛",)
    assert shown.told[1][1] == "/"


@pytest.mark.parametrize("port", [0, None])
def test_the_table_is_served_on_this_machine_alone(
    monkeypatch: pytest.MonkeyPatch, port: int | None
) -> None:
    if port is None:  # one that was just free
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = int(free.getsockname()[1])
    shown, starts, begun, run = Shown(), list[Any](), list[str](), list[Any]()
    monkeypatch.setattr(serving, "ui", shown)
    monkeypatch.setattr(serving, "pages", SimpleNamespace(on_startup=starts.append))
    given: list[Any] = []

    class Server:
        def __init__(self, config: Any) -> None:
            given.append(config)

        def run(self, sockets: list[socket.socket]) -> None:
            (one,) = sockets
            run.append((one.getsockname(), one.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR)))
            for start in starts:
                start()

    monkeypatch.setattr(serving.uvicorn, "Server", Server)
    behind = Behind(Files(), Made(), [])
    if port:
        serving.serve(behind, "It.weave", begun.append, port)
    else:
        serving.serve(behind, "It.weave", begun.append)
    (((host, at), again),) = run
    assert (host, again) == ("127.0.0.1", 1)
    assert at == port or port == 0
    (config,) = given
    guard = config.app
    assert isinstance(guard, Guard)
    assert guard.port == at
    assert begun == [guard.address]
    assert config.timeout_graceful_shutdown == 1, "Ctrl-C ends it soon"
    ((web, told),) = shown.served
    assert guard.app is web
    assert web.openapi_url is None
    assert Client(web).get("/made/It-slip.html").status_code == 200
    assert told["reconnect_timeout"] >= 60, "a laptop that was asleep finds its page again"
    assert (told["show_welcome_message"], told["tailwind"]) == (False, False)
    assert told["favicon"].startswith("<svg")
    assert told["title"] == "ringstep"
    opened: list[Any] = []
    monkeypatch.setattr(serving, "Page", lambda *page: opened.append(page))
    shown.paths["/"]()
    assert opened[0][:2] == (behind, "It.weave")


def test_a_port_that_is_not_free_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "ui", Shown())
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OSError, match="in use"):
            serving.serve(Behind(Files(), Made(), []), "It.weave", print, taken.getsockname()[1])
