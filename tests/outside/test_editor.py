"""`ringstep editor` as an editor meets it: a real client of the protocol, over stdin and stdout.

Needs the extras `editor` and `test`.
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest
import pytest_lsp
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

ROOT = Path(__file__).resolve().parents[2]
URI = "file:///away/chain.weave"
CHAIN = """\
weave "Chain 😀"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
expect:
  A meets 2
  😀 meets 1
start:
  close A
unit:
  add A through prev A picks 1
  add 😀 through A picks 1
piece:
  chain 30 units
"""
#: One letter beyond those of 16 bits takes two units in an editor; a ring may be called that.
RIGHT = CHAIN.replace("A meets 2", "A meets 2 A, 1 😀").replace("😀 meets 1\n", "😀 meets 1 A\n")
SLIP = RIGHT.replace("through prev A picks 1", "through prev A picks 3")

SERVER = ClientServerConfig(server_command=[sys.executable, "-m", "ringstep", "editor"])


@pytest_lsp.fixture(config=SERVER)
async def client(lsp_client: LanguageClient) -> AsyncIterator[None]:
    params = lsp.InitializeParams(capabilities=client_capabilities("visual-studio-code"))
    await lsp_client.initialize_session(params)
    yield
    await lsp_client.shutdown_session()


def opened(client: LanguageClient, text: str, uri: str = URI) -> None:
    item = lsp.TextDocumentItem(uri, "weave", 1, text)
    client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))


def changed(client: LanguageClient, text: str, version: int, uri: str = URI) -> None:
    change = lsp.TextDocumentContentChangeWholeDocument(text)
    of = lsp.VersionedTextDocumentIdentifier(version, uri)
    client.text_document_did_change(lsp.DidChangeTextDocumentParams(of, [change]))


Marks = list[lsp.Diagnostic]


async def marks(client: LanguageClient, wanted: Callable[[Marks], bool], uri: str = URI) -> Marks:
    """The marks of a text once they are as wanted; fails where they never are."""
    async with asyncio.timeout(20):
        while uri not in client.diagnostics or not wanted(list(client.diagnostics[uri])):
            await client.wait_for_notification(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    return list(client.diagnostics[uri])


def codes(found: Marks) -> list[object]:
    return [mark.code for mark in found]


def place(text: str, words: str, of: int = 0) -> lsp.Position:
    """Where some words begin, `of` letters further, as an editor counts: in units of 16 bits."""
    before = text[: text.index(words) + of]
    line = before.rpartition("\n")[2]
    return lsp.Position(before.count("\n"), len(line.encode("utf-16-le")) // 2)


def typed(text: str, edits: list[lsp.TextEdit]) -> str:
    """A text with the edits of an editor typed in, counted as an editor does."""
    lines = [line.encode("utf-16-le") for line in text.split("\n")]
    for edit in sorted(edits, key=lambda e: (e.range.start.line, e.range.start.character))[::-1]:
        start, end = edit.range.start, edit.range.end
        before = lines[start.line][: 2 * start.character]
        behind = lines[end.line][2 * end.character :] if end.line < len(lines) else b""
        new = before + edit.new_text.encode("utf-16-le") + behind
        lines[start.line : end.line + 1] = [new]
    return "\n".join(line.decode("utf-16-le") for line in lines)


def told_whole(found: list[lsp.Diagnostic]) -> bool:
    """True once what mends it is told as well, below the first words."""
    return bool(found) and "\n" in found[0].message


DOCUMENT = lsp.TextDocumentIdentifier(URI)


@pytest.mark.asyncio
async def test_a_slip_is_marked_and_its_mend_makes_it_right(client: LanguageClient) -> None:
    opened(client, SLIP)
    (mark,) = await marks(client, told_whole)
    assert mark.code == "pick-count"
    assert mark.severity == lsp.DiagnosticSeverity.Error
    assert mark.message.startswith("step 2 says it picks up 3 rings but goes through 1")
    assert mark.range.start == place(SLIP, "picks 3")
    asked = lsp.CodeActionParams(DOCUMENT, mark.range, lsp.CodeActionContext([mark]))
    actions = await client.text_document_code_action_async(asked)
    assert actions
    for action in actions:
        assert action.kind == lsp.CodeActionKind.QuickFix
        assert list(action.diagnostics) == [mark]
        assert action.is_preferred == (len(actions) == 1)
    elsewhere = lsp.Range(lsp.Position(0, 0), lsp.Position(mark.range.start.line - 1, 0))
    asked = lsp.CodeActionParams(DOCUMENT, elsewhere, lsp.CodeActionContext([]))
    assert not await client.text_document_code_action_async(asked)
    mends = {a.title: a.edit.document_changes[0] for a in actions}
    assert all(one.text_document.version == 1 for one in mends.values())
    assert RIGHT in {typed(SLIP, one.edits) for one in mends.values()}
    changed(client, RIGHT, 2)
    assert await marks(client, lambda found: not found) == []


@pytest.mark.asyncio
async def test_a_mark_tells_all_that_a_finding_says(client: LanguageClient) -> None:
    """Its rule, its words with what mends it, and the other places that belong to it."""
    promise = "A meets 2 A, 1 😀\n"
    twice = SLIP.replace(promise, f"{promise}  {promise}")
    opened(client, twice)
    found = await marks(client, lambda found: len(found) > 1 and told_whole(found))
    promised, picked = sorted(found, key=lambda mark: mark.range.start.line)
    assert picked.source == promised.source == "ringstep"
    assert promised.message.startswith("A is promised neighbours twice")
    assert picked.code == "pick-count"
    assert "\nto mend: " in picked.message
    (label,) = [one for one in picked.related_information if one.message.startswith("one ring")]
    assert label.location.uri == URI
    assert label.location.range.start == place(twice, "prev A picks")
    assert picked.range.end == place(twice, "picks 3", len("picks 3"))


@pytest.mark.asyncio
async def test_a_text_that_is_closed_loses_its_marks(client: LanguageClient) -> None:
    opened(client, SLIP)
    assert await marks(client, told_whole)
    client.text_document_did_close(lsp.DidCloseTextDocumentParams(DOCUMENT))
    assert await marks(client, lambda found: not found) == []
    opened(client, SLIP)
    assert codes(await marks(client, told_whole)) == ["pick-count"]


@pytest.mark.asyncio
async def test_mends_of_an_older_text_are_not_offered(client: LanguageClient) -> None:
    opened(client, SLIP)
    (mark,) = await marks(client, told_whole)
    changed(client, f"# one line more\n{SLIP}", 2)
    asked = lsp.CodeActionParams(DOCUMENT, mark.range, lsp.CodeActionContext([mark]))
    assert not await client.text_document_code_action_async(asked)


@pytest.mark.asyncio
async def test_what_is_looked_for_is_dropped_at_the_next_change(client: LanguageClient) -> None:
    """What explains a line taken out of this recipe takes seconds; the next text does not wait."""
    lines = (ROOT / "examples" / "strap_cuff.weave").read_text(encoding="utf-8").split("\n")
    at = next(n for n, line in enumerate(lines) if line.startswith("  add"))
    opened(client, "\n".join(lines[:at] + lines[at + 1 :]))
    await asyncio.sleep(0.6)
    changed(client, SLIP, 2)
    found = await marks(client, lambda found: codes(found) == ["pick-count"])
    assert len(found) == 1


@pytest.mark.asyncio
async def test_each_of_several_texts_gets_its_findings(client: LanguageClient) -> None:
    others = [f"file:///away/other{n}.weave" for n in range(4)]
    for uri in others:
        opened(client, SLIP, uri)
    for uri in others:
        found = await marks(client, bool, uri)
        assert codes(found) == ["pick-count"]


@pytest.mark.asyncio
async def test_an_unread_line_and_a_refused_text(client: LanguageClient) -> None:
    opened(client, RIGHT.replace("add 😀", "ad 😀"))
    (mark,) = await marks(client, bool)
    assert (mark.code, mark.range.start.line) == ("unread-line", 10)
    changed(client, RIGHT.replace("add A", "add 500 A"), 2)
    (mark,) = await marks(client, lambda found: codes(found) == ["unreadable-file"])
    assert "at most" in mark.message or "more than" in mark.message


@pytest.mark.asyncio
async def test_columns_are_counted_as_the_editor_counts(client: LanguageClient) -> None:
    opened(client, RIGHT)
    on_ring = place(RIGHT, "😀 through")
    told = await client.text_document_hover_async(lsp.HoverParams(DOCUMENT, on_ring))
    assert told.contents.value.startswith("😀: wire 1.2 mm")
    assert told.range == lsp.Range(on_ring, lsp.Position(on_ring.line, on_ring.character + 2))
    behind = place(RIGHT, "through A")
    word = await client.text_document_hover_async(lsp.HoverParams(DOCUMENT, behind))
    assert word.contents.value.startswith("through: the rings that the new one goes through")
    assert word.range.start == behind


@pytest.mark.asyncio
async def test_where_a_ring_is_placed_and_named(client: LanguageClient) -> None:
    opened(client, RIGHT)
    at = place(RIGHT, "😀 meets")
    where = await client.text_document_definition_async(lsp.DefinitionParams(DOCUMENT, at))
    assert where.range.start == place(RIGHT, "😀 through")
    context = lsp.ReferenceContext(include_declaration=True)
    uses = await client.text_document_references_async(lsp.ReferenceParams(context, DOCUMENT, at))
    assert [one.range.start for one in uses] == [
        place(RIGHT, "1 😀", 2), at, place(RIGHT, "😀 through"),
    ]  # fmt: skip


@pytest.mark.asyncio
async def test_a_ring_gets_a_new_name(client: LanguageClient) -> None:
    opened(client, RIGHT)
    at = place(RIGHT, "😀 through")
    ready = await client.text_document_prepare_rename_async(lsp.PrepareRenameParams(DOCUMENT, at))
    assert ready.placeholder == "😀"
    nothing = lsp.PrepareRenameParams(DOCUMENT, place(RIGHT, "through"))
    assert await client.text_document_prepare_rename_async(nothing) is None
    edit = await client.text_document_rename_async(lsp.RenameParams(DOCUMENT, at, "drop"))
    (change,) = edit.document_changes
    head, _, rest = RIGHT.partition("\n")
    assert typed(RIGHT, change.edits) == f"{head}\n{rest.replace('😀', 'drop')}"
    with pytest.raises(JsonRpcException, match="called 'A' already"):
        await client.text_document_rename_async(lsp.RenameParams(DOCUMENT, at, "A"))


@pytest.mark.asyncio
async def test_what_may_be_typed(client: LanguageClient) -> None:
    text = RIGHT.replace("through A picks 1", "through pr")
    opened(client, text)
    end = place(text, "through pr\n", 10)
    found = await client.text_document_completion_async(lsp.CompletionParams(DOCUMENT, end))
    items = {item.label: item for item in found.items}
    assert set(items) == {"prev", "prev A", "prev 😀"}
    whole = text.replace("through pr\n", "through prev 😀\n")
    assert typed(text, [items["prev 😀"].text_edit]) == whole
    assert items["prev"].detail.startswith("the ring of the unit before")
    assert found.is_incomplete
    assert sorted(found.items, key=lambda item: item.sort_text) == list(found.items)
    assert len({item.sort_text for item in found.items}) == len(found.items)


@pytest.mark.asyncio
async def test_sections_and_steps_are_listed(client: LanguageClient) -> None:
    opened(client, RIGHT)
    found = await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(DOCUMENT))
    assert [s.name for s in found] == ["rings", "expect", "start", "unit", "piece"]
    unit = found[3]
    assert [s.name for s in unit.children] == [
        "2. add A through prev A picks 1", "3. add 😀 through A picks 1",
    ]  # fmt: skip
    assert (unit.range.start.line, unit.range.end.line) == (8, 10)
    assert unit.range.end == place(RIGHT, "A picks 1\npiece", len("A picks 1"))
    assert unit.selection_range == lsp.Range(place(RIGHT, "unit:"), place(RIGHT, "unit:", 5))
    assert unit.children[1].range.start == place(RIGHT, "add 😀")


@pytest.mark.asyncio
async def test_the_one_layout(client: LanguageClient) -> None:
    loose = RIGHT.replace("  add 😀", "ADD   😀")
    opened(client, loose)
    options = lsp.FormattingOptions(tab_size=2, insert_spaces=True)
    asked = lsp.DocumentFormattingParams(DOCUMENT, options)
    (edit,) = edits = await client.text_document_formatting_async(asked)
    assert typed(loose, edits) == RIGHT
    assert edit.range.start == lsp.Position(0, 0)
    changed(client, loose.replace("ADD", "AD"), 2)
    assert not await client.text_document_formatting_async(asked)


def test_without_the_extra_the_way_to_it_is_told(tmp_path: Path) -> None:
    program = (
        "import sys; sys.modules['pygls'] = None;"
        "from ringstep.commands.cli import main; sys.exit(main(['editor']))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, input="")
    assert done.returncode == 2
    assert done.stderr == "ringstep: editors are served by pygls: pip install 'ringstep[editor]'\n"
