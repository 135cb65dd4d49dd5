"""The page: one recipe in one tab of the browser.

Comes in: the folder, what makes pages, how a worker is started. The text is the browser's; the
server follows it, has it checked and draws its rings, and whatever is worked out for a text that
was typed over since is not shown.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from nicegui import ui

from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.table.files import ChangedMeanwhile, Files, Opened, Papers
from ringstep.table.findings_panel import FindingsPanel
from ringstep.table.kit_panel import KitPanel
from ringstep.table.new_recipe import new_recipe
from ringstep.table.papers_panel import PapersPanel
from ringstep.table.ring_data import from_json_able
from ringstep.table.ring_panel import RingPanel
from ringstep.table.text_editor import TextEditor
from ringstep.table.whole_text import rename_ring, tidy_text
from ringstep.table.worker import Worker

Data = dict[str, Any]
#: Seconds without a key after which the draft is kept, and after which rings are drawn anew.
_CALM, _STILL = 0.3, 0.5


@dataclass(frozen=True)
class Behind:
    """What stands behind every page. worker: the command that starts a `Worker`."""

    files: Files
    papers: Papers
    worker: Sequence[str]


class Page:
    """One recipe in one tab."""

    def __init__(self, behind: Behind, name: str, opened: Opened) -> None:
        self._behind, self._name = behind, name
        self._saved, self._seen = opened.text, opened.seen
        self._client = ui.context.client
        self._loop = asyncio.get_running_loop()
        self._sound: str | None = None  # the text that was last found to have no errors
        self._checked: str | None = None  # the text whose findings are all told
        self._calls: dict[str, asyncio.TimerHandle] = {}
        self._settled = asyncio.Event()
        self._words = Worker(behind.worker, self._from_thread(self._heard))
        self._rings = Worker(behind.worker, self._from_thread(self._drawn))
        self._offered = False
        self._line = 1  # of the cursor
        self._asked: str | None = None
        self._asked_rings: str | None = None
        self._build(opened.text)
        self._client.on_connect(self._come)
        self._client.on_disconnect(self._leave)

    # -- what is on the page ---------------------------------------------------------------------

    def _build(self, text: str) -> None:
        with ui.element("header").classes("bar"):
            self._menu()
            self._state = ui.label("").classes("saved").props("role=status")
            ui.button(
                "New …", on_click=lambda: new_recipe(self._behind.files, open_recipe)
            ).props("flat dense no-caps")
            ui.link("Words", "/words", new_tab=True).classes("words").tooltip(
                "how a recipe is written, and what every word means"
            )
            for words, do in (("Undo", self._undo), ("Redo", self._redo)):
                ui.button(words, on_click=do).props("flat dense no-caps")
            ui.button("Save", on_click=lambda: self.save()).props("dense no-caps")
        self._banner = ui.element("div").classes("banner").props("role=alert")
        with ui.element("main").classes("two"):
            with ui.element("div").classes("left"):
                self._editor = TextEditor(text, self._typed, self._cursor, lambda: self.save())
                self._findings = FindingsPanel(self._editor.go_to, self._mend)
            with ui.element("div").classes("right"):
                with ui.tabs().props("dense no-caps align=left") as tabs:
                    names = [ui.tab(t) for t in ("Steps", "Pages to print", "Sizes and kit")]
                with ui.tab_panels(tabs, value=names[0], keep_alive=True).classes("panels"):
                    with ui.tab_panel(names[0]):
                        self._ring_panel = RingPanel(lambda line: self._editor.go_to(line, False))
                    with ui.tab_panel(names[2]):
                        self._kit = KitPanel(self._ask_kit)
                    with ui.tab_panel(names[1]):
                        PapersPanel(self._behind.papers, self._name, self._kit.fields, self._ready)
        self._tell_state()

    def _menu(self) -> None:
        with ui.button(safe(self._name)).props("flat no-caps icon-right=expand_more").classes(
            "name"
        ), ui.menu():
            for other in self._behind.files.recipes():
                if other != self._name:
                    ui.menu_item(safe(other), on_click=lambda n=other: open_recipe(n))
            ui.separator()
            ui.menu_item("Tidy the text", on_click=lambda: tidy_text(self._editor))
            ui.menu_item("Rename a ring …", on_click=lambda: rename_ring(self._editor))

    def _tell_state(self) -> None:
        saved = self._editor.text == self._saved and self._seen is not None
        self._state.set_text("saved" if saved else "not saved yet")
        ui.run_javascript(f"document.title = {_js(safe(self._name) + ('' if saved else ' *'))}")

    # -- typing ----------------------------------------------------------------------------------

    def _typed(self, text: str) -> None:
        self._tell_state()
        self._later("draft", _CALM, self._keep_draft)
        self._check()

    def _check(self) -> None:
        """Have the text checked; what was being worked out for an older one is dropped."""
        text = self._editor.text
        if text == self._asked:
            return
        self._asked, self._checked = text, None
        self._settled.clear()
        self._rings.drop()
        self._asked_rings = None
        self._ring_panel.waiting("The rings are of the text as it was; it is looked at anew.")
        self._words.ask(about="findings", text=text, name=self._name)

    def _heard(self, question: Data, answer: Data) -> None:
        """Findings, or a kit, of a text."""
        text = question["text"]
        if text != self._editor.text:
            return
        if not text.strip():
            self._findings.begin()
        elif "first" in answer:
            self._tell(text, answer["first"], answer["symptom"])
        elif "findings" in answer:
            self._checked = text
            self._sound = text if answer["sound"] else None
            self._tell(text, answer["findings"], None, answer["summary"])
            self._settled.set()
            if answer["sound"]:
                self._later("rings", _STILL, self._draw)
                self._ask_kit()
            else:
                self._ring_panel.waiting("The rings are of the text before its errors.")
                self._kit.waiting("Kit and sizes stand here once the recipe checks clean.")
        elif "refused" in answer or "mishap" in answer:
            self._checked = text
            self._settled.set()
            self._findings.say(answer.get("refused") or answer["mishap"], "error")
        else:
            self._kit.show(answer)

    def _tell(
        self, text: str, found: Sequence[Data], symptom: str | None, summary: Sequence[str] = ()
    ) -> None:
        self._editor.wrong(text, found)
        self._findings.show(text, found, symptom, summary)

    def _undo(self) -> None:
        self._editor.undo()

    def _redo(self) -> None:
        self._editor.redo()

    def _mend(self, text: str, edits: Sequence[Any]) -> None:
        self._editor.mend(text, edits)

    # -- rings, pages, kit -----------------------------------------------------------------------

    def _cursor(self, line: int) -> None:
        self._line = line
        self._ring_panel.go_to_line(line)

    def _draw(self) -> None:
        if self._sound is not None and self._sound != self._asked_rings:
            self._asked_rings = self._sound
            self._rings.ask(about="rings", text=self._sound, name=self._name)

    def _drawn(self, question: Data, answer: Data) -> None:
        if question["text"] != self._editor.text:
            return
        if told := answer.get("refused") or answer.get("mishap"):
            self._ring_panel.trouble(told)
        elif "rings" in answer:
            self._ring_panel.show(answer["rings"])
            self._ring_panel.go_to_line(self._line)

    def _ask_kit(self) -> None:
        if self._sound is not None and self._sound == self._asked:
            self._words.ask(about="kit", text=self._sound, name=self._name, wish=self._kit.wish)

    async def _ready(self) -> str | None:
        """Save a recipe without errors, and give its name. Raises `Refused` where there is none."""
        if not self._editor.text.strip():
            raise Refused("there is no recipe yet; type one, or press New")
        self._check()
        if self._checked != self._editor.text:
            await self._settled.wait()
        if self._sound != self._editor.text:
            return None
        if self._editor.text != self._saved or self._seen is None:
            try:
                self._write(over=False)
            except ChangedMeanwhile as fault:
                raise Refused(f"{fault}: press Save, choose, then make the page") from None
        return self._name

    # -- the file --------------------------------------------------------------------------------

    def save(self, over: bool = False) -> None:
        """Save the text; ask first where the file was changed meanwhile."""
        try:
            self._write(over)
        except ChangedMeanwhile as fault:
            self._ask_which(str(fault))
        except Refused as fault:
            _complain(fault)

    def _write(self, over: bool) -> None:
        text = self._editor.text
        self._seen = self._behind.files.save(self._name, text, self._seen, over)
        self._saved = text
        self._forget_draft()
        self._tell_state()

    def _ask_which(self, told: str) -> None:
        with ui.dialog(value=True).props("persistent") as dialog, ui.card():
            ui.label(safe(told))

            def mine() -> None:
                dialog.close()
                self.save(over=True)

            def other() -> None:
                dialog.close()
                try:
                    opened = self._behind.files.opened(self._name)
                except Refused as fault:
                    _complain(fault)
                    return
                self._saved, self._seen = opened.text, opened.seen
                self._editor.replace(opened.text)
                self._tell_state()

            for words, do in (
                ("Keep my text; the other is kept beside it", mine),
                ("Take the text that is there now; Undo brings mine back", other),
                ("Decide later", dialog.close),
            ):
                ui.button(words, on_click=do).props("no-caps")

    # -- the draft -------------------------------------------------------------------------------

    def _keep_draft(self) -> None:
        try:
            if self._editor.text == self._saved:
                self._behind.files.drop_draft(self._name)
            else:
                self._behind.files.keep_draft(self._name, self._editor.text)
        except Refused as fault:
            self._state.set_text(f"no draft is kept: {safe(str(fault))}")

    def _forget_draft(self) -> None:
        if "draft" in self._calls:
            self._calls.pop("draft").cancel()
        self._behind.files.drop_draft(self._name)

    def _offer_draft(self) -> None:
        draft = self._behind.files.draft(self._name)
        if draft is None:
            return
        with self._banner:
            ui.label(f"There is text that was typed and not saved, kept {draft.kept}.")

            def take() -> None:
                self._banner.clear()
                self._editor.replace(draft.text)

            def drop() -> None:
                self._banner.clear()
                self._behind.files.drop_draft(self._name)

            ui.button("Take it back", on_click=take).props("no-caps dense")
            ui.button("Throw it away", on_click=drop).props("no-caps dense flat")

    # -- time ------------------------------------------------------------------------------------

    def _later(self, what: str, seconds: float, do: Callable[[], None]) -> None:
        """Do something once nothing else asked for the same for so long."""
        if what in self._calls:
            self._calls[what].cancel()

        def now() -> None:
            self._calls.pop(what, None)
            with self._client:
                do()

        self._calls[what] = self._loop.call_later(seconds, now)

    def _from_thread(self, heard: Callable[[Data, Data], None]) -> Callable[[Data, Data], None]:
        """The same, called from the thread of a worker."""

        def here(question: Data, answer: Data) -> None:
            with self._client:
                heard(question, answer)

        def there(question: Data, answer: Data) -> None:
            if "rings" in answer:  # they are many, and the page does not wait for them
                answer["rings"] = from_json_able(answer["rings"])
            with suppress(RuntimeError):  # the page is gone
                self._loop.call_soon_threadsafe(here, question, answer)

        return there

    def _come(self) -> None:
        """The page is there, or there again. By now the page before it has kept its draft."""
        if not self._offered:
            self._offered = True
            self._offer_draft()
        self._asked = self._asked_rings = None
        self._check()

    def _leave(self) -> None:
        """The page was closed, or has lost us for a while; nobody waits for an answer."""
        if "draft" in self._calls:
            self._calls.pop("draft").cancel()
            self._keep_draft()
        for call in self._calls.values():
            call.cancel()
        self._words.stop()
        self._rings.stop()


def open_recipe(name: str) -> None:
    """Go to another recipe of the folder."""
    from urllib.parse import quote

    ui.navigate.to(f"/?file={quote(name)}")


def _complain(fault: Refused) -> None:
    ui.notify(safe(str(fault)), type="negative", timeout=0, close_button="OK")


def _js(words: str) -> str:
    import json

    return json.dumps(words)
