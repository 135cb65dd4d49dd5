"""A panel of rings in a tab, for tests: its steps are made up, so that each line, place and ring is
known.
"""

from __future__ import annotations

import asyncio
import json
import re
from typing import Any

from nicegui import ui
from page_alone import Tab, do

from ringstep.table.ring_data import RingAt, RingData, Step
from ringstep.table.ring_panel import RingPanel

TURN = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


def ring(mark: str, *centre: float, body: tuple[float, ...] = ()) -> RingAt:
    x, y, z = centre or (0.0, 0.0, 0.0)
    return RingAt(mark, (x, y, z), (0.0, 0.0, 1.0), 3.0, 1.0, body)


def unit(number: int, first: int) -> list[Step]:
    """The three steps of a unit, in lines 5 (with a hint in 6), 7 and 8 of the recipe."""
    a, b = f"A {number}", f"B {number}"
    before = f"B {number - 1}"
    rings = (ring(before), ring(a), ring(b))
    at = f"unit {number}"
    return [
        Step(2, first, first + 1, at, f"add A {number}", "hold it", "two rings", "<b>1</b>",
             "<b>2</b>", rings[:2], (a,), (before,), (), ((a, "A"), (before, "prev B"))),
        Step(3, first + 2, first + 2, at, f"add B {number}", "", "three rings", "<b>2</b>",
             "<b>3</b>", rings, (b,), (a,), (), ((b, "B"), (a, "A"))),
        Step(4, first + 3, first + 3, at, f"fold B {number}", "", "a fold", "<b>3</b>",
             "<b>4</b>", rings, (), (), ((b, "fold"),), ((b, "B"),)),
    ]  # fmt: skip


def made(first: int = 5, **other: Any) -> RingData:
    """Seven steps: one in the start, three in each of two units."""
    start = Step(1, 3, 3, "start", "close B", "", "one ring", "", "<b>0</b>",
                 (ring("B 0"),), ("B 0",), (), (), (("B 0", "B"),))  # fmt: skip
    rings = (("B 0", "B", 3), *(
        (f"{r} {n}", r, first + way) for n in (1, 2) for r, way in (("A", 0), ("B", 2))
    ))  # fmt: skip
    return RingData(
        (start, *unit(1, first), *unit(2, first)), **{"whole": True, "rings": rings, **other}
    )


class Shown:
    """A panel in a tab. lines: those that it led to."""

    def __init__(self, data: RingData | None = None, answer: object = True) -> None:
        self.tab, self.lines = Tab(answer), list[int]()
        with self.tab.client:
            self.panel = RingPanel(self.lines.append)
        if data:
            self.show(data)

    def show(self, data: RingData) -> None:
        with self.tab.client:
            self.panel.show(data)

    def go_to_line(self, line: int) -> None:
        with self.tab.client:
            self.panel.go_to_line(line)

    def slide(self, to: int) -> None:
        (slider,) = self.tab.all(css="ring-slider")
        do(slider, "input", str(to))

    async def press(self, words: str) -> None:
        self.tab.press(words)
        for _ in range(4):
            await asyncio.sleep(0)

    @property
    def at(self) -> int:
        """Which picture is shown, from 1."""
        (told,) = self.tab.words("message")
        found = re.search(r"picture (\d+) of 7$", told)
        assert found
        return int(found[1])

    @property
    def slider(self) -> tuple[dict[str, Any], str]:
        """The state that was sent to the slider last, and the words with it."""
        (element,) = self.tab.all(css="ring-slider")
        sent = [s for s in self.tab.scripts if "aria-valuetext" in s][-1]
        assert f"getHtmlElement({element.id})" in sent
        found = re.search(r"Object\.assign\(s, (\{.*?\})\).*'aria-valuetext', (\".*\")\)", sent)
        assert found
        return json.loads(found[1]), json.loads(found[2])

    @property
    def pale(self) -> list[tuple[bool, object]]:
        """Of pictures, space and names whether they are pale, and what a reader is told."""
        css = ("ring-pictures", "ring-space", "ring-names")
        parts = [self.tab.all(css=one)[-1] for one in css]
        return [("ring-old" in p.classes, p.props.get("aria-busy")) for p in parts]

    def enabled(self, words: str) -> bool:
        return self.tab.button(words).enabled

    def seen(self, words: str) -> bool:
        return any(b.text == words and b.visible for b in self.tab.all(ui.button))
