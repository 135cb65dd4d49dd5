"""Changes of the whole text that are asked for by name: its layout, another name for a ring."""

from __future__ import annotations

from nicegui import ui

from ringstep.language.findings import typed_in
from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.table.seen import seen
from ringstep.table.services import rename, tidied
from ringstep.table.text_editor import TextEditor


def tidy_text(editor: TextEditor) -> None:
    """Lay the text out as 'ringstep tidy' does."""
    text = tidied(editor.text)
    if text is None:
        ui.notify("A line cannot be read yet, so the text is left as it is.", type="warning")
    elif text.rstrip("\n") != editor.text.rstrip("\n"):
        editor.replace(text)


def rename_ring(editor: TextEditor) -> None:
    """Ask which ring or part is to be called otherwise, and type the new name in everywhere."""
    text = editor.text
    now = seen(text)
    roles = {role: safe(role) for role in now.roles} if now else {}
    if now is None or not roles:
        ui.notify("The text names no ring yet.", type="warning")
        return
    with ui.dialog(value=True) as dialog, ui.card().classes("asked"):
        ui.label("Rename a ring or part").classes("head")
        old = ui.select(roles, value=next(iter(roles)), label="which")
        new = ui.input("its new name").props("autofocus")
        told = ui.label("").classes("error").props("role=alert")

        def do() -> None:
            span = next(named.span for named in now.names if named.role == old.value)
            try:
                edits = rename(text, span.line, span.column, new.value or "")
            except Refused as fault:
                told.set_text(safe(str(fault)))
                return
            dialog.close()
            editor.replace("\n".join(typed_in(tuple(text.split("\n")), edits)))

        new.on("keydown.enter", do)
        with ui.row():
            ui.button("Rename it everywhere", on_click=do).props("no-caps")
            ui.button("Cancel", on_click=dialog.close).props("no-caps flat")
