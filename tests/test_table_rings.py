"""The rings beside the text, a step at a time: which one is shown, and of which text it is."""

from __future__ import annotations

from nicegui import ui
from page_alone import alone
from rings_made_up import TURN, Shown, made

from ringstep.table.ring_data import RingData, Step

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
    assert panel.pale == [(False, None)] * 3
    assert all("color" not in b.props for b in panel.tab.all(ui.button)), "plain, not filled"
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
    assert not panel.enabled("Step before")
    panel.show(RingData((Step(1, 9, 9, "", "close Z"),), False))
    assert panel.tab.words()[1:] == ["Step 1: picture 1 of 1", "close Z"]
