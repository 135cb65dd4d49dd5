"""What editors are served, asked without one: places as they count, marks, mends, and whose turn it
is to be looked at.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from importlib.metadata import version
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.workspace import Workspace

from ringstep.table import editor_server
from ringstep.table.editor_server import EditorServer

URI, OTHER, THIRD = (f"file:///away/{name}.weave" for name in ("chain", "other", "third"))
#: One letter beyond those of 16 bits takes two units in an editor; a ring may be called that.
RIGHT = """\
weave "Chain 😀"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
expect:
  A meets 2 A, 1 😀
  😀 meets 1 A
start:
  close A
unit:
  add A through prev A picks 1
  add 😀 through A picks 1
piece:
  chain 30 units
"""
UNREAD = RIGHT.replace("  close A", "  clsoe A")


class Worker:
    """A worker that is only asked."""

    made: list[Worker]

    def __init__(self, command: Sequence[str], heard: Any) -> None:
        self.command, self.heard = command, heard
        self.asked: list[dict[str, Any]] = []
        self.stopped = 0
        Worker.made.append(self)

    def ask(self, **question: Any) -> None:
        self.asked.append(question)

    def stop(self) -> None:
        self.stopped += 1


class Editor:
    """The server with texts open in it. shown: what it had marked, in order."""

    def __init__(self, *texts: tuple[str, str, int], changes: bool = True) -> None:
        self.it = EditorServer(["start", "it"])
        protocol = self.it.server.protocol
        protocol._workspace = Workspace(None, lsp.TextDocumentSyncKind.Full)
        edit = lsp.WorkspaceEditClientCapabilities(document_changes=changes)
        workspace = lsp.WorkspaceClientCapabilities(workspace_edit=edit)
        protocol.client_capabilities = lsp.ClientCapabilities(workspace=workspace)
        self.shown: list[lsp.PublishDiagnosticsParams] = []
        self.it.server.text_document_publish_diagnostics = (  # type: ignore[method-assign]
            self.shown.append
        )
        for uri, text, number in texts:
            self.put(uri, text, number)

    def put(self, uri: str, text: str, number: int) -> None:
        """A text as it is now."""
        item = lsp.TextDocumentItem(uri, "weave", number, text)
        self.it.server.workspace.put_text_document(item)

    def ask(self, name: str, params: Any) -> Any:
        """What is answered."""
        return self.it.server.protocol.fm.features[name](params)

    def close(self, uri: str) -> None:
        self.it.server.workspace.remove_text_document(uri)
        params = lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(uri))
        self.ask(lsp.TEXT_DOCUMENT_DID_CLOSE, params)

    def tell(self, uri: str, number: int | None, *found: dict[str, Any]) -> None:
        """What a worker found in a version of a text."""
        question = {"uri": uri, "version": number}
        self.it._told(question, {"findings": list(found)})
        self.it._told(question, {"done": True})


@pytest.fixture(autouse=True)
def workers(monkeypatch: pytest.MonkeyPatch) -> None:
    Worker.made = []
    monkeypatch.setattr(editor_server, "Worker", Worker)
    monkeypatch.setattr(editor_server, "_PAUSE", 0.01)


def asked() -> list[tuple[str, int]]:
    """Which texts the worker was asked for."""
    (worker,) = Worker.made
    return [(one["uri"], one["version"]) for one in worker.asked]


def place(words: str, of: int = 0, text: str = RIGHT) -> lsp.Position:
    """Where some words begin, `of` letters further, in units of 16 bits."""
    before = text[: text.index(words) + of]
    line = before.rpartition("\n")[2]
    return lsp.Position(before.count("\n"), len(line.encode("utf-16-le")) // 2)


def stretch(words: str, of: int = 0, length: int = 0) -> lsp.Range:
    """Where some words stand."""
    return lsp.Range(place(words, of), place(words, of + (length or len(words))))


def finding(line: int, column: int, end: int, **other: Any) -> dict[str, Any]:
    return {
        "rule": "pick-count", "severity": "error", "message": "it is wrong", "line": line,
        "column": column, "end_line": line, "end_column": end, "labels": [], "help": "",
        "mends": [], **other,
    }  # fmt: skip


DOCUMENT = lsp.TextDocumentIdentifier(URI)


# -- what is promised to an editor -----------------------------------------------------------------


def test_an_editor_is_told_what_it_may_ask() -> None:
    it = EditorServer([]).server
    assert (it.name, it.version) == ("ringstep", version("ringstep"))
    assert it._text_document_sync_kind == lsp.TextDocumentSyncKind.Full
    options = it.protocol.fm.feature_options
    assert options[lsp.TEXT_DOCUMENT_RENAME].prepare_provider is True
    assert options[lsp.TEXT_DOCUMENT_COMPLETION].trigger_characters == [" "]
    assert options[lsp.TEXT_DOCUMENT_CODE_ACTION].code_action_kinds == ["quickfix"]
    assert set(it.protocol.fm.features) >= {
        "textDocument/didOpen", "textDocument/didChange", "textDocument/didClose",
        "textDocument/hover", "textDocument/definition", "textDocument/references",
        "textDocument/prepareRename", "textDocument/rename", "textDocument/documentSymbol",
        "textDocument/formatting", "textDocument/completion", "textDocument/codeAction",
    }  # fmt: skip


def test_the_worker_ends_with_the_editor(monkeypatch: pytest.MonkeyPatch) -> None:
    editor = Editor((URI, RIGHT, 1))
    streams: list[Any] = []
    monkeypatch.setattr(editor.it.server, "start_io", lambda *given: streams.extend(given))
    editor.it.serve("asked", "answered")  # type: ignore[arg-type]
    assert streams == ["asked", "answered"]
    editor.it._look(URI, 1)
    editor.it.serve("asked", "answered")  # type: ignore[arg-type]
    assert Worker.made[0].stopped == 1


# -- findings --------------------------------------------------------------------------------------


def test_what_can_be_said_at_once_is_marked_and_the_rest_asked_for() -> None:
    editor = Editor((URI, UNREAD, 3))
    editor.it._look(URI, 3)
    (told,) = editor.shown
    assert (told.uri, told.version) == (URI, 3)
    (mark,) = told.diagnostics
    assert mark.code == "unread-line"
    assert mark.range.start.line == 7
    (worker,) = Worker.made
    assert worker.command == ["start", "it"]
    assert worker.asked == [
        {"about": "findings", "text": UNREAD, "name": "the text", "uri": URI, "version": 3}
    ]
    editor.it._look(URI, 3)
    assert len(Worker.made) == 1, "one worker for all"


def test_a_text_that_changed_since_or_was_closed_is_not_looked_at() -> None:
    editor = Editor((URI, RIGHT, 3))
    editor.it._look(URI, 2)
    editor.it._look(URI, None)
    editor.it._look(OTHER, None)
    editor.it._look(OTHER, 1)
    assert (editor.shown, Worker.made) == ([], [])


def test_a_change_is_looked_at_when_keys_are_still() -> None:
    editor = Editor((URI, RIGHT, 1))
    of = lsp.VersionedTextDocumentIdentifier(1, URI)

    async def typed() -> None:
        change = lsp.DidChangeTextDocumentParams(of, [])
        editor.ask(lsp.TEXT_DOCUMENT_DID_CHANGE, change)
        editor.put(URI, UNREAD, 2)
        item = lsp.TextDocumentItem(URI, "weave", 2, UNREAD)
        editor.ask(lsp.TEXT_DOCUMENT_DID_OPEN, lsp.DidOpenTextDocumentParams(item))
        assert editor.shown == []
        await asyncio.sleep(0.15)
        (told,) = editor.shown
        assert told.version == 2
        (worker,) = Worker.made
        # the worker answers from a thread of its own
        question = {"uri": URI, "version": 2}
        await asyncio.to_thread(worker.heard, question, {"findings": [finding(1, 1, 6)]})
        await asyncio.sleep(0)
        assert len(editor.shown) == 2

    asyncio.run(typed())


def test_what_is_heard_before_anything_changed_does_no_harm() -> None:
    Editor().it._heard({"uri": URI, "version": 1}, {"findings": []})


def test_findings_are_shown_for_the_version_they_are_of() -> None:
    editor = Editor((URI, RIGHT, 2))
    for number in (1, 3, None):
        editor.tell(URI, number, finding(1, 1, 6))
    editor.tell(OTHER, None, finding(1, 1, 6))
    assert editor.shown == []
    editor.tell(URI, 2, finding(1, 1, 6))
    (told,) = editor.shown
    assert (told.uri, told.version, len(told.diagnostics)) == (URI, 2, 1)
    editor.it._told({"uri": URI, "version": 2}, {"first": [finding(1, 1, 6)]})
    assert len(editor.shown) == 1


def test_a_mark_says_all_there_is_to_a_finding() -> None:
    editor = Editor((URI, RIGHT, 1))
    label = {"line": 10, "column": 17, "end_line": 10, "end_column": 23, "text": "one ring"}
    # 'through A' of line 11 stands one unit further than a letter counts
    editor.tell(URI, 1, finding(11, 9, 18, labels=[label], help="do this", severity="warning"))
    (mark,) = editor.shown[0].diagnostics
    assert mark.range == stretch("through A picks 1\np", length=9)
    assert mark.message == "it is wrong\nto mend: do this"
    assert mark.severity == lsp.DiagnosticSeverity.Warning
    assert (mark.code, mark.source) == ("pick-count", "ringstep")
    (other,) = mark.related_information or ()
    assert (other.message, other.location.uri) == ("one ring", URI)
    assert other.location.range == stretch("prev A")
    editor.tell(URI, 1, finding(1, 1, 6), finding(9, 1, 5, severity="note"))
    error, note = editor.shown[1].diagnostics
    assert error.message == "it is wrong"
    assert list(error.related_information or ()) == []
    assert error.severity == lsp.DiagnosticSeverity.Error
    assert note.severity == lsp.DiagnosticSeverity.Information
    over = finding(9, 1, 5, end_line=10)
    editor.tell(URI, 1, over)
    assert editor.shown[2].diagnostics[0].range.end == lsp.Position(9, 4)


# -- whose turn it is ------------------------------------------------------------------------------


def test_texts_wait_for_one_another_and_the_newest_is_first() -> None:
    editor = Editor(*((uri, RIGHT, 1) for uri in (URI, OTHER, THIRD)))
    for uri in (URI, OTHER, THIRD):
        editor.it._look(uri, 1)
    assert asked() == [(URI, 1), (OTHER, 1), (THIRD, 1)]
    editor.tell(OTHER, 1)
    assert len(asked()) == 3, "the worker is at the third"
    editor.tell(THIRD, 1)
    assert asked()[3:] == [(OTHER, 1)]
    editor.tell(OTHER, 1)
    assert asked()[4:] == [(URI, 1)]
    editor.tell(URI, 1)
    assert len(asked()) == 5, "all were looked at"


def test_a_text_that_is_looked_at_again_waits_for_itself_no_more() -> None:
    editor = Editor((URI, RIGHT, 1), (OTHER, RIGHT, 1))
    editor.it._look(URI, 1)
    editor.put(URI, UNREAD, 2)
    editor.it._look(URI, 2)
    editor.tell(URI, 2)
    assert asked() == [(URI, 1), (URI, 2)]
    editor.it._look(URI, 2)
    editor.it._look(OTHER, 1)
    editor.it._look(URI, 2)
    editor.tell(URI, 2)
    assert asked()[2:] == [(URI, 2), (OTHER, 1), (URI, 2), (OTHER, 1)]
    editor.tell(OTHER, 1)
    assert len(asked()) == 6


def test_done_with_an_older_version_frees_nobody() -> None:
    editor = Editor((URI, RIGHT, 1), (OTHER, RIGHT, 1))
    editor.it._look(URI, 1)
    editor.it._look(OTHER, 1)
    editor.put(OTHER, UNREAD, 2)
    editor.tell(OTHER, 1)
    assert asked() == [(URI, 1), (OTHER, 1)]


def test_a_text_that_only_goes_on_frees_nobody() -> None:
    editor = Editor((URI, RIGHT, 1), (OTHER, RIGHT, 1))
    editor.it._look(URI, 1)
    editor.it._look(OTHER, 1)
    editor.it._told({"uri": OTHER, "version": 1}, {"findings": []})
    assert len(asked()) == 2


def test_a_text_that_is_closed_leaves_its_turn_to_the_next() -> None:
    editor = Editor(*((uri, RIGHT, 1) for uri in (URI, OTHER, THIRD)))
    for uri in (URI, OTHER, THIRD):
        editor.it._look(uri, 1)
    editor.tell(URI, 1, finding(1, 1, 6))
    editor.close(OTHER)
    assert (editor.shown[-1].uri, list(editor.shown[-1].diagnostics)) == (OTHER, [])
    editor.close(THIRD)
    editor.tell(THIRD, 1)
    assert asked()[3:] == [(URI, 1)], "the other waits no more"
    editor.close(OTHER)
    params = lsp.CodeActionParams(
        lsp.TextDocumentIdentifier(OTHER), stretch("weave"), lsp.CodeActionContext([])
    )
    assert editor.ask(lsp.TEXT_DOCUMENT_CODE_ACTION, params) == []


# -- mends -----------------------------------------------------------------------------------------


def mend(says: str, line: int, column: int, end: int, text: str) -> dict[str, Any]:
    edit = {"line": line, "column": column, "end_line": line, "end_column": end, "text": text}
    return {"says": says, "edits": [edit]}


def offered(editor: Editor, first: int, last: int) -> list[lsp.CodeAction]:
    """The mends of some lines as an editor counts them."""
    lines = lsp.Range(lsp.Position(first, 0), lsp.Position(last, 0))
    params = lsp.CodeActionParams(DOCUMENT, lines, lsp.CodeActionContext([]))
    return list(editor.ask(lsp.TEXT_DOCUMENT_CODE_ACTION, params))


ONE = finding(11, 3, 6, mends=[mend("one", 11, 9, 16, "around")])
TWO = finding(8, 3, 8, mends=[mend("two", 8, 3, 8, "open"), mend("three", 8, 3, 8, "shut")])


def test_mends_are_offered_where_they_belong() -> None:
    editor = Editor((URI, RIGHT, 4))
    editor.tell(URI, 4, ONE, TWO)
    (one,) = offered(editor, 10, 10)
    assert one.title == "one"
    assert one.kind == lsp.CodeActionKind.QuickFix
    assert list(one.diagnostics or ()) == [editor.shown[0].diagnostics[0]]
    assert one.is_preferred is True
    assert one.edit is not None
    (change,) = one.edit.document_changes or ()
    assert isinstance(change, lsp.TextDocumentEdit)
    assert (change.text_document.uri, change.text_document.version) == (URI, 4)
    assert list(change.edits) == [lsp.TextEdit(stretch("through A picks 1\np", length=7), "around")]
    assert [a.title for a in offered(editor, 7, 7)] == ["two", "three"]
    assert {a.is_preferred for a in offered(editor, 7, 7)} == {False}
    for lines, titles in (
        ((8, 9), []), ((0, 6), []), ((11, 12), []), ((7, 9), ["two", "three"]),
        ((8, 10), ["one"]), ((0, 12), ["one", "two", "three"]),
    ):  # fmt: skip
        assert [a.title for a in offered(editor, *lines)] == titles


def test_mends_are_for_the_text_they_were_tried_in() -> None:
    editor = Editor((URI, RIGHT, 4))
    assert offered(editor, 0, 12) == []
    editor.tell(URI, 4, ONE)
    editor.put(URI, RIGHT, 5)
    assert offered(editor, 0, 12) == []
    editor.close(URI)
    assert offered(editor, 0, 12) == []
    editor.put(URI, RIGHT, 4)
    assert offered(editor, 0, 12) == [], "it was closed meanwhile"


@pytest.mark.parametrize("none", ["no changes", "no edit", "no workspace"])
def test_an_editor_that_knows_no_versions_gets_plain_changes(none: str) -> None:
    editor = Editor((URI, RIGHT, 4), changes=False)
    if none == "no edit":
        editor.it.server.client_capabilities.workspace = lsp.WorkspaceClientCapabilities()
    elif none == "no workspace":
        editor.it.server.client_capabilities.workspace = None
    editor.tell(URI, 4, ONE)
    (one,) = offered(editor, 10, 10)
    assert one.edit is not None
    assert one.edit.document_changes is None
    assert one.edit.changes == {
        URI: [lsp.TextEdit(stretch("through A picks 1\np", length=7), "around")]
    }
