"""Small recipes in one line, for tests that work out by hand what comes of them."""

from __future__ import annotations

from helpers import view

from ringstep.weave.piece import Weave

RINGS = "rings:\n  all  wire 1.2 mm, inside 6 mm, copper\n"


def recipe(body: str, rings: str = RINGS) -> str:
    """A recipe whose lines are parted by '/', two blanks before a line that is no heading."""
    lines = [line.strip() for line in body.split("/")]
    return 'weave "It"\n' + rings + "".join(f"{x}\n" if x[-1] == ":" else f"  {x}\n" for x in lines)


def weave(body: str, rings: str = RINGS) -> Weave:
    """What such a recipe comes to, all of it read."""
    seen = view(recipe(body, rings))
    assert not seen.troubles
    return seen.weave
