"""The dialog in which a new recipe is begun: from nothing, a starter, or a shipped weave."""

from __future__ import annotations

from collections.abc import Callable

from nicegui import ui

from ringstep.language.screen import safe
from ringstep.language.shipped import shipped_text, shipped_weaves, starters
from ringstep.language.source import Refused
from ringstep.language.starter import starter
from ringstep.table.files import Files

_NOTHING = "an empty page"


def new_recipe(files: Files, made: Callable[[str], None]) -> None:
    """Ask for a name and a beginning. made: is called with the name of the new recipe."""
    begins = {_NOTHING: _NOTHING}
    begins |= {f"starter {kind}": f"a first {kind}, explained line by line" for kind in starters()}
    begins |= {f"shipped {name}": f"{_plain(name)} (ready made)" for name in shipped_weaves()}
    with ui.dialog(value=True) as dialog, ui.card().classes("asked"):
        ui.label("A new recipe").classes("head")
        name = ui.input("what to call it, as in cuff").props("autofocus")
        begin = ui.select(begins, value=_NOTHING, label="begin from", with_input=True)
        told = ui.label("").classes("error").props("role=alert")

        def make() -> None:
            try:
                made(files.new(name.value or "", _text(begin.value, name.value or "")))
            except Refused as fault:
                told.set_text(safe(str(fault)))

        with ui.row():
            ui.button("Make it", on_click=make).props("no-caps")
            ui.button("Cancel", on_click=dialog.close).props("no-caps flat")


def _plain(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _text(begin: str, name: str) -> str:
    """What a new recipe begins with."""
    kind, _, which = begin.partition(" ")
    if kind == "starter":
        return starter(which, name.removesuffix(".weave"))
    if kind == "shipped":
        return shipped_text(which)
    return ""
