"""The tab of sizes and kit: what the rings are, what to pack and to buy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from ringstep.language.screen import safe

#: What is wanted of a kit, by the names of `shop.wish.read_wish`, and how it is called here.
_WISHES = {
    "pieces": ("how many kits", "1"),
    "spares": ("spare rings, %", "0"),
    "length": ("length, as in 19 cm", ""),
    "clasp": ("its clasp, as in 15 mm", ""),
    "ease": ("room to move, as in 1 cm", ""),
    "pace": ("your seconds a ring", ""),
}


class KitPanel:
    """The tab. wanted: is called when something else is wanted. fields: what is, by its name."""

    def __init__(self, wanted: Callable[[], None]) -> None:
        with ui.row().classes("fields"):
            self.fields = {
                name: ui.input(words, value=value, on_change=lambda: wanted()).props(
                    "dense debounce=400"
                )
                for name, (words, value) in _WISHES.items()
            }
        self._told = {name: ui.html("", sanitize=False).classes("printed") for name in _PARTS}
        self.waiting("kit and sizes stand here once the recipe checks clean")

    @property
    def wish(self) -> dict[str, str]:
        """What is wanted, as typed."""
        return {name: str(field.value or "").strip() for name, field in self.fields.items()}

    def waiting(self, words: str) -> None:
        """Say why nothing is shown."""
        self._told["kit"].set_content(f"<p>{_escaped(words)}</p>")
        self._told["sizes"].set_content("")

    def show(self, answer: dict[str, Any]) -> None:
        """Show a kit or sizes, or why there are none."""
        for name in _PARTS:
            if name in answer:
                self._told[name].set_content(answer[name])  # made of escaped words
            elif f"no_{name}" in answer:
                self._told[name].set_content(f"<p>{_escaped(answer[f'no_{name}'])}</p>")


_PARTS = ("kit", "sizes")


def _escaped(words: str) -> str:
    import html

    return html.escape(safe(words))
