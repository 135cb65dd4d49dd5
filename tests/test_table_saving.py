"""The page and its file: what is saved, kept as a draft and printed when, with a folder made up."""

from __future__ import annotations

import asyncio

import pytest
from nicegui import ui
from page_alone import alone, do, shown, until
from page_made_up import ERROR, OTHER, TEXT, Files, Sat, made_quick

from ringstep.language.source import Refused
from ringstep.table.files import ChangedMeanwhile, Draft, Opened


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    made_quick(monkeypatch)


# -- undo ------------------------------------------------------------------------------------------


@alone
async def test_undo_and_redo_are_the_browsers() -> None:
    sat = Sat()
    for words in ("Undo", "Redo", "Undo"):
        sat.tab.press(words)
    assert sat.tab.calls("again") == [["undo"], ["redo"], ["undo"]]


# -- saving ----------------------------------------------------------------------------------------


@alone
async def test_a_text_is_saved_by_button_and_by_key() -> None:
    sat = await Sat().begin()
    sat.tab.type(OTHER)
    sat.tab.press("Save")
    assert sat.files.saved == [("It.weave", OTHER, TEXT.encode(), False)]
    assert (sat.state, sat.title) == ("saved", '"It.weave"')
    await asyncio.sleep(0.04)
    assert sat.files.drafts == [None], "the draft that was about to be kept is forgotten"
    sat.tab.type(TEXT)
    do(sat.tab.editor, "keybinding", {"key": "Mod-s"})
    assert sat.files.saved[1:] == [("It.weave", TEXT, OTHER.encode(), False)]


@alone
async def test_what_cannot_be_saved_is_told() -> None:
    sat = await Sat().begin()
    sat.tab.type(OTHER)
    sat.files.fault = Refused("the folder is full")
    sat.tab.press("Save")
    (note,) = sat.tab.notes
    assert (note["message"], note["type"]) == ("the folder is full", "negative")
    assert note["timeout"] == 0, "it stays until it was read"
    assert note["closeBtn"] == "OK"
    assert sat.state == "not saved yet"


async def changed_meanwhile() -> Sat:
    """A page whose file was changed by somebody else, as one finds out at saving."""
    sat = await Sat().begin()
    sat.tab.type(OTHER)
    sat.files.fault = ChangedMeanwhile("it was changed meanwhile")
    sat.tab.press("Save")
    assert "it was changed meanwhile" in sat.tab.words()
    assert sat.tab.notes == []
    (dialog,) = sat.tab.all(ui.dialog)
    assert dialog.value
    assert sat.files.saved == []
    return sat


@alone
async def test_ones_own_text_is_kept() -> None:
    sat = await changed_meanwhile()
    sat.tab.press("Keep my text; the other is kept beside it")
    assert sat.files.saved == [("It.weave", OTHER, TEXT.encode(), True)]
    assert sat.state == "saved"
    assert not sat.tab.all(ui.dialog)[0].value


@alone
async def test_the_other_text_is_taken() -> None:
    sat = await changed_meanwhile()
    sat.files.fault, sat.files.there["It.weave"] = None, "theirs"
    sat.tab.press("Take the text that is there now; Undo brings mine back")
    assert sat.tab.changed() == "theirs"
    assert not sat.tab.all(ui.dialog)[0].value
    assert sat.files.saved == []
    sat.tab.type("theirs")
    assert sat.state == "saved"
    sat.tab.type("mine again")
    sat.tab.press("Save")
    assert sat.files.saved == [("It.weave", "mine again", b"theirs", False)]


@alone
async def test_another_text_that_cannot_be_read_is_told() -> None:
    sat = await changed_meanwhile()
    sat.files.fault = Refused("it is no text")
    sat.tab.press("Take the text that is there now; Undo brings mine back")
    assert [note["message"] for note in sat.tab.notes] == ["it is no text"]
    assert sat.tab.calls("change") == []


@alone
async def test_one_may_decide_later() -> None:
    sat = await changed_meanwhile()
    sat.tab.press("Decide later")
    assert not sat.tab.all(ui.dialog)[0].value
    assert sat.files.saved == []
    assert sat.state == "not saved yet"


# -- drafts ----------------------------------------------------------------------------------------


async def with_a_draft() -> Sat:
    files = Files()
    files.kept = Draft(OTHER, "on Monday")
    sat = await Sat(files).begin()
    assert "There is text that was typed and not saved, kept on Monday." in sat.tab.words()
    return sat


@alone
async def test_a_draft_is_taken_back() -> None:
    sat = await with_a_draft()
    sat.tab.press("Take it back")
    assert sat.tab.changed() == OTHER
    assert not [words for words in sat.tab.words() if words.startswith("There is text")]
    assert sat.files.drafts == []


@alone
async def test_a_draft_is_thrown_away() -> None:
    sat = await with_a_draft()
    sat.tab.press("Throw it away")
    assert sat.files.drafts == [None]
    assert sat.tab.calls("change") == []
    assert not [words for words in sat.tab.words() if words.startswith("There is text")]


@alone
async def test_a_draft_is_offered_once() -> None:
    sat = await with_a_draft()
    await sat.tab.meet("connect")
    assert len([words for words in sat.tab.words() if words.startswith("There is text")]) == 1
    none = await Sat().begin()
    assert not [words for words in none.tab.words() if words.startswith("There is text")]


# -- coming and going ------------------------------------------------------------------------------


@alone
async def test_who_leaves_has_the_draft_kept_and_waits_for_nothing() -> None:
    sat = await Sat().begin()
    await sat.sound()
    sat.tab.type(OTHER)
    await sat.sound()
    await sat.tab.meet("disconnect")
    assert sat.files.drafts == [OTHER]
    assert (sat.words.stopped, sat.rings.stopped) == (1, 1)
    await asyncio.sleep(0.05)
    assert sat.rings.asked == []
    assert sat.files.drafts == [OTHER]
    asked = len(sat.words.asked)
    await sat.tab.meet("connect")
    assert sat.words.asked[asked:] == [{"about": "findings", "text": OTHER, "name": "It.weave"}]
    await sat.sound()
    await until(lambda: sat.rings.asked)


@alone
async def test_who_leaves_and_typed_nothing_keeps_no_draft() -> None:
    sat = await Sat().begin()
    await sat.tab.meet("disconnect")
    assert sat.files.drafts == []


# -- pages to print --------------------------------------------------------------------------------


async def handout(sat: Sat) -> None:
    sat.tab.press("Make the hand-out")
    for _ in range(6):
        await asyncio.sleep(0)


@alone
async def test_a_page_is_made_of_a_recipe_that_is_saved_and_sound() -> None:
    sat = await Sat().begin()
    await sat.sound()
    asked = len(sat.words.asked)
    await handout(sat)
    assert len(sat.words.asked) == asked, "what was checked is not checked again"
    assert [name for name, _ in sat.papers.asked] == ["It.weave"]
    assert sat.files.saved == []


@alone
async def test_a_page_waits_for_the_checks_and_saves_first() -> None:
    sat = await Sat().begin()
    sat.tab.type(OTHER)
    await handout(sat)
    assert "making it; that takes some seconds" in sat.tab.words()
    assert len(sat.tab.all(ui.spinner)) == 1
    assert (sat.papers.asked, sat.files.saved) == ([], [])
    await sat.words.answer(first=[], symptom="")
    assert sat.papers.asked == []
    await sat.sound()
    await until(lambda: sat.papers.asked)
    assert sat.files.saved == [("It.weave", OTHER, TEXT.encode(), False)]


@alone
async def test_a_recipe_that_was_never_saved_is_saved_for_its_page() -> None:
    sat = await Sat(opened=Opened(TEXT, None)).begin()
    await sat.sound()
    await handout(sat)
    assert sat.files.saved == [("It.weave", TEXT, None, False)]


@alone
async def test_no_page_is_made_of_a_recipe_with_errors_or_one_not_looked_at() -> None:
    for answer in ({"findings": [ERROR], "sound": False, "summary": []}, {"refused": "too long"}):
        sat = await Sat().begin()
        await handout(sat)
        await sat.words.answer(**answer)
        await until(lambda sat=sat: "the recipe has errors" in " ".join(sat.tab.words()))
        assert sat.papers.asked == []
        assert sat.files.saved == []


@alone
async def test_no_page_is_made_of_nothing_and_none_is_waited_for() -> None:
    sat = await Sat(opened=Opened(" \n", None)).begin()
    await handout(sat)
    await until(lambda: "there is no recipe yet; type one, or press New" in sat.tab.words())
    sat.tab.press("Make the packing slip")
    await until(lambda: sat.tab.words().count("there is no recipe yet; type one, or press New") > 1)
    assert (sat.papers.asked, sat.files.saved) == ([], [])


@alone
async def test_no_page_is_made_where_the_file_was_changed_meanwhile() -> None:
    sat = await Sat().begin()
    sat.tab.type(OTHER)
    await sat.sound()
    sat.files.fault = ChangedMeanwhile("it was changed meanwhile")
    await handout(sat)
    told = "it was changed meanwhile: press Save, choose, then make the page"
    assert told in sat.tab.words()
    assert sat.papers.asked == []


@alone
async def test_what_is_wanted_of_a_kit_is_one_for_both_tabs() -> None:
    sat = await Sat().begin()
    kits = [one for one in sat.tab.all(ui.input) if one.label == "how many kits"]
    assert len(kits) == 2
    kits[0].value = "5"
    assert kits[1].value == "5"
    assert all(shown(one) for one in kits)
    await sat.sound()
    sat.tab.press("Make the packing slip")
    await until(lambda: sat.papers.asked)
    assert sat.papers.asked == [("It.weave", {"pieces": "5", "spares": "0"})]


@alone
async def test_what_a_page_is_told_of_its_name_is_quoted() -> None:
    files = Files()
    files.there['a "b".weave'] = TEXT
    sat = Sat(files, name='a "b".weave')
    assert sat.title == r'"a \"b\".weave"'
