"""The pictures beside the text: what a click on a ring or its name does, and the turn by hand."""

from __future__ import annotations

import pytest
from nicegui import ui
from page_alone import alone, do
from rings_made_up import TURN, Shown, made, ring

from ringstep.table.ring_data import RingData, Step

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
