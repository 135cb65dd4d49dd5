"""Small recipes with slips in them, stored as text, each slip with lines of what comes of it.

A recipe stands under 'recipe NAME' with '/' between its lines, its rings and parts, where they are
others than usual, behind 'rings'. Under 'slip' stands what is right, '->' and what was written;
then, indented, what comes of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from small_recipes import RINGS, recipe

STORED = Path(__file__).parent / "stored"


@dataclass(frozen=True)
class Slip:
    """A slip. line: the first that it changes; told: the lines of what comes of it."""

    name: str
    right: str
    wrong: str
    line: str
    told: tuple[str, ...]


def stored_slips(file: str) -> dict[str, Slip]:
    """Every slip of a file by its name."""
    text = (STORED / f"{file}.txt").read_text(encoding="utf-8")
    return {slip.name: slip for block in text.split("\nrecipe ")[1:] for slip in _slips(block)}


def _slips(block: str) -> Iterator[Slip]:
    head, *slips = block.split("\n\nslip ")
    name, *lines = head.split("\n")
    rings = "".join(x.removeprefix("rings ") for x in lines if x.startswith("rings "))
    body = "".join(x.strip() for x in lines if not x.startswith("rings "))
    right = _typed(body, rings)
    for slip in slips:
        words, *told = slip.strip().split("\n")
        old, _, new = words.partition(" -> ")
        if old not in body:
            raise ValueError(f"{name}: '{old}' is not in the recipe")
        wrong = _typed(body.replace(old, new, 1), rings)
        pairs = zip(right.split("\n"), wrong.split("\n"), strict=False)
        line = next(b for a, b in pairs if a != b).strip()
        yield Slip(f"{name}: {words}", right, wrong, line, tuple(x.strip() for x in told))


def _typed(body: str, rings: str) -> str:
    """A recipe whose lines are parted by '/'."""
    if not rings:
        return recipe(body, RINGS)
    lines = [f"{x}\n" if x[-1] == ":" else f"  {x}\n" for x in rings.split("/")]
    return recipe(body, "".join(lines))
