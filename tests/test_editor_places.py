"""What stands at a place of a text, as an editor asks and counts: in units of 16 bits, from 0."""

from __future__ import annotations

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcInvalidParams
from test_editor_alone import DOCUMENT, RIGHT, URI, Editor, place, stretch


def test_what_stands_at_a_place_is_told() -> None:
    editor = Editor((URI, RIGHT, 1))

    def told(words: str, of: int = 0) -> lsp.Hover | None:
        return editor.ask(  # type: ignore[no-any-return]
            lsp.TEXT_DOCUMENT_HOVER, lsp.HoverParams(DOCUMENT, place(words, of))
        )

    ring = told("😀 through")
    assert ring is not None
    assert isinstance(ring.contents, lsp.MarkupContent)
    assert ring.contents.kind == lsp.MarkupKind.PlainText
    first, second, *_ = ring.contents.value.split("\n")
    assert first.startswith("😀: wire 1.2 mm")
    assert second == "30 rings in the piece"
    assert ring.range == stretch("😀 through", length=1)
    word = told("through A picks 1\np", 3)
    assert word is not None
    assert word.range == stretch("through A picks 1\np", length=7)
    assert told("Chain") is None


def test_a_place_that_pygls_was_given_is_left_as_it_was() -> None:
    editor = Editor((URI, RIGHT, 1))
    asked = place("through A picks 1\np")
    before = (asked.line, asked.character)
    editor.ask(lsp.TEXT_DOCUMENT_HOVER, lsp.HoverParams(DOCUMENT, asked))
    assert (asked.line, asked.character) == before


def test_where_a_ring_is_placed_and_named() -> None:
    editor = Editor((URI, RIGHT, 1))
    at = place("😀 meets")
    where = editor.ask(lsp.TEXT_DOCUMENT_DEFINITION, lsp.DefinitionParams(DOCUMENT, at))
    assert where == lsp.Location(URI, stretch("😀 through", length=1))
    nothing = lsp.DefinitionParams(DOCUMENT, place("meets 1"))
    assert editor.ask(lsp.TEXT_DOCUMENT_DEFINITION, nothing) is None
    context = lsp.ReferenceContext(include_declaration=True)
    uses = lsp.ReferenceParams(context, DOCUMENT, at)
    assert editor.ask(lsp.TEXT_DOCUMENT_REFERENCES, uses) == [
        lsp.Location(URI, stretch("1 😀", 2, 1)),
        lsp.Location(URI, stretch("😀 meets", length=1)),
        lsp.Location(URI, stretch("😀 through", length=1)),
    ]


@pytest.mark.parametrize("changes", [True, False])
def test_a_ring_gets_a_new_name(changes: bool) -> None:
    editor = Editor((URI, RIGHT, 6), changes=changes)
    at = place("😀 through")
    ready = editor.ask(lsp.TEXT_DOCUMENT_PREPARE_RENAME, lsp.PrepareRenameParams(DOCUMENT, at))
    assert (ready.placeholder, ready.range) == ("😀", stretch("😀 through", length=1))
    nothing = lsp.PrepareRenameParams(DOCUMENT, place("through"))
    assert editor.ask(lsp.TEXT_DOCUMENT_PREPARE_RENAME, nothing) is None
    edit = editor.ask(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameParams(DOCUMENT, at, "drop"))
    expected = [
        lsp.TextEdit(stretch("1 😀", 2, 1), "drop"),
        lsp.TextEdit(stretch("😀 meets", length=1), "drop"),
        lsp.TextEdit(stretch("😀 through", length=1), "drop"),
    ]
    if changes:
        (one,) = edit.document_changes
        assert (one.text_document.uri, one.text_document.version) == (URI, 6)
        assert one.edits == expected
    else:
        assert edit.changes == {URI: expected}
    with pytest.raises(JsonRpcInvalidParams, match="is called 'A' already"):
        editor.ask(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameParams(DOCUMENT, at, "A"))


def test_a_text_without_a_number_is_renamed_as_version_nought() -> None:
    editor = Editor((URI, RIGHT, 0))
    params = lsp.RenameParams(DOCUMENT, place("😀 through"), "drop")
    edit = editor.ask(lsp.TEXT_DOCUMENT_RENAME, params)
    assert edit.document_changes[0].text_document.version == 0


def test_what_may_be_typed_is_offered_in_its_order() -> None:
    text = RIGHT.replace("through A picks 1", "through pr")
    editor = Editor((URI, text, 1))
    end = place("through pr\n", 10, text)
    found = editor.ask(lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionParams(DOCUMENT, end))
    assert found.is_incomplete
    items = list(found.items)
    assert [item.label for item in items] == ["prev A", "prev 😀", "prev"]
    assert [item.sort_text for item in items] == ["000", "001", "002"]
    assert [item.kind for item in items] == [
        lsp.CompletionItemKind.Variable, lsp.CompletionItemKind.Variable,
        lsp.CompletionItemKind.Keyword,
    ]  # fmt: skip
    assert items[0].detail == "the ring of the unit before"
    begin = place("through pr\n", 8, text)
    assert items[1].text_edit == lsp.TextEdit(lsp.Range(begin, end), "prev 😀")


def test_sections_and_steps_are_listed() -> None:
    editor = Editor((URI, RIGHT + "\n", 1))
    params = lsp.DocumentSymbolParams(DOCUMENT)
    found = editor.ask(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL, params)
    assert [s.name for s in found] == ["rings", "expect", "start", "unit", "piece"]
    assert {s.kind for s in found} == {lsp.SymbolKind.Namespace}
    unit = found[3]
    assert unit.selection_range == stretch("unit:")
    assert unit.range == lsp.Range(place("unit:"), place("A picks 1\npiece", 9))
    assert [s.name for s in unit.children] == [
        "2. add A through prev A picks 1", "3. add 😀 through A picks 1",
    ]  # fmt: skip
    assert {s.kind for s in unit.children} == {lsp.SymbolKind.Event}
    second = unit.children[1]
    assert second.range == second.selection_range == stretch("add 😀 through A picks 1")
    assert found[0].children == []
    assert found[4].range.end == place("30 units", 8), "empty lines belong to nothing"


def test_the_one_layout_is_one_change_of_the_whole() -> None:
    options = lsp.FormattingOptions(tab_size=2, insert_spaces=True)
    params = lsp.DocumentFormattingParams(DOCUMENT, options)

    def tidied(text: str) -> list[lsp.TextEdit]:
        return list(Editor((URI, text, 1)).ask(lsp.TEXT_DOCUMENT_FORMATTING, params))

    loose = RIGHT.replace("  add 😀", "ADD   😀")
    (edit,) = tidied(loose)
    assert edit.new_text == RIGHT
    assert edit.range == lsp.Range(lsp.Position(0, 0), lsp.Position(13, 0))
    (edit,) = tidied(RIGHT.rstrip("\n") + "  # 😀")
    assert edit.range.end == lsp.Position(12, 16 + 2 + 4), "a letter may take two units"
    assert tidied(RIGHT) == []
    assert tidied(RIGHT.replace("\n", "\r\n")) == [], "ends of lines are the editor's"
    assert tidied(loose.replace("ADD", "AD")) == []
