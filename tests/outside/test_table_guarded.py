"""The table towards everything else on the machine: other pages, other names, other folders.

The pages from elsewhere are served by another server of the same machine, which a browser takes for
the same site, so that the cookie goes along: each attempt meets the guard alone. Every attempt is
made from the table's own page as well, where it must come through.
"""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from at_the_table import Browser, Table, until
from conftest import CHAIN

from ringstep.table.guard import REFUSED


class _Elsewhere(BaseHTTPRequestHandler):
    """An empty page."""

    def do_GET(self) -> None:
        body = b"<!doctype html><title>elsewhere</title><body>elsewhere"
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Says nothing."""


@pytest.fixture(scope="module")
def elsewhere() -> Iterator[int]:
    """The port of a server of somebody else on this machine."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Elsewhere)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.server_port
    server.shutdown()


#: Scripts that give 'in' or 'out'. `at` is where the table is served, `ws` the same for websockets.
_SAYS = "const say = arguments[0]; const at = {at!r}, ws = {ws!r}; "
ATTEMPTS = {
    "fetch": "fetch(at + '/').then((a) => say(a.ok ? 'in' : 'out'), () => say('out'))",
    "fetch with the cookie": (
        "fetch(at + '/', {credentials: 'include'})"
        ".then((a) => say(a.ok ? 'in' : 'out'), () => say('out'))"
    ),
    "fetch that posts": (
        "fetch(at + '/ask/hover', {method: 'POST', credentials: 'include',"
        " body: JSON.stringify({text: 'unit:', at: 1})})"
        ".then((a) => say(a.ok ? 'in' : 'out'), () => say('out'))"
    ),
    "picture": (
        "const one = new Image(); one.onload = () => say('in'); one.onerror = () => say('out');"
        " one.src = at + '/favicon.ico?' + Math.random(); document.body.append(one)"
    ),
    "script": (
        "const one = document.createElement('script'); one.onload = () => say('in');"
        " one.onerror = () => say('out'); one.src = at + SCRIPT; document.body.append(one)"
    ),
    "websocket": (
        "const one = new WebSocket(ws + '/_nicegui_ws/socket.io/?EIO=4&transport=websocket');"
        " one.onopen = () => { one.close(); say('in'); }; one.onerror = () => say('out')"
    ),
}


def attempt(browser: Browser, table: Table, how: str, host: str = "127.0.0.1") -> str:
    """Try to reach the table from the page that is open now."""
    at = f"{host}:{table.port}"
    script = ATTEMPTS[how].replace("SCRIPT", repr(_SCRIPTS[0]) if _SCRIPTS else "'/none.js'")
    words = _SAYS.format(at=f"http://{at}", ws=f"ws://{at}") + script
    return str(browser.driver.execute_async_script(words))


_SCRIPTS: list[str] = []  # the path of a script of the table, seen in its own page


@pytest.fixture
def own_page(browser: Browser, table: Table) -> None:
    """The table's own page is open, so that the browser has the cookie."""
    browser.open(table, "first.weave")
    browser.driver.set_script_timeout(15)
    if not _SCRIPTS:
        found = browser.js("return document.querySelector('script[src*=socket]').src")
        _SCRIPTS.append(urlsplit(found).path)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
@pytest.mark.parametrize("how", ATTEMPTS)
def test_a_page_from_elsewhere_stays_out(
    browser: Browser, table: Table, elsewhere: int, own_page: None, how: str, host: str
) -> None:
    assert attempt(browser, table, how) == "in"  # the attempt itself works
    browser.driver.get(f"http://{host}:{elsewhere}/")
    browser.answers(table.port)  # those of its own page
    for to in ("127.0.0.1", "localhost"):
        assert attempt(browser, table, how, to) == "out"
    # a browser keeps some answers from a page, but the question must not have been heard either
    if how != "websocket":  # which would have been told as open
        answers: list[int] = []
        until(
            "both answers", lambda: answers.extend(browser.answers(table.port)) or len(answers) > 1
        )
        assert answers == [403, 403]


def test_no_page_from_elsewhere_frames_it(
    browser: Browser, table: Table, elsewhere: int, own_page: None
) -> None:
    browser.driver.get(f"http://127.0.0.1:{elsewhere}/")
    browser.answers(table.port)
    browser.js(
        "const one = document.createElement('iframe'); one.src = arguments[0];"
        "document.body.append(one)", f"http://127.0.0.1:{table.port}/")  # fmt: skip
    answers: list[int] = []
    until("the answer", lambda: answers.extend(browser.answers(table.port)) or answers)
    assert answers == [403]


@pytest.mark.parametrize("way", ["post", "get", "link"])
def test_no_page_from_elsewhere_leads_into_it(
    browser: Browser, table: Table, elsewhere: int, own_page: None, way: str
) -> None:
    browser.driver.get(f"http://127.0.0.1:{elsewhere}/")
    at = f"http://127.0.0.1:{table.port}/ask/hover" if way == "post" else (
        f"http://127.0.0.1:{table.port}/?file=first.weave")  # fmt: skip
    browser.js(
        "const [at, way] = arguments; let one;"
        "if (way === 'link') { one = document.createElement('a'); one.href = at; }"
        "else { one = document.createElement('form'); one.action = at; one.method = way;"
        " one.enctype = 'text/plain'; }"
        "document.body.append(one); way === 'link' ? one.click() : one.submit()",
        at, way)  # fmt: skip
    browser.reads(REFUSED.decode().strip())
    assert not browser.all(".recipe")


def test_the_key_is_not_left_anywhere(browser: Browser, table: Table, own_page: None) -> None:
    key = table.address.partition("key=")[2]
    browser.driver.get(table.address)
    browser.ready()
    assert key not in browser.driver.current_url
    assert key not in browser.driver.page_source
    assert browser.js("return document.cookie") == ""  # no script sees the cookie
    browser.driver.get(table.address[:-1] + ("a" if table.address[-1] != "a" else "b"))
    browser.reads(REFUSED.decode().strip())


# -- without a browser ---------------------------------------------------------------------------


def asked(table: Table, path: str = "/", **headers: str) -> tuple[int, str]:
    """The answer to a bare request."""
    line = http.client.HTTPConnection("127.0.0.1", table.port, timeout=10)
    line.putrequest("GET", path, skip_host=True)
    for name, value in {"Host": f"127.0.0.1:{table.port}", **headers}.items():
        line.putheader(name.replace("_", "-"), value)
    line.endheaders()
    answer = line.getresponse()
    return answer.status, answer.read().decode()


def cookie_of(browser: Browser, table: Table) -> str:
    """The cookie as the browser sends it."""
    found = next(c for c in browser.driver.get_cookies() if str(table.port) in c["name"])
    assert (found["httpOnly"], found["sameSite"], found["path"]) == (True, "Strict", "/")
    return f"{found['name']}={found['value']}"


def test_each_rule_of_the_guard_holds(browser: Browser, table: Table, own_page: None) -> None:
    cookie = cookie_of(browser, table)
    assert asked(table, Cookie=cookie)[0] == 200
    for wrong in (
        {"Cookie": ""},
        {"Cookie": cookie[:-1]},
        {"Cookie": cookie, "Host": f"evil.example:{table.port}"},
        {"Cookie": cookie, "Origin": "http://evil.example"},
        {"Cookie": cookie, "Origin": "null"},
        {"Cookie": cookie, "Sec_Fetch_Site": "cross-site"},
        {"Cookie": cookie, "Sec_Fetch_Site": "same-site"},
    ):
        assert asked(table, **wrong) == (403, REFUSED.decode()), wrong


def test_only_this_machine_is_served(table: Table) -> None:
    """The port is bound to 127.0.0.1 alone, as the system tells it."""
    for proto in ("tcp", "tcp6"):
        rows = Path(f"/proc/net/{proto}").read_text(encoding="utf-8").splitlines()[1:]
        local = [row.split()[1] for row in rows if row.split()[3] == "0A"]  # listening
        ours = [one for one in local if int(one.rpartition(":")[2], 16) == table.port]
        assert ours == (["0100007F:" + f"{table.port:04X}"] if proto == "tcp" else [])


# -- nothing outside the folder ------------------------------------------------------------------

SECRET = "# not for this table"


@pytest.fixture
def secret(table: Table) -> Iterator[Path]:
    """A recipe outside the folder, and a link in it that leads there."""
    path, link = table.folder.parent / "secret.weave", table.path("link.weave")
    path.write_text(CHAIN + SECRET, encoding="utf-8")
    link.symlink_to(path)
    yield path
    link.unlink()
    assert path.read_text(encoding="utf-8") == CHAIN + SECRET


@pytest.mark.parametrize(
    "name",
    ["../secret.weave", "..\\secret.weave", "link.weave", "ABSOLUTE", "./../secret.weave",
     "C:\\secret.weave", "CON.weave", "secret.weave\0", ".first.weave.draft", "..", "notes.txt"],
)  # fmt: skip
def test_names_in_the_address_lead_nowhere(
    browser: Browser, table: Table, own_page: None, secret: Path, name: str
) -> None:
    before = sorted(table.folder.parent.rglob("*"))
    name = str(secret) if name == "ABSOLUTE" else name
    at = f"http://127.0.0.1:{table.port}"
    browser.driver.get(f"{at}/?file={quote(name, safe='')}")
    until("words", lambda: len(browser.words()) > 10)
    assert SECRET not in browser.words()
    assert not browser.all(".recipe")
    assert "Back to the recipe" in browser.words()
    for way in (f"/made/{quote(name, safe='')}", f"/made/{name}", f"/{quote(name)}"):
        try:
            status, told = asked(table, way, Cookie=cookie_of(browser, table))
        except (ValueError, http.client.InvalidURL):
            continue  # no request can be made of it
        assert (status, SECRET in told) == (404, False)
    assert sorted(table.folder.parent.rglob("*")) == before


def test_a_file_of_the_folder_that_was_not_made_here_is_not_shown(
    browser: Browser, table: Table, own_page: None
) -> None:
    table.path("evil.html").write_text(
        '<meta name="generator" content="ringstep 1"><script>x</script>', encoding="utf-8"
    )
    cookie = cookie_of(browser, table)
    for name in ("evil.html", "first.weave"):
        assert asked(table, f"/made/{name}", Cookie=cookie)[0] == 404


# -- nothing is fetched from elsewhere -----------------------------------------------------------


def test_no_request_leaves_this_machine(browser: Browser, table: Table, own_page: None) -> None:
    """Everything that was asked for since the browser was opened, in all tests before."""
    browser.log()
    assert len(browser.asked) > 20
    hosts = {
        urlsplit(url).hostname for url in browser.asked if not url.startswith(("data:", "blob:"))
    }
    assert hosts <= {"127.0.0.1", "localhost"}
