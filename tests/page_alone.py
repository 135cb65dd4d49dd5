"""A page of the table without a browser: what it shows is read, what it is pressed or told is done.

What would be sent to a browser is kept: `scripts` are those it was to run, `notes` what it was to
tell for a while, `opened` the addresses it was led to.
"""

from __future__ import annotations

import asyncio
import functools
import json
from collections.abc import Callable, Coroutine, Iterator
from types import SimpleNamespace
from typing import Any

from nicegui import Client, core, ui
from nicegui.helpers import expects_arguments
from nicegui.page import page


def alone(test: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., None]:
    """A test that runs in a loop of its own, as a page does. A fault in what is pressed, which a
    server of pages only writes down, is one of the test."""

    @functools.wraps(test)
    def run(*args: Any, **named: Any) -> None:
        async def whole() -> None:
            core.loop = asyncio.get_running_loop()
            faults: list[Exception] = []
            told, core.app._exception_handlers[:] = core.app._exception_handlers[:], [faults.append]
            try:
                await test(*args, **named)
            finally:
                core.loop = None
                core.app._exception_handlers[:] = told
            if faults:
                raise faults[0]

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
        self.opened: list[str] = []
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
        elif kind == "open":
            self.opened.append(data["path"])

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
        """Press the button of that name, the newest of several."""
        do([e for e in self.all(ui.button) if e.text == words][-1], "click")

    # -- the text in it --------------------------------------------------------------------------

    @property
    def editor(self) -> ui.codemirror:
        """The text of the recipe."""
        (found,) = self.all(ui.codemirror)
        return found  # type: ignore[no-any-return]

    def type(self, text: str) -> None:
        """Type: the whole text as it is then."""
        with self.client:
            self.editor.set_value(text)

    def calls(self, name: str) -> list[list[Any]]:
        """What was asked of the text in the browser by that name, without its number, in order."""
        begin = f"table.{name}("
        parts = [s[len(begin) : -1] for s in self.scripts if s.startswith(begin)]
        told = [json.loads(f"[{part}]") for part in parts]
        assert all(number == self.editor.id for number, *_ in told)
        return [rest for _, *rest in told]

    def changed(self) -> str:
        """The text with the change that was sent last, counted in UTF-16 as a browser does."""
        made_for, changes = self.calls("change")[-1]
        assert made_for == self.editor.value
        data = made_for.encode("utf-16-le")
        for one in sorted(changes, key=lambda c: -c["from"]):
            new = one["insert"].encode("utf-16-le")
            data = data[: 2 * one["from"]] + new + data[2 * one["to"] :]
        return str(data.decode("utf-16-le"))

    async def meet(self, which: str) -> None:
        """A browser comes or goes: 'connect', 'disconnect'."""
        with self.client:
            for handler in getattr(self.client, f"{which}_handlers"):
                told = handler(self.client) if expects_arguments(handler) else handler()
                if asyncio.iscoroutine(told):
                    await told


async def until(look: Callable[[], object]) -> None:
    """Wait until something is so; a test hangs for two seconds at most."""
    for _ in range(400):
        if look():
            return
        await asyncio.sleep(0.005)
    raise AssertionError("it did not come to that")


def shown(element: ui.element) -> bool:
    """True where neither it nor what it lies in is hidden."""
    slot = element.parent_slot
    return element.visible and (slot is None or shown(slot.parent))


def do(element: ui.element, kind: str, args: Any = None) -> None:
    """What its browser would tell of an element."""
    for listener in list(element._event_listeners.values()):
        if listener.type.partition(".")[0] == kind:
            element._handle_event({"listener_id": listener.id, "args": args})
