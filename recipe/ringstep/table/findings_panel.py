"""What the checks say, in words, each with its mends as buttons that show what would change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui

from ringstep.language.findings import Mend, TextEdit, changed_lines
from ringstep.language.screen import safe

Data = dict[str, Any]
#: Findings told one by one; past them it says how many more there are.
_MOST = 30


class FindingsPanel:
    """The words under the text.

    go_to: puts the cursor on a line. mend: types a mend into the text that it was made for.
    """

    def __init__(
        self, go_to: Callable[[int], None], mend: Callable[[str, Sequence[TextEdit]], None]
    ) -> None:
        self._go_to, self._mend = go_to, mend
        self._shown: object = None
        self._state = ui.label("").classes("state").props("role=status")
        self._list = ui.column().classes("findings").props('aria-label="What the checks say"')

    def say(self, words: str, kind: str = "quiet") -> None:
        """One line on how the text stands."""
        self._state.set_text(words)
        self._state.classes(replace=f"state {kind}")

    def begin(self) -> None:
        """Nothing is written yet: say how to begin."""
        self._list.clear()
        self._shown = None
        self.say(
            "Nothing is written yet. Choose 'New …', above, for a text to begin from, or"
            ' type weave "My first chain"; Words, above, tells how a recipe is written.'
        )

    def show(
        self, text: str, found: Sequence[Data], symptom: str | None, summary: Sequence[str]
    ) -> None:
        """What was found in a text. symptom: None where this is all; for first words, which more
        will follow, what else can be seen to be wrong, or ""."""
        counts = {s: sum(f["severity"] == s for f in found) for s in ("error", "warning", "note")}
        told = ", ".join(f"{n} {s}{'s' if n > 1 else ''}" for s, n in counts.items() if n)
        looking = "" if symptom is None else "; looking for what mends it"
        if any(f["rule"] == "unread-line" for f in found):
            looking = "; what else there is shows once every line can be read"
        if counts["error"] or symptom:
            self.say(f"{safe(symptom or told)}{looking}", "error")
        elif symptom is None:
            self.say(f"checks clean{f' ({told})' if told else ''}", "clean")
        else:
            self.say("checking", "quiet")
            return  # most often all is well in a moment; the words of before may stand so long
        if (now := (found, summary)) == self._shown:
            return
        self._shown = now
        self._list.clear()
        with self._list:
            for finding in found[:_MOST]:
                self._finding(text, finding)
            if (more := len(found) - _MOST) > 0:
                ui.label(f"and {more:,} more; mend these first")
            for line in summary:
                ui.label(safe(line)).classes("quiet")

    def _finding(self, text: str, finding: Data) -> None:
        with ui.element("section").classes(f"finding {finding['severity']}"):
            with ui.element("p"):
                line = finding["line"]
                ui.button(f"line {line}", on_click=lambda: self._go_to(line)).props(
                    "flat dense no-caps"
                ).classes("place")
                ui.label(f"{finding['severity']}: {safe(finding['message'])}").classes("message")
            for label in finding["labels"]:
                ui.label(f"line {label['line']}: {safe(label['text'])}").classes("quiet")
            for words in filter(None, finding["help"].split("\n")):
                ui.label(safe(words)).classes("help")
            mends = [_read(m) for m in finding["mends"]]
            if len(mends) > 1:
                ui.label("Several changes would do; which is meant?").classes("help")
            for mend in mends:
                self._offer(text, mend)

    def _offer(self, text: str, mend: Mend) -> None:
        """A mend: what would change, seen without pointing at anything, and the button."""
        with ui.element("div").classes("mend"):
            with ui.element("pre"):
                for when, number, line in changed_lines(tuple(text.split("\n")), mend.edits):
                    ui.label(f"{when:<6} {number:>3} | {safe(line)}").classes(when)
            ui.button("Mend it", on_click=lambda: self._mend(text, mend.edits)).props(
                f'no-caps dense aria-label="Mend it: {_attribute(mend.says)}"'
            )


def _attribute(words: str) -> str:
    """Words inside the quotes of a property."""
    return safe(words).replace('"', "'").replace("\\", "/")


def _read(mend: Data) -> Mend:
    return Mend(mend["says"], tuple(TextEdit(**edit) for edit in mend["edits"]))
