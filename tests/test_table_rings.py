"""The rings beside the text, a step at a time: which step is shown, what is said, what is pressed.

The steps are made up, so that each line, place and ring is known.
"""

from __future__ import annotations

import asyncio
import json
import re
from typing import Any

import pytest
from nicegui import ui
from page_alone import Tab, alone, do

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


# -- which step ------------------------------------------------------------------------------------


@alone
async def test_without_steps_nothing_can_be_gone_through() -> None:
    panel = Shown()
    assert panel.tab.words() == []
    assert panel.slider == ({"max": 1, "value": 1, "disabled": True}, "")
    assert not panel.enabled("Step before")
    assert not panel.enabled("Step after")
    assert not panel.seen("Turn by hand")
    assert not panel.seen("View as at first")
    panel.slide(2)
    panel.go_to_line(3)
    with panel.tab.client:
        panel.panel.waiting("looked at anew")
    assert panel.tab.words() == []
    assert panel.lines == []


@alone
async def test_the_slider_and_the_buttons_go_through_the_steps() -> None:
    panel = Shown(made())
    told = "Step 1, start: picture 1 of 7"
    assert panel.tab.words("message") == [told]
    assert panel.slider == ({"max": 7, "value": 1, "disabled": False}, told)
    assert (panel.enabled("Step before"), panel.enabled("Step after")) == (False, True)
    await panel.press("Step after")
    assert panel.at == 2
    assert panel.slider[0] == {"max": 7, "value": 2, "disabled": False}
    assert (panel.enabled("Step before"), panel.enabled("Step after")) == (True, True)
    panel.slide(6)
    assert panel.at == 6
    await panel.press("Step before")
    assert panel.at == 5
    panel.slide(7)
    assert (panel.at, panel.enabled("Step after")) == (7, False)
    panel.slide(1)
    assert panel.at == 1
    assert panel.lines == [5, 7, 5, 8, 3], "each leads to its line"
    panel.slide(0)
    panel.slide(1)
    panel.slide(99)
    assert panel.at == 7
    assert panel.lines == [5, 7, 5, 8, 3, 8], "none leads where nothing changed"
    (slider,) = panel.tab.all(css="ring-slider")
    (sent,) = [one for one in slider._event_listeners.values() if one.type == "input"]
    assert 0 < sent.throttle <= 0.1
    assert "e.target.value" in sent.js_handler


@alone
async def test_one_step_leaves_nothing_to_slide() -> None:
    panel = Shown(RingData(made().steps[:1], True))
    assert panel.slider[0] == {"max": 1, "value": 1, "disabled": True}
    panel = Shown(RingData(made().steps[:2], True))
    assert panel.slider[0] == {"max": 2, "value": 1, "disabled": False}


@alone
async def test_what_a_step_says() -> None:
    panel = Shown(made(told=("The hook is not drawn.", "Nor the bead.")))
    assert panel.tab.words() == [
        "Step 1, start: picture 1 of 7", "close B", "The hook is not drawn.\nNor the bead.",
    ]  # fmt: skip
    panel.slide(2)
    assert panel.tab.words()[:3] == [
        "Step 2, unit 1: picture 2 of 7", "add A 1", "Hint: hold it",
    ]  # fmt: skip
    panel.slide(3)
    assert panel.tab.words()[:2] == ["Step 3, unit 1: picture 3 of 7", "add B 1"]
    assert not [words for words in panel.tab.words() if words.startswith("Hint")]
    words = RingData((Step(1, 3, 3, "", "close B"),), False)
    assert Shown(words).tab.words() == [
        "The rings are being worked out.", "Step 1: picture 1 of 1", "close B",
    ]  # fmt: skip


@alone
async def test_the_cursor_leads_to_the_step_of_its_line() -> None:
    """In lines of a unit to that of the place shown, be another nearer; elsewhere nowhere."""
    panel = Shown(made())
    for line, at in ((5, 2), (4, 2), (8, 4), (9, 4), (3, 1), (6, 2), (7, 3), (5, 2)):
        panel.go_to_line(line)
        assert panel.at == at, line
    panel.slide(4)
    panel.go_to_line(5)
    assert panel.at == 2, "the fold is one step from unit 2, but two from the begin of its own"
    panel.slide(5)
    panel.go_to_line(8)
    assert panel.at == 7
    panel.go_to_line(3)
    panel.go_to_line(7)
    assert panel.at == 3, "from the start the first unit is the nearest"
    panel.slide(6)
    panel.go_to_line(3)
    assert panel.at == 1
    assert panel.lines == [8, 5, 7], "only what was chosen in the panel moves the cursor"


@alone
async def test_from_a_place_without_the_line_the_nearest_is_gone_to() -> None:
    finish = Step(5, 12, 12, "end", "close C")
    panel = Shown(RingData((*made().steps, finish), True))
    with panel.tab.client:
        panel.panel.go_to_line(12)
        panel.panel.go_to_line(5)
    assert panel.tab.words("message") == ["Step 2, unit 2: picture 5 of 8"]


@alone
async def test_new_steps_keep_the_place_of_the_old() -> None:
    panel = Shown(made())
    panel.slide(6)
    panel.show(made())
    assert panel.at == 6, "the same line, the same place"
    panel.show(made(first=7))
    assert panel.at == 5, "what stands in line 7 now, in the same unit"
    panel.show(made(first=5))
    assert panel.at == 6
    panel.slide(3)
    panel.show(made(first=7))
    assert panel.at == 2
    other = RingData(tuple(made().steps[n] for n in (0, 4, 5)), True)
    panel.show(other)
    assert panel.tab.words("message") == ["Step 3, unit 2: picture 3 of 3"], "of another place"
    panel.show(RingData((), True, ("None yet.",)))
    assert panel.tab.words() == ["None yet."]
    panel.show(made())
    assert panel.at == 1


@alone
async def test_of_two_steps_as_near_the_first_is_shown() -> None:
    steps = made().steps
    panel = Shown(RingData((steps[2],), True))
    panel.show(RingData((steps[1], steps[1]), True))
    assert panel.tab.words("message") == ["Step 2, unit 1: picture 1 of 2"]
    panel.show(RingData((steps[4], steps[1], steps[1]), True))
    assert panel.tab.words("message") == ["Step 2, unit 1: picture 2 of 3"]


# -- old and new -----------------------------------------------------------------------------------

PALE, FRESH = [(True, "true")] * 3, [(False, "false")] * 3


@alone
async def test_rings_of_an_earlier_text_are_pale_until_the_new_are_there() -> None:
    panel = Shown()
    panel.show(RingData((Step(1, 3, 3, "", "close A"),), False))
    assert panel.tab.words()[0] == "The rings are being worked out."
    assert not any(old for old, _ in panel.pale)
    panel.show(made())
    assert panel.tab.words()[0].startswith("Step 1"), "nothing is being worked out any more"
    for words in ("It is looked at anew.", "It has errors."):
        with panel.tab.client:
            panel.panel.waiting(words)
        assert panel.tab.words()[0] == words
        assert panel.pale == PALE
    panel.show(RingData((Step(1, 9, 9, "", "close Z"),), False))
    assert panel.tab.words()[0].endswith("these are of the one before.")
    assert panel.at == 1, "what is whole stands until the new is whole"
    assert panel.pale == PALE
    panel.show(made(first=9))
    assert panel.tab.words()[0].startswith("Step 1")
    assert panel.pale == FRESH


@alone
async def test_where_there_is_trouble_nothing_is_shown() -> None:
    panel = Shown(made(turn=TURN))
    panel.slide(3)
    with panel.tab.client:
        panel.panel.waiting("It is looked at anew.")
        panel.panel.trouble("The rings are too many.")
    assert panel.tab.words() == ["The rings are too many."]
    assert panel.tab.all(ui.html) == []
    assert panel.pale == FRESH
    assert panel.slider[0]["disabled"]
    panel.show(RingData((Step(1, 9, 9, "", "close Z"),), False))
    assert panel.tab.words()[1:] == ["Step 1: picture 1 of 1", "close Z"]


# -- pictures and rings ----------------------------------------------------------------------------


@alone
async def test_a_step_has_a_picture_of_before_and_one_of_after() -> None:
    panel = Shown(made())
    (only,) = panel.tab.all(ui.html)
    assert (only.content, only.props["aria-label"]) == ("<b>0</b>", "one ring")
    panel.slide(2)
    pictures = panel.tab.all(ui.html)
    assert [p.content for p in pictures] == ["<b>1</b>", "<b>2</b>"]
    assert [p.props["aria-label"] for p in pictures] == [
        "before step 2, with arrows for what it does", "two rings",
    ]  # fmt: skip
    assert {p.props["role"] for p in pictures} == {"img"}
    assert [e.text for e in panel.tab.all(ui.label)][-2:] == ["before", "after"]
    assert all(p.props["sanitize"] is False and p._sanitize is False for p in pictures)
    panel.show(RingData((), True))
    assert panel.tab.all(ui.html) == []


@alone
async def test_a_ring_in_a_picture_leads_to_the_step_that_placed_it() -> None:
    panel = Shown(made())
    panel.slide(3)
    panel.lines.clear()
    for picture in panel.tab.all(ui.html):
        (click,) = [one for one in picture._event_listeners.values() if one.type == "click"]
        assert "data-ring" in click.js_handler
    do(panel.tab.all(ui.html)[1], "click", "B 0")
    assert (panel.at, panel.lines) == (1, [3])
    panel.slide(2)
    panel.lines.clear()
    do(panel.tab.all(ui.html)[0], "click", "B 2")
    assert (panel.at, panel.lines) == (6, [7]), "in unit 2, though that of unit 1 is nearer"
    do(panel.tab.all(ui.html)[0], "click", "Z 9")
    assert (panel.at, panel.lines) == (6, [7]), "of a ring that nobody placed nothing is known"


@alone
async def test_a_ring_that_no_step_has_new_leads_to_the_nearest_of_its_line() -> None:
    rings = (*made().rings, ("A 9", "A", 5), ("C 1", "C", 40))
    panel = Shown(made(rings=rings))
    for begin, at in ((7, 5), (3, 2)):
        panel.slide(begin)
        do(panel.tab.all(ui.html)[0], "click", "A 9")
        assert panel.at == at
    panel.lines.clear()
    do(panel.tab.all(ui.html)[0], "click", "C 1")
    assert (panel.at, panel.lines) == (2, [40]), "its line is told, though no step is shown"
    twice = (Step(2, 5, 5, "unit 1", "add"), made().steps[0], Step(2, 5, 5, "unit 2", "add"))
    panel = Shown(RingData(twice, True, (), rings))
    await panel.press("Step after")
    with panel.tab.client:
        panel.panel._clicked("A 9")
    assert panel.tab.words("message") == ["Step 2, unit 1: picture 1 of 3"]


@alone
async def test_the_rings_of_a_step_are_named_with_what_comes_of_them() -> None:
    panel = Shown(made())
    panel.slide(2)
    assert panel.seen("A, new")
    await panel.press("through prev B")
    assert (panel.at, panel.lines[-1]) == (1, 3)
    panel.slide(7)
    assert panel.seen("B, folded")
    assert not panel.seen("A, new")
    await panel.press("B, folded")
    assert (panel.at, panel.lines[-1]) == (6, 7)
    moves = (("a", "spread"), ("b", "turn"))
    step = Step(1, 1, 1, "", "", rings=(), moved=moves, names=(("a", "A"), ("b", "B")))
    panel = Shown(RingData((step,), True))
    assert panel.seen("A, spread apart")
    assert panel.seen("B, turned over")
    panel.show(RingData((), True))
    assert not panel.seen("A, spread apart")


# -- turned by hand --------------------------------------------------------------------------------


@alone
async def test_rings_can_be_turned_where_they_are_real() -> None:
    panel = Shown(made())
    assert not panel.seen("Turn by hand")
    assert not [w for w in panel.tab.words() if w.startswith("A click")]
    panel.show(made(turn=TURN))
    assert panel.seen("Turn by hand")
    assert panel.tab.words()[-1].startswith("A click on a ring leads")
    await panel.press("Turn by hand")
    assert 1 < panel.tab.waits[panel.tab.scripts.index(_can())] <= 5
    assert len(panel.tab.all(ui.scene)) == 1
    assert panel.tab.words()[-1].startswith("Drag to turn")
    assert not panel.seen("Turn by hand")
    assert panel.seen("View as at first")
    (pictures,) = panel.tab.all(css="ring-pictures")
    assert not pictures.visible
    panel.slide(3)
    (scene,) = panel.tab.all(ui.scene)
    assert scene.props["aria-label"].startswith("three rings; ")
    await panel.press("Back to the pictures")
    assert panel.tab.all(ui.scene) == []
    assert pictures.visible
    assert not panel.seen("View as at first")
    assert [p.content for p in panel.tab.all(ui.html)] == ["<b>2</b>", "<b>3</b>"]


def _can() -> str:
    from ringstep.table.ring_space import CAN_TURN

    return CAN_TURN


@alone
async def test_a_browser_that_cannot_show_them_is_told_so() -> None:
    panel = Shown(made(turn=TURN), answer=False)
    await panel.press("Turn by hand")
    assert panel.tab.words()[0].startswith("This browser cannot show rings")
    assert panel.tab.all(ui.scene) == []
    assert panel.seen("Turn by hand")


@alone
async def test_the_space_is_left_where_there_are_no_real_rings() -> None:
    for other in (made(), RingData((), True, turn=TURN)):
        panel = Shown(made(turn=TURN))
        await panel.press("Turn by hand")
        panel.show(made(turn=TURN))
        assert len(panel.tab.all(ui.scene)) == 1, "it stays for real ones"
        panel.show(other)
        assert panel.tab.all(ui.scene) == []
    panel = Shown(made(turn=TURN))
    await panel.press("Turn by hand")
    with panel.tab.client:
        panel.panel.trouble("Too many.")
    assert panel.tab.all(ui.scene) == []


@alone
async def test_that_parts_are_plain_in_space_is_told_there_alone() -> None:
    bead = Step(1, 3, 3, "start", "", rings=(ring("A 0"), ring("bead 0", body=(4.0,))))
    plain = Step(2, 4, 4, "start", "", rings=(ring("A 0"),))
    panel = Shown(RingData((bead, plain), True, ("No hook.",), turn=TURN))
    assert panel.tab.words("help") == ["No hook."]
    await panel.press("Turn by hand")
    (told,) = panel.tab.words("help")
    assert told.startswith("No hook.\nTo be turned by hand, parts are plain")
    assert told.count("\n") == 1
    panel.slide(2)
    assert panel.tab.words("help") == ["No hook."]


@pytest.mark.parametrize("known", [True, False])
@alone
async def test_a_ring_in_space_leads_to_its_step_as_well(known: bool) -> None:
    panel = Shown(made(turn=TURN))
    panel.slide(3)
    await panel.press("Turn by hand")
    panel.lines.clear()
    (scene,) = panel.tab.all(ui.scene)
    hit = {"object_id": "B 0", "object_name": "", "point": {"x": 0, "y": 0, "z": 0}}
    behind = {**hit, "object_id": "A 2"}
    do(scene, "click3d", {"click_type": "click", "button": 0, "alt_key": False, "ctrl_key": False,
                          "meta_key": False, "shift_key": False,
                          "hits": [hit, behind] if known else []})  # fmt: skip
    assert (panel.at, panel.lines) == ((1, [3]) if known else (3, []))
