"""A page of the table without a browser: what it shows is read, what it is pressed or told is done.

What would be sent to a browser is kept: `scripts` are those it was to run, `notes` what it was to
tell for a while.
"""

from __future__ import annotations

import asyncio
import functools
from collections.abc import Callable, Coroutine, Iterator
from types import SimpleNamespace
from typing import Any

from nicegui import Client, core, ui
from nicegui.page import page


def alone(test: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., None]:
    """A test that runs in a loop of its own, as a page does."""

    @functools.wraps(test)
    def run(*args: Any, **named: Any) -> None:
        async def whole() -> None:
            core.loop = asyncio.get_running_loop()
            try:
                await test(*args, **named)
            finally:
                core.loop = None

        asyncio.run(whole())

    return run


class _Answer:
    """What comes of a script: nothing where nobody waits for it."""

    def __init__(self, value: object) -> None:
        self._value = value

    def __await__(self) -> Iterator[None]:
        yield from asyncio.sleep(0).__await__()
        return self._value  # type: ignore[return-value]


class Tab:
    """A tab that nobody looks at. answer: what its browser answers to every script."""

    def __init__(self, answer: object = True) -> None:
        self.scripts: list[str] = []
        self.notes: list[dict[str, Any]] = []
        self.waits: list[float] = []
        self.client = Client(page("/alone"))
        self.answer = answer
        self.client.run_javascript = self._ran  # type: ignore[method-assign, assignment]
        outbox = self.client.outbox
        outbox.stop()
        self.client.outbox = SimpleNamespace(  # type: ignore[assignment]
            enqueue_message=self._sent, enqueue_update=lambda _: None,
            enqueue_delete=lambda _: None, stop=lambda: None,
        )  # fmt: skip

    def _ran(self, script: str, *, timeout: float = 1.0) -> _Answer:
        self.scripts.append(script)
        self.waits.append(timeout)
        return _Answer(self.answer)

    def _sent(self, kind: str, data: Any, _: str) -> None:
        if kind == "notify":
            self.notes.append(data)

    # -- what is there ---------------------------------------------------------------------------

    def all(self, kind: type[ui.element] = ui.element, css: str = "") -> list[Any]:
        """Everything of a kind, and of a class, in the order in which it was made."""
        there = [e for _, e in sorted(self.client.elements.items())]
        return [e for e in there if isinstance(e, kind) and (not css or css in e.classes)]

    def words(self, css: str = "") -> list[str]:
        """The labels that are there and say something."""
        return [e.text for e in self.all(ui.label, css) if e.text and shown(e)]

    def button(self, words: str) -> ui.button:
        """The button of that name; fails where there is none."""
        return next(e for e in self.all(ui.button) if e.text == words)

    def press(self, words: str) -> None:
        """Press a button."""
        do(self.button(words), "click")


def shown(element: ui.element) -> bool:
    """True where neither it nor what it lies in is hidden."""
    slot = element.parent_slot
    return element.visible and (slot is None or shown(slot.parent))


def do(element: ui.element, kind: str, args: Any = None) -> None:
    """What its browser would tell of an element."""
    for listener in list(element._event_listeners.values()):
        if listener.type.partition(".")[0] == kind:
            element._handle_event({"listener_id": listener.id, "args": args})
