"""Link diagrams as they were looked at: which rings, lines and words, and where, in numbers.

Some are told line by line, all others in one line each: their rings with their places, the middle
of all lines of a kind, and the words.

Numbers may be off by a point, so that a change of rounding counts for nothing; a ring, a line or a
word that moves, goes or changes is told. Where a drawing is meant to change:
`python tests/draw/test_diagrams_stored.py`, look at the pictures, and store them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]

import near_numbers  # noqa: E402
from helpers import shipped_texts, view  # noqa: E402

from ringstep.draw.diagrams import all_diagrams  # noqa: E402
from ringstep.draw.pictures import Diagram  # noqa: E402

STORED = ROOT / "tests" / "stored" / "diagrams.txt"
IN_SHORT = ROOT / "tests" / "stored" / "diagrams_in_short.txt"
#: Pieces of each kind of layout, and the pictures of them that are compared.
PIECES = {
    "both_ways_bracelet": ("step-03",),
    "box_chain": ("step-05", "window"),
    "captive_ring": ("window",),
    "clasp_chain": ("step-12",),
    "cube_of_panels": ("step-05", "step-06"),
    "diamond_pendant": ("step-02",),
    "drop_earring": ("step-03", "window"),
    "eight_petals": ("step-01",),
    "european_4": ("step-02", "unit", "window"),
    "european_4_strip": ("step-03", "unit"),
    "european_8": ("step-02", "unit"),
    "european_tube": ("step-02", "step-03"),
    "flower_chain": ("step-05", "window"),
    "gathered_loop": ("step-04",),
    "heart_panel": ("step-02",),
    "hexagon_plate": ("step-08", "unit"),
    "japanese_hexagonal": ("step-03", "unit"),
    "japanese_tube": ("step-03", "unit"),
    "joined_strips": ("step-03",),
    "lantern_ball": ("step-12", "step-15", "step-18"),
    "linked_pairs": ("unit",),
    "persian_linked": ("step-10", "unit"),
    "rosettes_in_a_row": ("step-02", "step-05", "window"),
    "spiral_loop": ("step-05",),
    "spiral_two_wires": ("window",),
    "striped_cuff": ("step-03",),
    "sun_bracelet": ("step-05",),
    "thimble": ("step-03", "step-04", "window"),
    "three_festoons": ("step-06", "window"),
    "y_necklace": ("step-08", "window"),
}
PICTURES = [(piece, name) for piece, names in PIECES.items() for name in names]
#: Pieces whose pictures are many and alike, or whose twins are told.
LEFT_OUT = ("persian_linked_written", "strap_cuff")
#: How far a number may be from the stored one, in points.
OFF = 1.0


def told(diagram: Diagram) -> Iterator[str]:
    """A line for the frame and each ring, line and caption of a picture."""
    yield f"{diagram.title} / {diagram.alt} @ {numbers(diagram.frame)}"
    for node in diagram.nodes:
        signs = "box " * node.box + "again " * node.again + "moved " * node.moved
        yield (
            f"ring {node.key} {node.mark} {signs}{'|'.join(node.lines)}: {node.full}"
            f" @ {numbers((*node.at, node.across))}"
        )
    for line in diagram.lines:
        points = [x for point in line.path for x in point]
        yield f"line {line.a} {line.b} {line.mark} {line.side} @ {numbers(points)}"
    for words in diagram.captions:
        signs = "strong " * words.strong + "left " * words.left
        yield f"words {signs}{words.text} @ {numbers(words.at)}"


def numbers(given: object) -> str:
    return " ".join(f"{x:.1f}" for x in given)  # type: ignore[attr-defined]


def in_short(diagram: Diagram) -> str:
    """A picture in one line: all its words, then all its numbers."""
    labels = [f"{'|'.join(node.lines)} {node.mark}" for node in diagram.nodes]
    paths: dict[str, list[tuple[float, float]]] = {}
    for line in diagram.lines:
        paths.setdefault(f"{line.mark} {line.side or ''}".rstrip(), []).extend(line.path)
    lines = [f"{len(points) // 4} {mark}" for mark, points in sorted(paths.items())]
    middles = [sum(points) / len(points) for _, each in sorted(paths.items())
               for points in zip(*each, strict=True)]  # fmt: skip
    captions = [words.text for words in diagram.captions]
    places = [x for at in (*diagram.nodes, *diagram.captions) for x in at.at]
    words = [diagram.title, diagram.alt, *map("; ".join, (labels, lines, captions))]
    figures = " ".join(f"{x:.0f}" for x in (*diagram.frame, *places, *middles))
    return f"{' / '.join(words)} @ {figures}"


@cache
def pictures(piece: str) -> list[Diagram]:
    return [d for d in all_diagrams(view(shipped_texts()[piece])) if d.name != "key"]


@cache
def drawn(piece: str) -> dict[str, list[str]]:
    return {d.name: list(told(d)) for d in pictures(piece)}


def drawn_in_short(piece: str) -> list[str]:
    told_in_full = PIECES.get(piece, ())
    return [f"{d.name} {in_short(d)}" for d in pictures(piece) if d.name not in told_in_full]


@cache
def stored(file: Path = STORED) -> dict[str, list[str]]:
    found = {}
    for picture in file.read_text(encoding="utf-8").split("\n\n"):
        name, *lines = picture.strip().split("\n")
        found[name] = lines
    return found


def apart(one: str, other: str) -> float:
    """How far the numbers of a line are from those of another at most; without end where its
    words differ."""
    (words, _, mine), (known, _, its) = one.rpartition("@"), other.rpartition("@")
    here, there = ([float(x) for x in part.split()[-8:]] for part in (mine, its))
    if words != known or len(here) != len(there):
        return float("inf")
    return max(abs(a - b) for a, b in zip(here, there, strict=True))


@pytest.mark.parametrize(("piece", "name"), PICTURES)
def test_a_diagram_is_the_one_that_was_looked_at(piece: str, name: str) -> None:
    here, known = drawn(piece)[name], stored()[f"{piece} {name}"]
    assert len(here) == len(known)
    for one, other in zip(here, known, strict=True):
        assert apart(one, other) <= OFF, f"\n{one}\n{other}"


@pytest.mark.parametrize("piece", sorted({*shipped_texts()} - {*LEFT_OUT}))
def test_all_other_diagrams_are_those_that_were_looked_at(piece: str) -> None:
    here, known = drawn_in_short(piece), stored(IN_SHORT)[piece]
    assert len(here) == len(known)
    for one, other in zip(here, known, strict=True):
        (words, _, mine), (names, _, its) = one.rpartition("@"), other.rpartition("@")
        assert words == names
        assert near_numbers.apart(mine, its) <= OFF, f"\n{one}\n{other}"


if __name__ == "__main__":
    _lines = ("\n".join([p, *drawn_in_short(p)]) for p in sorted({*shipped_texts()} - {*LEFT_OUT}))
    IN_SHORT.write_text("\n\n".join(_lines) + "\n", encoding="utf-8")
    _texts = ("\n".join([f"{piece} {name}", *drawn(piece)[name]]) for piece, name in PICTURES)
    STORED.write_text("\n\n".join(_texts) + "\n", encoding="utf-8")
