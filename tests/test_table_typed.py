"""The text on the page and what is done to all of it, without a browser: marks, mends, dialogs."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from nicegui import ui
from page_alone import Tab, alone, do
from page_made_up import Files

from ringstep.language.findings import TextEdit
from ringstep.language.shipped import shipped_text, starters
from ringstep.language.source import Refused
from ringstep.table import text_editor
from ringstep.table.new_recipe import new_recipe
from ringstep.table.text_editor import TextEditor
from ringstep.table.whole_text import rename_ring, tidy_text

TEXT = 'weave "It"\nstart:\n  close A\nunit:\n  add A through prev A\n'


# -- marks -----------------------------------------------------------------------------------------


def edited(text: str) -> tuple[Tab, TextEditor]:
    tab = Tab()
    with tab.client:
        return tab, TextEditor(text, lambda _: None, lambda _: None, lambda: None)


def marks(tab: Tab, css: str = "wrong") -> list[dict[str, Any]]:
    """The marks that were sent last, those of a class."""
    text, found = tab.calls("mark")[-1]
    assert text == tab.editor.value
    return [one for one in found if one["class"].startswith(css)]


def wrong(line: int, column: int, end: int, severity: str = "error") -> dict[str, Any]:
    return {"line": line, "column": column, "end_column": end, "severity": severity}


def marked(text: str, *found: dict[str, Any]) -> list[str]:
    """What stands under the marks of some findings, the line where the whole line is marked."""
    tab, editor = edited(text)
    editor.wrong(text, found)
    return [
        f"line {m['line']}" if m["kind"] == "line" else text[m["from"] : m["to"]]
        for m in marks(tab)
    ]


@alone
async def test_what_is_wrong_is_marked() -> None:
    assert marked("add A\nfold B\nclose", wrong(2, 6, 7)) == ["B"]
    assert marked("add A\nfold B\nclose", wrong(2, 1, 5), wrong(1, 5, 6)) == ["fold", "A"]
    assert marked("add A\nfold B\nclose", wrong(3, 1, 6)) == ["close"]


@alone
async def test_of_what_is_missing_a_letter_is_marked() -> None:
    """An empty stretch, one behind its line or its text; an empty line as a whole."""
    text = "add A\n\nfold B"
    assert marked(text, wrong(1, 5, 5)) == ["A"]
    assert marked(text, wrong(1, 6, 6)) == ["A"]
    assert marked(text, wrong(1, 90, 99)) == ["A"]
    assert marked(text, wrong(1, 1, 99)) == ["add A"]
    assert marked(text, wrong(9, 1, 2)) == ["f"]
    assert marked(text, wrong(2, 1, 2)) == ["line 2"]
    assert marked("a\nb", wrong(1, 1, 1), wrong(2, 7, 7)) == ["a", "b"]
    assert marked("", wrong(1, 1, 2)) == []


@alone
async def test_a_mark_says_how_bad_it_is() -> None:
    tab, editor = edited("add A\n")
    editor.wrong("add A\n", [wrong(1, 1, 4, "warning"), wrong(2, 1, 2, "note")])
    one, line = marks(tab)
    assert one == {"kind": "mark", "from": 0, "to": 3, "class": "wrong warning"}
    assert line == {"kind": "line", "line": 2, "class": "wrong-line note"}


@alone
async def test_marks_are_for_the_text_they_were_made_for() -> None:
    tab, editor = edited("add A")
    editor.wrong("add B", [wrong(1, 1, 4)])
    assert tab.calls("mark") == []
    editor.wrong("add A", [wrong(1, 1, 4)])
    assert len(marks(tab)) == 1
    tab.type("add AB")
    assert marks(tab) == [], "they are of the text before"


@alone
async def test_a_text_is_coloured_as_soon_as_it_is_there_and_when_it_changes() -> None:
    tab, _ = edited("start:\n  close A\n")
    assert tab.scripts == []
    await tab.meet("connect")
    assert tab.calls("begin") == [[]]
    tab.type("start:\n  close B\n")
    for which in (0, 1):
        text, found = tab.calls("mark")[which]
        told = {text[m["from"] : m["to"]]: m["class"] for m in found}
        assert told == {"start": "is-heading", ":": "is-mark", "close": "is-act",
                        "AB"[which]: "is-ring"}  # fmt: skip
        assert {m["kind"] for m in found} == {"mark"}


@alone
async def test_very_long_texts_are_not_marked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(text_editor, "_MOST", 10)
    tab, _ = edited("")
    tab.type("close ABCD")
    assert len(tab.calls("mark")) == 1
    tab.type("close ABCDE")
    assert len(tab.calls("mark")) == 1


# -- changes ---------------------------------------------------------------------------------------


@alone
async def test_what_is_typed_and_where_the_cursor_is_is_told() -> None:
    tab, typed, lines, saved = Tab(), list[str](), list[int](), list[int]()
    with tab.client:
        editor = TextEditor("add A", typed.append, lines.append, lambda: saved.append(1))
    assert editor.text == "add A"
    tab.type("add B")
    assert (typed, editor.text) == (["add B"], "add B")
    do(tab.client.layout, "cursor", "7")
    assert lines == [7]
    do(tab.editor, "keybinding", {"key": "Mod-s"})
    assert saved == [1]
    assert tab.editor.props["line-wrapping"]
    assert tab.editor.props["indent"] == "  "


@alone
async def test_a_mend_is_typed_where_it_belongs_as_a_browser_counts() -> None:
    """A paperclip pair is one letter, and two to a browser."""
    text = "add \N{LINKED PAPERCLIPS} A\nfold \N{LINKED PAPERCLIPS} B"
    tab, editor = edited(text)
    editor.mend(text, [TextEdit(2, 8, 2, 9, "C"), TextEdit(1, 1, 1, 4, "close")])
    assert tab.calls("change")[0][1] == [
        {"from": 17, "to": 18, "insert": "C"}, {"from": 0, "to": 3, "insert": "close"},
    ]  # fmt: skip
    assert tab.changed() == text.replace("add", "close").replace("B", "C")
    editor.mend(text, [TextEdit(2, 1, 3, 1, "")])
    assert tab.changed() == text.partition("\n")[0] + "\n", "up to the end of the text"
    editor.mend(text, [TextEdit(1, 1, 2, 1, "")])
    assert tab.changed() == text.partition("\n")[2]


@alone
async def test_a_text_takes_the_place_of_the_whole() -> None:
    text = "add \N{LINKED PAPERCLIPS}\nB"
    tab, editor = edited(text)
    editor.replace("close A")
    assert tab.calls("change") == [[text, [{"from": 0, "to": 8, "insert": "close A"}]]]


@alone
async def test_the_cursor_is_put_on_a_line() -> None:
    tab, editor = edited(TEXT)
    editor.go_to(4)
    editor.go_to(5, False)
    assert tab.calls("goTo") == [[4, True], [5, False]]


# -- a new recipe ----------------------------------------------------------------------------------


@alone
async def test_a_new_recipe_begins_from_nothing_a_starter_or_a_weave() -> None:
    files, made, tab = Files(), list[str](), Tab()
    with tab.client:
        new_recipe(files, made.append)
    (dialog,) = tab.all(ui.dialog)
    assert dialog.value
    (begin,), (name,) = tab.all(ui.select), tab.all(ui.input)
    assert begin.value == "an empty page"
    assert begin.props["use-input"], "one types to find a weave among many"
    words = begin.options
    assert next(iter(words)) == "an empty page"
    assert all(f"starter {kind}" in words for kind in starters())
    assert words["shipped simple_chain"] == "Simple chain (ready made)"
    assert words["starter chain"] == "a first chain, explained line by line"
    for value, typed in (("an empty page", "one"), ("shipped simple_chain", "two"),
                         ("starter chain", "three.weave"), ("an empty page", None)):  # fmt: skip
        begin.value, name.value = value, typed
        tab.press("Make it")
    assert made == ["one", "two", "three.weave", ""]
    assert files.there["one"] == files.there[""] == ""
    assert files.there["two"] == shipped_text("simple_chain")
    assert '\nweave "Three"\n' in files.there["three.weave"]
    assert "check three.weave\n" in files.there["three.weave"]
    begin.value = "starter chain"
    tab.press("Make it")
    assert '\nweave "My first weave"\n' in files.there[""]
    tab.press("Cancel")
    assert not dialog.value


@alone
async def test_why_a_recipe_is_not_made_is_told() -> None:
    tab = Tab()

    def refuse(name: str, text: str) -> str:
        raise Refused(f"'{name}\x1b' is there already")

    with tab.client:
        new_recipe(SimpleNamespace(new=refuse), lambda _: None)  # type: ignore[arg-type]
    tab.all(ui.input)[0].value = "cuff"
    tab.press("Make it")
    assert tab.words("error") == ["'cuff␛' is there already"]


# -- the whole text --------------------------------------------------------------------------------


@alone
async def test_the_text_is_tidied_where_it_can_be_read() -> None:
    tab, editor = edited(TEXT.replace("  close", "CLOSE"))
    tidy_text(editor)
    assert tab.changed() == TEXT
    for tidy in (TEXT, TEXT.rstrip("\n"), TEXT + "\n"):
        tab, editor = edited(tidy)
        tidy_text(editor)
        assert tab.calls("change") == [], "nothing is to be done"
    tab, editor = edited(TEXT.replace("close", "clsoe"))
    with tab.client:
        tidy_text(editor)
    (note,) = tab.notes
    assert note["message"] == "A line cannot be read yet, so the text is left as it is."
    assert note["type"] == "warning"
    assert tab.calls("change") == []


TWO = TEXT.replace("prev A\n", "prev A\n  add drop through A\n")


@pytest.mark.parametrize("by", ["button", "key"])
@alone
async def test_a_ring_is_called_otherwise(by: str) -> None:
    tab, editor = edited(TWO)
    with tab.client:
        rename_ring(editor)
    (dialog,), (which,), (new,) = tab.all(ui.dialog), tab.all(ui.select), tab.all(ui.input)
    assert dialog.value
    assert which.options == {"A": "A", "drop": "drop"}
    assert which.value == "A"
    which.value, new.value = "drop", None
    tab.press("Rename it everywhere")
    assert tab.words("error")[0].startswith("'' is no name for a ring")
    new.value = "A"
    tab.press("Rename it everywhere")
    assert "is called 'A' already" in tab.words("error")[0]
    assert tab.calls("change") == []
    new.value = "bell"
    if by == "button":
        tab.press("Rename it everywhere")
    else:
        do(new, "keydown")
    assert tab.changed() == TWO.replace("drop", "bell")
    assert not dialog.value


@alone
async def test_the_name_chosen_first_is_renamed_in_all_its_places() -> None:
    tab, editor = edited(TWO)
    with tab.client:
        rename_ring(editor)
    tab.all(ui.input)[0].value = "B"
    tab.press("Rename it everywhere")
    assert tab.changed() == TWO.replace("A", "B")
    with tab.client:
        rename_ring(editor)
    tab.press("Cancel")
    assert not tab.all(ui.dialog)[-1].value


@pytest.mark.parametrize("text", ["weave\n", "weave\0", ""])
@alone
async def test_where_no_ring_is_named_none_is_renamed(text: str) -> None:
    tab, editor = edited(text)
    with tab.client:
        rename_ring(editor)
    (note,) = tab.notes
    assert (note["message"], note["type"]) == ("The text names no ring yet.", "warning")
    assert tab.all(ui.dialog) == []
