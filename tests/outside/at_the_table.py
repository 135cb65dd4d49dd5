"""A table that is served and a browser that sits at it, for the tests of the page.

Needs chromium and chromedriver from the system's packages and the extras `table` and `test`; where
one is missing the tests fail, they never skip.
"""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote, urlsplit

from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement

Found = TypeVar("Found")
ROOT = Path(__file__).resolve().parents[2]
_EDITOR = "getElement(+document.querySelector('.recipe').id.slice(1)).editor"


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


def until(what: str, look: Callable[[], Found], seconds: float = 15) -> Found:
    """What `look` gives as soon as that is true; fails with `what` where it never is."""
    end, seen = time.monotonic() + seconds, None
    while time.monotonic() < end:
        try:
            if seen := look():
                return seen
        except WebDriverException as fault:  # what was looked at is drawn anew
            seen = type(fault).__name__  # type: ignore[assignment]
        time.sleep(0.03)
    raise AssertionError(f"not within {seconds} s: {what} (last seen: {seen!r})")


class Table:
    """`ringstep table` as its own process, on one folder."""

    def __init__(self, folder: Path, name: str) -> None:
        self.folder, self.name, self.port = folder, name, free_port()
        self.start()

    def start(self) -> None:
        """Serve; the port is the same every time."""
        command = [sys.executable, "-m", "ringstep", "table", self.name, "--no-browser",
                   "--port", str(self.port)]  # fmt: skip
        self.process = subprocess.Popen(
            command,
            cwd=self.folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            env={**os.environ, "RINGSTEP_CACHE": str(self.folder.parent / "cache")},
        )
        assert self.process.stdout is not None
        said = ""
        for line in self.process.stdout:
            said += line
            if found := re.search(r"http://127\.0\.0\.1:\d+/\?key=\S+", line):
                self.address = found[0]
                return
        raise AssertionError(f"the table was not served:\n{said}")

    def stop(self, how: int = signal.SIGINT) -> str:
        """End it; gives what it said since the address."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        try:
            return self.process.communicate(timeout=15)[0]
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.communicate()
            raise AssertionError("the table did not end within 15 s") from None

    def path(self, name: str) -> Path:
        """A file in its folder."""
        return self.folder / name


class Browser:
    """Chromium, with what a maker sees and does at the page."""

    def __init__(self) -> None:
        options = Options()
        for word in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage",
                     "--enable-unsafe-swiftshader", "--window-size=1280,900",
                     "--disable-background-networking", "--no-first-run"):  # fmt: skip
            options.add_argument(word)
        options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
        service = Service("/usr/bin/chromedriver")
        self.driver = webdriver.Chrome(options=options, service=service)
        self.asked: list[str] = []  # every address that a page asked for
        self._addresses: dict[str, str] = {}  # by the number of the request
        self._answers: dict[str, int] = {}  # the same for the kind of answer, as in 403

    # -- going somewhere -------------------------------------------------------------------------

    def sit_down(self, table: Table, name: str = "") -> None:
        """Open the first address, then a recipe."""
        self.driver.get(table.address)
        if name:
            self.open(table, name)
        else:
            self.ready()

    def open(self, table: Table, name: str) -> None:
        """Open a recipe of a table at which one sits."""
        self.driver.get(f"http://127.0.0.1:{table.port}/?file={quote(name)}")
        self.ready()

    def ready(self) -> None:
        """Wait until the page can be typed into."""
        until("the page is there", lambda: self.js(f"return !!({_EDITOR} && table.begun !== 0)"))
        until("the cursor stands in the text", lambda: self.js(
            "return document.activeElement.classList.contains('cm-content')"))  # fmt: skip

    def log(self) -> None:
        """Take in what the pages asked for since."""
        for entry in self.driver.get_log("performance"):
            told = json.loads(entry["message"])["message"]
            about = told.get("params", {})
            if told["method"] == "Network.requestWillBeSent":
                self.asked.append(about["request"]["url"])
                self._addresses[about["requestId"]] = about["request"]["url"]
            elif told["method"] == "Network.webSocketCreated":
                self.asked.append(about["url"])
            elif told["method"] == "Network.responseReceivedExtraInfo":  # unread answers as well
                self._answers[about["requestId"]] = about["statusCode"]
            elif told["method"] == "Network.responseReceived":
                self._answers[about["requestId"]] = about["response"]["status"]

    def answers(self, port: int) -> list[int]:
        """The kinds of answers that came from a port since they were asked for last."""
        self.log()
        found = [n for n in self._answers if n in self._addresses]
        told = [(self._addresses[n], self._answers.pop(n)) for n in found]
        return [status for url, status in told if urlsplit(url).port == port]

    # -- looking ---------------------------------------------------------------------------------

    def js(self, words: str, *given: object) -> Any:
        """Run a script in the page."""
        return self.driver.execute_script(words, *given)

    @property
    def text(self) -> str:
        """What stands in the editor."""
        return str(self.js(f"return {_EDITOR}.state.doc.toString()"))

    @property
    def line(self) -> int:
        """The line of the cursor."""
        return int(self.js(
            f"const s = {_EDITOR}.state; return s.doc.lineAt(s.selection.main.head).number"
        ))  # fmt: skip

    def all(self, css: str) -> list[WebElement]:
        """Everything of a kind that is there."""
        return self.driver.find_elements(By.CSS_SELECTOR, css)

    def words(self, css: str = "body") -> str:
        """What can be read there."""
        return "\n".join(one.text for one in self.all(css))

    def reads(self, words: str, css: str = "body", seconds: float = 15) -> None:
        """Wait until some words can be read."""
        until(f"'{words}' in {css}", lambda: words in self.words(css), seconds)

    def button(self, name: str) -> WebElement:
        """The button, link, tab or menu item of that name that can be seen."""

        def named() -> WebElement | None:
            for one in self.all("button, a, [role=tab], .q-item, [role=button], .q-tab"):
                if one.is_displayed() and one.text.strip().casefold() == name.casefold():
                    return one
            return None

        found = until(f"a button '{name}'", named)
        assert found is not None
        return found

    # -- doing -----------------------------------------------------------------------------------

    def press(self, name: str) -> None:
        """Press a button."""
        until(f"'{name}' can be pressed", lambda: [self.button(name).click()])

    def keys(self, *keys: str, every: float = 0) -> None:
        """Press keys one after another. every: seconds between them."""
        actions = ActionChains(self.driver, duration=0)
        for key in keys:
            actions.send_keys(key)
            if every:
                actions.pause(every)
        actions.perform()

    def with_control(self, key: str, shift: bool = False) -> None:
        """Press a key together with Ctrl."""
        held = [Keys.CONTROL, *([Keys.SHIFT] if shift else [])]
        actions = ActionChains(self.driver, duration=0)
        for one in held:
            actions.key_down(one)
        actions.send_keys(key)
        for one in reversed(held):
            actions.key_up(one)
        actions.perform()

    def go_to(self, line: int, column: int | None = None) -> None:
        """Put the cursor there, at the end of the line where no column is named."""
        at = "at.to" if column is None else f"at.from + {column - 1}"
        self.js(
            f"const e = {_EDITOR}, at = e.state.doc.line({line});"
            f"e.dispatch({{selection: {{anchor: {at}}}, scrollIntoView: true}}); e.focus()"
        )

    def paste(self, text: str) -> None:
        """Put a whole text in place of what stands there, as one change of the maker's."""
        self.js(f"const e = {_EDITOR}; e.dispatch({{changes: {{from: 0, to: e.state.doc.length,"
                " insert: arguments[0]}, userEvent: 'input.paste'}); e.focus()", text)  # fmt: skip

    def is_clean(self) -> None:
        """Wait until the text as it stands is said to check clean."""
        self.reads("checks clean", ".state")
