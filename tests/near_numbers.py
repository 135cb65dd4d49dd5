"""Texts full of numbers against stored ones: the words the same, the numbers as near as is said."""

from __future__ import annotations

import re

_NUMBER = re.compile(r"[ ,]*(-?\d+(?:\.\d+)?)")


def apart(one: str, other: str) -> float:
    """How far a number of a text is at most from that of another; without end where their words
    differ. What parts two numbers counts for nothing: '-' parts them as a blank does."""
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return float("inf")
    mine, its = (map(float, _NUMBER.findall(text)) for text in (one, other))
    return max((abs(a - b) for a, b in zip(mine, its, strict=True)), default=0.0)
