"""The text of a recipe in the browser, with colours and marks.

The element is created once, with the text it begins with, and is never updated afterwards: every
update would carry the server's text and put it back over what was typed since. Marks and mends go
through one call each, with the text that they were made for.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from nicegui import ui

from ringstep.language.findings import TextEdit
from ringstep.table.services import colours

Data = dict[str, Any]
#: Letters of a text that is coloured and marked at every key.
_MOST = 100_000


class TextEditor:
    """The editor on one page.

    changed: is told every new text; cursor: the line of the cursor, whenever it comes to another.
    """

    def __init__(
        self, text: str, changed: Callable[[str], None], cursor: Callable[[int], None],
        save: Callable[[], object],
    ) -> None:  # fmt: skip
        self._changed = changed
        self._found: Sequence[Data] = ()
        self._element = ui.codemirror(
            text,
            on_change=lambda event: self._typed(event.value),
            keymap={"Mod-s": lambda _: save()},
            indent="  ",
            line_wrapping=True,
        ).classes("recipe")
        ui.on("cursor", lambda event: cursor(int(event.args)))
        ui.context.client.on_connect(lambda: self._call("begin"))
        ui.context.client.on_connect(lambda: self._mark())

    @property
    def text(self) -> str:
        """What stands there, as far as the server has heard."""
        return str(self._element.value)

    def _call(self, what: str, *arguments: object) -> None:
        told = ", ".join(json.dumps(a) for a in (self._element.id, *arguments))
        self._element.client.run_javascript(f"table.{what}({told})")

    def _typed(self, text: str) -> None:
        self._found = ()
        self._mark()
        self._changed(text)

    def _mark(self) -> None:
        """Colours, and marks under what is wrong."""
        text = self.text
        begins = line_begins(text)
        if len(text) > _MOST:
            return
        marks = [
            {"kind": "mark", "from": begins[c.span.line - 1] + c.span.column - 1,
             "to": begins[c.span.line - 1] + c.span.end - 1, "class": f"is-{c.kind}"}
            for c in colours(text)
        ]  # fmt: skip
        marks += [_mark_of(text, begins, f) for f in self._found if text]
        self._call("mark", text, marks)

    def wrong(self, text: str, found: Sequence[Data]) -> None:
        """Mark what was found in a text."""
        if text == self.text:
            self._found = found
            self._mark()

    def mend(self, text: str, edits: Iterable[TextEdit]) -> None:
        """Type a mend in, where the text is still the one it was made for."""
        begins = line_begins(text)

        def place(line: int, column: int) -> int:
            at = begins[line - 1] + column - 1 if line <= len(begins) else len(text)
            return units(text[:at])

        self._call("change", text, [
            {"from": place(e.line, e.column), "to": place(e.end_line, e.end_column),
             "insert": e.text} for e in edits
        ])  # fmt: skip

    def replace(self, text: str) -> None:
        """Put another text in its place; Undo brings the old one back."""
        old = self.text
        self._call("change", old, [{"from": 0, "to": units(old), "insert": text}])

    def go_to(self, line: int, focus: bool = True) -> None:
        """Put the cursor on a line. focus: the keys go to the text as well."""
        self._call("goTo", line, focus)

    def undo(self) -> None:
        """Take back what was typed last."""
        self._call("again", "undo")

    def redo(self) -> None:
        """Type again what was taken back."""
        self._call("again", "redo")


def line_begins(text: str) -> list[int]:
    """Where each line begins, counted in letters.

    >>> line_begins("add A\\n\\nadd B")
    [0, 6, 7]
    """
    begins = [0]
    for line in text.split("\n")[:-1]:
        begins.append(begins[-1] + len(line) + 1)
    return begins


def units(text: str) -> int:
    """How long a browser takes a text to be: in UTF-16.

    >>> units("a"), units("\\N{DEGREE SIGN}"), units("\\N{LINKED PAPERCLIPS}")
    (1, 1, 2)
    """
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def _mark_of(text: str, begins: list[int], finding: Data) -> Data:
    """The mark under what is wrong; of an empty stretch, or one behind its line, a letter of it."""
    line = min(finding["line"], len(begins)) - 1
    begin, length = begins[line], len(text.split("\n")[line])
    start = begin + min(finding["column"] - 1, max(0, length - 1))
    end = max(start + 1, begin + min(finding["end_column"] - 1, length))
    if not length:
        return {"kind": "line", "line": line + 1, "class": f"wrong-line {finding['severity']}"}
    return {"kind": "mark", "from": start, "to": end, "class": f"wrong {finding['severity']}"}
