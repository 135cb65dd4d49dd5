"""The services of the table for editors that speak the Language Server Protocol.

Comes in: what an editor asks. Goes out: answers. What can be said at once is told here; what
explains a fault is worked out by the worker, which drops it at the next change.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from functools import partial
from importlib.metadata import version
from typing import Any, BinaryIO

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcInvalidParams
from pygls.lsp.server import LanguageServer
from pygls.workspace import PositionCodec

from ringstep.checks.report import finding_data
from ringstep.language.findings import TextEdit
from ringstep.language.source import Refused, Span
from ringstep.table import services
from ringstep.table.colours import lines_of
from ringstep.table.worker import Data, Worker

#: Changes that follow one another faster than this are looked at once; in seconds.
_PAUSE = 0.03
_SEVERITIES = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "note": lsp.DiagnosticSeverity.Information,
}
_KINDS = {
    "word": lsp.CompletionItemKind.Keyword,
    "heading": lsp.CompletionItemKind.Module,
    "ring": lsp.CompletionItemKind.Variable,
    "name": lsp.CompletionItemKind.Variable,
    "measure": lsp.CompletionItemKind.Unit,
    "material": lsp.CompletionItemKind.Value,
}


class _Page:
    """One version of a text, and the way between its columns and those of the editor.

    Editors count lines from 0, and columns from 0 in units that they choose.
    """

    def __init__(self, text: str, codec: PositionCodec) -> None:
        self.text, self._codec = text, codec
        self._lines = lines_of(text)

    def place(self, position: lsp.Position) -> tuple[int, int]:
        """A place as we count it."""
        wanted = lsp.Position(position.line, position.character)  # pygls may change it
        here = self._codec.position_from_client_units(self._lines, wanted)
        return here.line + 1, here.character + 1

    def range(self, line: int, column: int, end_line: int, end_column: int) -> lsp.Range:
        """A stretch as the editor counts it."""
        whole = lsp.Range(
            lsp.Position(line - 1, column - 1), lsp.Position(end_line - 1, end_column - 1)
        )
        return self._codec.range_to_client_units(self._lines, whole)

    def span(self, span: Span) -> lsp.Range:
        """The same of a span."""
        return self.range(span.line, span.column, span.line, span.end)

    def edit(self, edit: TextEdit) -> lsp.TextEdit:
        """A change of the text."""
        end = edit.end_line, edit.end_column
        return lsp.TextEdit(self.range(edit.line, edit.column, *end), edit.text)


class EditorServer:
    """Serves one editor.

    command: what starts the worker.
    """

    def __init__(self, command: Sequence[str]) -> None:
        self._command = command
        self._worker: Worker | None = None
        self._asked = ""  # the text that the worker looks at, "" where it rests
        self._waiting: dict[str, None] = {}  # texts that it has still to look at
        self._found: dict[str, tuple[int | None, list[Data]]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self.server = LanguageServer(
            "ringstep", version("ringstep"), text_document_sync_kind=lsp.TextDocumentSyncKind.Full
        )
        answers: dict[str, Callable[[Any], object]] = {
            lsp.TEXT_DOCUMENT_DID_OPEN: self._changed,
            lsp.TEXT_DOCUMENT_DID_CHANGE: self._changed,
            lsp.TEXT_DOCUMENT_DID_CLOSE: self._closed,
            lsp.TEXT_DOCUMENT_HOVER: self._hover,
            lsp.TEXT_DOCUMENT_DEFINITION: self._definition,
            lsp.TEXT_DOCUMENT_REFERENCES: self._references,
            lsp.TEXT_DOCUMENT_PREPARE_RENAME: self._prepare_rename,
            lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL: self._symbols,
            lsp.TEXT_DOCUMENT_FORMATTING: self._tidied,
        }
        for name, answer in answers.items():
            self._answers(name, answer)
        renaming = lsp.RenameOptions(prepare_provider=True)
        self._answers(lsp.TEXT_DOCUMENT_RENAME, self._rename, renaming)
        typed = lsp.CompletionOptions(trigger_characters=[" "])
        self._answers(lsp.TEXT_DOCUMENT_COMPLETION, self._completion, typed)
        mends = lsp.CodeActionOptions(code_action_kinds=[lsp.CodeActionKind.QuickFix])
        self._answers(lsp.TEXT_DOCUMENT_CODE_ACTION, self._mends, mends)

    def _answers(self, name: str, answer: Callable[[Any], object], options: Any = None) -> None:
        """Let a question be answered; pygls writes on what answers, which no method allows."""
        self.server.feature(name, options)(partial(answer))

    def serve(self, asked: BinaryIO, answered: BinaryIO) -> None:
        """Answer what comes in on one stream on another until the editor goes away."""
        try:
            self.server.start_io(asked, answered)
        finally:
            if self._worker:
                self._worker.stop()

    def _page(self, uri: str) -> _Page:
        document = self.server.workspace.get_text_document(uri)
        return _Page(document.source, document.position_codec)

    def _version(self, uri: str) -> int | None:
        document = self.server.workspace.text_documents.get(uri)
        return document.version if document else None

    # -- findings --------------------------------------------------------------------------------

    def _changed(
        self, params: lsp.DidOpenTextDocumentParams | lsp.DidChangeTextDocumentParams
    ) -> None:
        uri = params.text_document.uri
        self._loop = asyncio.get_running_loop()
        self._loop.call_later(_PAUSE, self._look, uri, self._version(uri))

    def _closed(self, params: lsp.DidCloseTextDocumentParams) -> None:
        uri = params.text_document.uri
        self._waiting.pop(uri, None)
        self._found.pop(uri, None)
        told = lsp.PublishDiagnosticsParams(uri, [])
        self.server.text_document_publish_diagnostics(told)

    def _look(self, uri: str, version: int | None) -> None:
        """Tell what can be said at once of a text that has not changed since, and ask for more."""
        if version is None or self._version(uri) != version:
            return
        page = self._page(uri)
        first = [finding_data(f) for f in services.first_findings(page.text)]
        self._publish(uri, version, page, first)
        if self._asked and self._asked != uri:
            self._waiting[self._asked] = None
        self._ask(uri)

    def _ask(self, uri: str) -> None:
        """Ask the worker for all there is to say of a text; what it does is dropped."""
        if self._worker is None:
            self._worker = Worker(self._command, self._heard)
        self._waiting.pop(uri, None)
        self._asked = uri
        asked = {"uri": uri, "version": self._version(uri)}
        text = self._page(uri).text
        self._worker.ask(about="findings", text=text, name="the text", **asked)

    def _heard(self, question: Data, told: Data) -> None:
        """What the worker says, in a thread of its own."""
        if self._loop:
            self._loop.call_soon_threadsafe(self._told, question, told)

    def _told(self, question: Data, told: Data) -> None:
        uri, version = question["uri"], question["version"]
        current = self._version(uri)
        if "findings" in told and current is not None and current == version:
            self._publish(uri, version, self._page(uri), told["findings"])
        if "done" in told and self._asked == uri and current in (None, version):
            self._asked = ""
            if self._waiting:
                self._ask(next(reversed(self._waiting)))

    def _publish(self, uri: str, version: int, page: _Page, found: list[Data]) -> None:
        self._found[uri] = version, found
        marks = [self._mark(uri, page, finding) for finding in found]
        told = lsp.PublishDiagnosticsParams(uri, marks, version)
        self.server.text_document_publish_diagnostics(told)

    def _mark(self, uri: str, page: _Page, finding: Data) -> lsp.Diagnostic:
        """A finding as an editor shows it."""
        help = finding["help"]
        return lsp.Diagnostic(
            _range(page, finding),
            f"{finding['message']}\nto mend: {help}" if help else finding["message"],
            severity=_SEVERITIES[finding["severity"]],
            code=finding["rule"],
            source="ringstep",
            related_information=[
                lsp.DiagnosticRelatedInformation(
                    lsp.Location(uri, _range(page, label)), label["text"]
                )
                for label in finding["labels"]
            ],
        )

    def _mends(self, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        uri = params.text_document.uri
        version, found = self._found.get(uri, (None, []))
        if version is None or version != self._version(uri):
            return []  # a mend is right only for the text it was tried in
        page = self._page(uri)
        first, last = params.range.start.line + 1, params.range.end.line + 1
        return [
            lsp.CodeAction(
                mend["says"],
                kind=lsp.CodeActionKind.QuickFix,
                diagnostics=[self._mark(uri, page, finding)],
                edit=self._change(uri, version, [page.edit(TextEdit(**e)) for e in mend["edits"]]),
                is_preferred=len(finding["mends"]) == 1,
            )
            for finding in found
            if first <= finding["line"] <= last
            for mend in finding["mends"]
        ]

    def _change(self, uri: str, version: int, edits: list[lsp.TextEdit]) -> lsp.WorkspaceEdit:
        """A change of one version of a text, as far as the editor can be told so."""
        workspace = self.server.client_capabilities.workspace
        if workspace and workspace.workspace_edit and workspace.workspace_edit.document_changes:
            of = lsp.OptionalVersionedTextDocumentIdentifier(uri, version)
            return lsp.WorkspaceEdit(document_changes=[lsp.TextDocumentEdit(of, edits)])
        return lsp.WorkspaceEdit(changes={uri: edits})

    # -- what stands at a place ------------------------------------------------------------------

    def _hover(self, params: lsp.HoverParams) -> lsp.Hover | None:
        page = self._page(params.text_document.uri)
        told = services.hover(page.text, *page.place(params.position))
        if told is None:
            return None
        words = lsp.MarkupContent(lsp.MarkupKind.PlainText, "\n".join(told.lines))
        return lsp.Hover(words, page.span(told.span))

    def _completion(self, params: lsp.CompletionParams) -> lsp.CompletionList:
        page = self._page(params.text_document.uri)
        choices = services.completions(page.text, *page.place(params.position))
        items = [
            lsp.CompletionItem(
                choice.typed,
                kind=_KINDS[choice.kind],
                detail=choice.says,
                sort_text=f"{number:03d}",
                text_edit=lsp.TextEdit(page.span(choice.span), choice.typed),
            )
            for number, choice in enumerate(choices)
        ]
        return lsp.CompletionList(is_incomplete=True, items=items)

    def _definition(self, params: lsp.DefinitionParams) -> lsp.Location | None:
        uri = params.text_document.uri
        page = self._page(uri)
        span = services.placed(page.text, *page.place(params.position))
        return lsp.Location(uri, page.span(span)) if span else None

    def _references(self, params: lsp.ReferenceParams) -> list[lsp.Location]:
        uri = params.text_document.uri
        page = self._page(uri)
        spans = services.uses(page.text, *page.place(params.position))
        return [lsp.Location(uri, page.span(span)) for span in spans]

    def _prepare_rename(
        self, params: lsp.PrepareRenameParams
    ) -> lsp.PrepareRenamePlaceholder | None:
        page = self._page(params.text_document.uri)
        found = services.renamed(page.text, *page.place(params.position))
        return lsp.PrepareRenamePlaceholder(page.span(found[0]), found[1]) if found else None

    def _rename(self, params: lsp.RenameParams) -> lsp.WorkspaceEdit:
        uri = params.text_document.uri
        page = self._page(uri)
        try:
            edits = services.rename(page.text, *page.place(params.position), params.new_name)
        except Refused as fault:
            raise JsonRpcInvalidParams(str(fault)) from None
        return self._change(uri, self._version(uri) or 0, [page.edit(edit) for edit in edits])

    # -- the whole text --------------------------------------------------------------------------

    def _symbols(self, params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
        page = self._page(params.text_document.uri)
        lines = lines_of(page.text)
        found = []
        for section in services.sections(page.text):
            steps = [
                lsp.DocumentSymbol(
                    f"{number}. {lines[span.line - 1][span.column - 1 : span.end - 1]}",
                    lsp.SymbolKind.Event,
                    page.span(span),
                    page.span(span),
                )
                for number, span in section.steps
            ]
            heading = page.span(section.span)
            end = page.range(section.last, 1, section.last, len(lines[section.last - 1]) + 1).end
            whole = lsp.Range(heading.start, end)
            kind = lsp.SymbolKind.Namespace
            found.append(lsp.DocumentSymbol(section.title, kind, whole, heading, children=steps))
        return found

    def _tidied(self, params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit]:
        """The one layout; no change where a line cannot be read, which a finding tells."""
        page = self._page(params.text_document.uri)
        text = services.tidied(page.text)
        lines = lines_of(page.text)
        if text is None or lines_of(text) == lines:
            return []
        whole = page.range(1, 1, len(lines), len(lines[-1]) + 1)
        return [lsp.TextEdit(whole, text)]


def _range(page: _Page, place: Data) -> lsp.Range:
    """The range of a finding, or of a label of it."""
    return page.range(place["line"], place["column"], place["end_line"], place["end_column"])
