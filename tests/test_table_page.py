"""The page: what is asked, told and drawn when, with workers made up."""

from __future__ import annotations

import asyncio

import pytest
from nicegui import ui
from page_alone import alone, do, until
from page_made_up import ERROR, OTHER, RINGS, TEXT, Sat, made_quick

from ringstep.language.source import Refused
from ringstep.table.files import Opened
from ringstep.table.ring_data import RingData, Step, to_json_able


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    made_quick(monkeypatch)


# -- what is there ---------------------------------------------------------------------------------


@alone
async def test_the_page_as_it_is_opened() -> None:
    sat = Sat()
    assert (sat.state, sat.title) == ("saved", '"It.weave"')
    assert sat.tab.editor.value == TEXT
    assert [w.command for w in (sat.words, sat.rings)] == [["start", "it"]] * 2
    assert sat.words.asked == [], "nothing is worked out before somebody looks"
    await sat.begin()
    assert sat.words.asked == [{"about": "findings", "text": TEXT, "name": "It.weave"}]
    assert sat.rings.asked == []
    (link,) = [one for one in sat.tab.all(ui.link) if one.text == "Words"]
    assert (link.props["href"], link.props["target"]) == ("/words", "_blank")
    tabs = [one.props["name"] for one in sat.tab.all(ui.tab)]
    assert tabs == ["Steps", "Pages to print", "Sizes and kit"]
    (panels,) = sat.tab.all(ui.tab_panels)
    assert panels.value is sat.tab.all(ui.tab)[0]
    assert panels.props["keep-alive"]
    within = {p.props["name"]: p for p in sat.tab.all(ui.tab_panel)}
    for name, css in (("Steps", "ring-panel"), ("Pages to print", "papers")):
        (part,) = sat.tab.all(css=css)
        assert part.parent_slot.parent is within[name]
    fields = [one for one in sat.tab.all(ui.input) if one.label == "length, as in 19 cm"]
    assert fields[0].parent_slot.parent.parent_slot.parent is within["Sizes and kit"]


@alone
async def test_a_recipe_that_is_not_there_yet_is_not_saved() -> None:
    sat = Sat(opened=Opened(TEXT, None))
    assert (sat.state, sat.title) == ("not saved yet", '"It.weave *"')


@alone
async def test_the_menu_leads_to_the_other_recipes() -> None:
    sat = Sat()
    items = {one.parent_slot and _text(one): one for one in sat.tab.all(ui.menu_item)}
    assert list(items) == ["another one.weave", "Tidy the text", "Rename a ring …"]
    do(items["another one.weave"], "click")
    assert sat.tab.opened == ["/?file=another%20one.weave"]
    assert sat.tab.all(ui.button)[0].text == "It.weave"
    sat.tab.type(TEXT.replace("  close", "CLOSE"))
    do(items["Tidy the text"], "click")
    assert sat.tab.changed() == TEXT
    do(items["Rename a ring …"], "click")
    assert "Rename a ring or part" in sat.tab.words()


def _text(item: ui.menu_item) -> str:
    return str(next(e for e in item.descendants() if hasattr(e, "_text"))._text)


@alone
async def test_a_new_recipe_is_begun_and_led_to() -> None:
    sat = Sat()
    sat.tab.press("New …")
    (name,) = [one for one in sat.tab.all(ui.input) if one.label == "what to call it, as in cuff"]
    name.value = "new.weave"
    sat.tab.press("Make it")
    assert sat.files.there["new.weave"] == ""
    assert sat.tab.opened == ["/?file=new.weave"]


# -- typing and answers ----------------------------------------------------------------------------


@alone
async def test_what_is_typed_is_checked_and_kept() -> None:
    sat = await Sat().begin()
    before = sat.rings.dropped
    sat.tab.type(OTHER)
    assert (sat.state, sat.title) == ("not saved yet", '"It.weave *"')
    assert sat.words.asked[1:] == [{"about": "findings", "text": OTHER, "name": "It.weave"}]
    assert sat.rings.dropped == before + 1
    assert sat.files.drafts == [], "a key may follow"
    sat.tab.type(OTHER + "#")
    await until(lambda: sat.files.drafts)
    await asyncio.sleep(0.03)
    assert sat.files.drafts == [OTHER + "#"], "kept once, when the keys are still"
    sat.tab.type(TEXT)
    assert (sat.state, sat.title) == ("saved", '"It.weave"')
    await until(lambda: len(sat.files.drafts) > 1)
    assert sat.files.drafts[1:] == [None], "the text of the file needs no draft"


@alone
async def test_a_draft_that_cannot_be_kept_is_said() -> None:
    sat = await Sat().begin()
    sat.files.fault = Refused("the folder is full")
    sat.tab.type(OTHER)
    await until(lambda: "full" in sat.state)
    assert sat.state == "no draft is kept: the folder is full"


@alone
async def test_a_sound_recipe_has_its_kit_at_once_and_its_rings_when_keys_are_still() -> None:
    sat = await Sat().begin()
    await sat.sound()
    assert sat.found == "checks clean"
    assert "30 rings" in sat.tab.words()
    kit = sat.words.asked[1]
    assert (kit["about"], kit["text"], kit["name"]) == ("kit", TEXT, "It.weave")
    assert kit["wish"]["pieces"] == "1"
    assert sat.rings.asked == []
    await sat.words.answer(kit="<p>a kit</p>")
    assert "<p>a kit</p>" in [one.content for one in sat.tab.all(ui.html)]
    await until(lambda: sat.rings.asked)
    assert sat.rings.asked == [{"about": "rings", "text": TEXT, "name": "It.weave"}]
    await sat.rings.answer(rings=to_json_able(RINGS))
    assert sat.tab.words("message") == ["Step 1, start: picture 1 of 2"]
    field = next(one for one in sat.tab.all(ui.input) if one.label == "how many kits")
    field.value = "3"
    assert sat.words.asked[-1]["about"] == "kit"
    assert sat.words.asked[-1]["wish"]["pieces"] == "3"


@alone
async def test_rings_are_asked_for_once_a_text() -> None:
    sat = await Sat().begin()
    await sat.sound()
    await until(lambda: sat.rings.asked)
    with sat.tab.client:
        sat.page._draw()
    assert len(sat.rings.asked) == 1
    sat.tab.type(OTHER)
    sat.tab.type(TEXT)
    await sat.sound()
    await until(lambda: len(sat.rings.asked) == 2)


@alone
async def test_rings_follow_the_cursor_that_came_before_them() -> None:
    sat = await Sat().begin()
    do(sat.tab.client.layout, "cursor", 5)
    await sat.sound()
    await until(lambda: sat.rings.asked)
    await sat.rings.answer(rings=to_json_able(RINGS))
    assert sat.tab.words("message") == ["Step 2, unit 1: picture 2 of 2"]
    do(sat.tab.client.layout, "cursor", 3)
    assert sat.tab.words("message") == ["Step 1, start: picture 1 of 2"]
    sat.tab.press("Step after")
    assert sat.tab.calls("goTo") == [[5, False]], "the keys stay where the steps are chosen"


@alone
async def test_before_the_cursor_is_heard_of_the_first_step_of_the_first_line_is_shown() -> None:
    sat = await Sat().begin()
    await sat.sound()
    await until(lambda: sat.rings.asked)
    steps = (Step(1, 2, 2, "start", "close"), Step(2, 1, 1, "unit 1", "add"))
    await sat.rings.answer(rings=to_json_able(RingData(steps, True)))
    assert sat.tab.words("message") == ["Step 2, unit 1: picture 2 of 2"]


@alone
async def test_why_there_are_no_rings_is_told() -> None:
    for kind in ("refused", "mishap"):
        sat = await Sat().begin()
        await sat.sound()
        await until(lambda sat=sat: sat.rings.asked)
        await sat.rings.answer(**{kind: "They are too many."})
        assert "They are too many." in sat.tab.words()
        await sat.rings.answer(done=True)
        assert "They are too many." in sat.tab.words()


@alone
async def test_errors_are_marked_told_and_mended() -> None:
    sat = await Sat().begin()
    await sat.words.answer(first=[], symptom="line 3: A meets 1")
    assert sat.found == "line 3: A meets 1; looking for what mends it"
    sat.tab.scripts.clear()
    await sat.words.answer(findings=[ERROR], sound=False, summary=[])
    assert sat.found == "1 error"
    assert "error: it picks up 2" in sat.tab.words()
    text, marks = sat.tab.calls("mark")[-1]
    assert text == TEXT
    begin = TEXT.index("close")
    wrong = {"kind": "mark", "from": begin, "to": begin + 5, "class": "wrong error"}
    assert wrong in marks
    assert len(sat.words.asked) == 1, "no kit of it is asked for"
    assert sat.page._kit._told["kit"].content.startswith("<p>Kit and sizes stand here once")
    await asyncio.sleep(0.04)
    assert sat.rings.asked == []
    sat.tab.press("line 3")
    assert sat.tab.calls("goTo") == [[3, True]]
    sat.tab.press("Mend it")
    assert sat.tab.changed() == TEXT.replace("close", "open")


@alone
async def test_rings_of_before_an_error_are_called_so() -> None:
    sat = await Sat().begin()
    await sat.sound()
    await until(lambda: sat.rings.asked)
    await sat.rings.answer(rings=to_json_able(RINGS))
    sat.tab.type(OTHER)
    assert "The rings are of the text as it was; it is looked at anew." in sat.tab.words()
    await sat.words.answer(findings=[ERROR], sound=False, summary=[])
    assert "The rings are of the text before its errors." in sat.tab.words()


@alone
async def test_a_text_that_became_wrong_again_has_no_kit_and_no_rings() -> None:
    sat = await Sat().begin()
    await sat.sound()
    await sat.words.answer(findings=[ERROR], sound=False, summary=[])
    sat.words.asked.clear()
    next(one for one in sat.tab.all(ui.input) if one.label == "how many kits").value = "3"
    assert sat.words.asked == []
    await asyncio.sleep(0.04)
    assert sat.rings.asked == []


@alone
async def test_no_kit_of_an_older_text_is_asked_for() -> None:
    sat = await Sat().begin()
    await sat.sound()
    sat.tab.type(OTHER)
    sat.words.asked.clear()
    next(one for one in sat.tab.all(ui.input) if one.label == "how many kits").value = "3"
    assert sat.words.asked == []


@alone
async def test_answers_for_an_older_text_are_not_shown() -> None:
    sat = await Sat().begin()
    await sat.sound()
    await until(lambda: sat.rings.asked)
    sat.words.asked = sat.words.asked[:1]
    sat.tab.type(OTHER)
    sat.words.asked.pop()
    before = sat.found
    await sat.words.answer(findings=[ERROR], sound=False, summary=[])
    await sat.rings.answer(rings=to_json_able(RINGS))
    assert sat.found == before
    assert not sat.tab.words("message")


@alone
async def test_an_empty_text_is_told_how_to_begin() -> None:
    sat = await Sat().begin()
    sat.tab.type(" \n")
    await sat.words.answer(findings=[], sound=False, summary=[])
    assert sat.found.startswith("Nothing is written yet.")
    assert sat.words.asked[-1]["about"] == "findings"


@alone
async def test_why_a_text_is_not_checked_is_told() -> None:
    for kind in ("refused", "mishap"):
        sat = await Sat().begin()
        await sat.words.answer(**{kind: "It is far too long."})
        assert sat.found == "It is far too long."
        (label,) = sat.tab.all(css="state")
        assert "error" in label.classes


@alone
async def test_an_answer_after_the_page_is_gone_does_no_harm() -> None:
    sat = await Sat().begin()
    loop = asyncio.new_event_loop()
    loop.close()
    sat.page._loop = loop
    sat.words.heard(sat.words.asked[-1], {"findings": [], "sound": True, "summary": []})
