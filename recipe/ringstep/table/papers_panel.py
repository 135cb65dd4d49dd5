"""The tab from which pages to print are made: hand-outs, packing slips."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from urllib.parse import quote

from nicegui import ui

from ringstep.language.screen import safe
from ringstep.language.source import Refused
from ringstep.table.files import Made, Papers

#: Options of a hand-out and how they are called here.
_WISHES = {
    "large": "large print",
    "left-handed": "for the left hand",
    "teacher": "the teacher's copy, with all counts",
    "screen": "to follow on a phone or tablet, one step a screen",
    "letter": "on Letter instead of A4",
}


_OF_KIT = {"pieces": "how many kits", "spares": "spare rings, %"}


class PapersPanel:
    """The tab.

    kit: the fields in which it is said what is wanted of a kit. ready: saves the recipe and gives
    its name, or None where it has errors.
    """

    def __init__(
        self, papers: Papers, recipe: str, kit: Mapping[str, ui.input],
        ready: Callable[[], Awaitable[str | None]],
    ) -> None:  # fmt: skip
        self._papers, self._ready = papers, ready
        self._told: dict[str, ui.column] = {}
        with ui.column().classes("papers"):
            ui.label("The recipe is saved first; the pages lie in its folder.").classes("quiet")
            ui.label("Hand-out").classes("head")
            self._boxes = {n: ui.checkbox(words).props("dense") for n, words in _WISHES.items()}
            self._button("Make the hand-out", "handout", self._handout)
            ui.label("Packing slip, shopping list and labels for the bags").classes("head")
            with ui.row().classes("fields"):
                self._wish = {
                    name: ui.input(words).props("dense").bind_value(kit[name], "value")
                    for name, words in _OF_KIT.items()
                }
            self._button("Make the packing slip", "slip", self._slip)
        for page in papers.made_of(recipe):
            self._link("slip" if page.endswith("slip.html") else "handout", page)

    def _button(self, words: str, page: str, make: Callable[[], Awaitable[None]]) -> None:
        """A button, and the place beneath it where its page will be."""
        ui.button(words, on_click=make).props("no-caps")
        self._told[page] = ui.column().classes("made").props("role=status")

    async def _handout(self) -> None:
        wishes = {name: bool(box.value) for name, box in self._boxes.items()}
        await self._make("handout", lambda name: self._papers.handout(name, wishes))

    async def _slip(self) -> None:
        wish = {name: field.value or "" for name, field in self._wish.items()}
        await self._make("slip", lambda name: self._papers.slip(name, wish))

    async def _make(self, page: str, make: Callable[[str], Awaitable[Made]]) -> None:
        self._say(page, "making it; that takes some seconds")
        with self._told[page]:
            ui.spinner()
        try:
            name = await self._ready()
            if name is None:
                self._say(page, "the recipe has errors; mend them first, then make the page")
                return
            made = await make(name)
        except Refused as fault:
            self._say(page, str(fault))
            return
        self._say(page, made.words)
        self._link(page, made.name)

    def _link(self, page: str, name: str) -> None:
        with self._told[page]:
            ui.link(f"Open {safe(name)} to print it", f"/made/{quote(name)}", new_tab=True)

    def _say(self, page: str, words: str) -> None:
        self._told[page].clear()
        with self._told[page]:
            for line in filter(None, words.split("\n")):
                ui.label(safe(line))
