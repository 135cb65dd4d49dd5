"""A page of the table at which somebody sits, for tests: its folder, its workers and what makes its
pages are made up. Workers keep what is asked of them and answer what the test has them answer.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import Any

import pytest
from page_alone import Tab

from ringstep.language.source import Refused
from ringstep.table import page as pages
from ringstep.table.files import Draft, Made, Opened
from ringstep.table.page import Behind, Page
from ringstep.table.ring_data import RingData, Step

TEXT = 'weave "It"\nstart:\n  close A\n'
OTHER = TEXT + "# more\n"
RINGS = RingData((Step(1, 3, 3, "start", "close A"), Step(2, 5, 5, "unit 1", "add A")), True)


class Worker:
    """A worker that answers what it is told to."""

    made: list[Worker]

    def __init__(self, command: Sequence[str], heard: Any) -> None:
        self.command, self.heard = command, heard
        self.asked: list[dict[str, Any]] = []
        self.dropped = self.stopped = 0
        Worker.made.append(self)

    def ask(self, **question: Any) -> None:
        self.asked.append(question)

    def drop(self) -> None:
        self.dropped += 1

    def stop(self) -> None:
        self.stopped += 1

    async def answer(self, **answer: Any) -> None:
        """Answer the newest question, from a thread as a worker does."""
        await asyncio.to_thread(self.heard, self.asked[-1], answer)
        await asyncio.sleep(0)


class Files:
    """A folder with two recipes."""

    def __init__(self) -> None:
        self.there = {"It.weave": TEXT, "another one.weave": OTHER}
        self.kept: Draft | None = None
        self.drafts: list[str | None] = []  # those kept, None where one was dropped
        self.saved: list[tuple[str, str, bytes | None, bool]] = []
        self.fault: Refused | None = None

    def recipes(self) -> list[str]:
        return list(self.there)

    def opened(self, name: str) -> Opened:
        self.refuse()
        return Opened(self.there[name], self.there[name].encode())

    def save(self, name: str, text: str, seen: bytes | None, over: bool = False) -> bytes:
        if not over:
            self.refuse()
        self.saved.append((name, text, seen, over))
        self.there[name] = text
        return text.encode()

    def refuse(self) -> None:
        if self.fault:
            raise self.fault

    def new(self, name: str, text: str) -> str:
        self.there[name] = text
        return name

    def draft(self, name: str) -> Draft | None:
        return self.kept if name == "It.weave" else None

    def keep_draft(self, name: str, text: str) -> None:
        self.refuse()
        assert name == "It.weave"
        self.drafts.append(text)

    def drop_draft(self, name: str) -> None:
        assert name == "It.weave"
        self.drafts.append(None)


class Papers:
    """Makes pages of nothing."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, Any]] = []
        self.before: list[str] = []

    async def handout(self, name: str, wishes: Any) -> Made:
        self.asked.append((name, wishes))
        return Made("It-handout.html", "made")

    async def slip(self, name: str, wish: Any) -> Made:
        self.asked.append((name, wish))
        return Made("It-slip.html", "made")

    def made_of(self, recipe: str) -> list[str]:
        return self.before if recipe == "It.weave" else []

    def read(self, name: str) -> bytes:
        raise Refused("none")


class Sat:
    """A page of a recipe, somebody at it."""

    def __init__(
        self, files: Files | None = None, papers: Papers | None = None, name: str = "It.weave",
        opened: Opened | None = None,
    ) -> None:  # fmt: skip
        self.files, self.papers, self.tab = files or Files(), papers or Papers(), Tab()
        Worker.made = []
        behind = Behind(self.files, self.papers, ["start", "it"])
        with self.tab.client:
            self.page = Page(behind, name, opened or Opened(TEXT, TEXT.encode()))
        self.words, self.rings = Worker.made

    async def begin(self) -> Sat:
        await self.tab.meet("connect")
        return self

    @property
    def state(self) -> str:
        """Whether it is saved."""
        (label,) = self.tab.all(css="saved")
        return str(label.text)

    @property
    def title(self) -> str:
        """The title of the tab."""
        return [s for s in self.tab.scripts if s.startswith("document.title")][-1][17:]

    @property
    def found(self) -> str:
        """What the checks say of the whole."""
        (label,) = self.tab.all(css="state")
        return str(label.text)

    async def sound(self) -> None:
        """The text is found to have no errors."""
        await self.words.answer(findings=[], sound=True, summary=["30 rings"])


ERROR: dict[str, Any] = {
    "rule": "pick-count", "severity": "error", "message": "it picks up 2", "line": 3, "column": 3,
    "end_line": 3, "end_column": 8, "labels": [], "help": "",
    "mends": [{"says": "as it is", "edits": [
        {"line": 3, "column": 3, "end_line": 3, "end_column": 8, "text": "open"}]}],
}  # fmt: skip


def made_quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers made up, and no waiting for somebody to stop typing."""
    monkeypatch.setattr(pages, "Worker", Worker)
    monkeypatch.setattr(pages, "_CALM", 0.02)
    monkeypatch.setattr(pages, "_STILL", 0.02)
