"""What the page asks of the folder it was opened on, and of the commands; they lie behind the rim.

Everything here raises `Refused` with words where it cannot be done.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from ringstep.language.source import Refused


class ChangedMeanwhile(Refused):
    """The file on the disk is no longer what was last seen of it; it was left as it is."""


@dataclass(frozen=True)
class Opened:
    """A recipe as it lies in the folder. seen: its bytes; None where there is no such file yet."""

    text: str
    seen: bytes | None


@dataclass(frozen=True)
class Draft:
    """What was typed and not saved. kept: when, as the clock said."""

    text: str
    kept: str


class Files(Protocol):
    """The folder of recipes."""

    def recipes(self) -> Sequence[str]:
        """The names of all recipes in it."""

    def opened(self, name: str) -> Opened:
        """Read a recipe."""

    def save(self, name: str, text: str, seen: bytes | None, over: bool = False) -> bytes:
        """Write a recipe whole or not at all, and give what is there now.

        seen: what was last seen of it. Raises `ChangedMeanwhile` where that is no longer there,
        unless it is to be written over.
        """

    def new(self, name: str, text: str) -> str:
        """Write a recipe that is not there yet; gives its whole name."""

    def draft(self, name: str) -> Draft | None:
        """What was typed and not saved, where it differs from the file."""

    def keep_draft(self, name: str, text: str) -> None:
        """Keep what was typed and not saved."""

    def drop_draft(self, name: str) -> None:
        """Forget what was typed and not saved."""


@dataclass(frozen=True)
class Made:
    """A page that was made. name: of its file beside the recipe. words: what was said of it."""

    name: str
    words: str


class Papers(Protocol):
    """Makes pages of saved recipes."""

    async def handout(self, name: str, wishes: Mapping[str, bool]) -> Made:
        """The hand-out. wishes: options by name."""

    async def slip(self, name: str, wish: Mapping[str, str]) -> Made:
        """The packing slip with shopping list and labels. wish: options of a kit by name."""

    def made_of(self, recipe: str) -> Sequence[str]:
        """The pages that were made of a recipe since the beginning."""

    def read(self, name: str) -> bytes:
        """A page that was made."""
