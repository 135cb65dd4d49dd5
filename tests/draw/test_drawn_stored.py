"""Pictures of rings, charts and plans as they were looked at, and what Graphviz is handed.

Where rings lie is given here, so that nothing but the drawing of them is compared: their strokes,
which of them is over which, tones, arrows, names and the frame, each number but for a few tenths of
a pixel. Where a drawing is meant to change: `python tests/draw/test_drawn_stored.py FOLDER` puts
them there as files, too; look at them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests"), str(ROOT / "tests" / "draw")]

import heaps  # noqa: E402
from helpers import shipped_texts, view  # noqa: E402
from near_numbers import apart  # noqa: E402
from test_parts import BEAD, TAG, THREAD  # noqa: E402
from test_rings import edge_on  # noqa: E402

from ringstep.draw.angle import best_view, turned  # noqa: E402
from ringstep.draw.chart import charts, plans  # noqa: E402
from ringstep.draw.diagrams import all_diagrams  # noqa: E402
from ringstep.draw.drawing import dot_text  # noqa: E402
from ringstep.draw.rings import after, before, picture  # noqa: E402
from ringstep.space.state import Bar, Round, State  # noqa: E402
from ringstep.weave.piece import Weave  # noqa: E402

STORED = ROOT / "tests" / "stored" / "drawn.txt"
#: How far a number may be from the stored one: tenths of a pixel, or points.
OFF = 3.0

#: A ring that lies flat, and one that stands upright and goes through it; mm.
FLAT = Round((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 3.0, 1.0)
UPRIGHT = Round((3.0, 0.0, 0.0), (0.0, 1.0, 0.0), 3.0, 1.0)
#: A plate that slants away from the eye, its hole out of its middle; mm.
PLATE = Round(
    (2.0, 1.0, 0.0), (0.0, 0.6, 0.8), 1.5, 0.8, Bar((-2.0, 0.0, 0.0), (4.0, 0.0, 0.0), 5.0, 2.2)
)


def named(work: State) -> dict[object, str]:
    """A name for each ring that the step is about: new ones N, those gone through T."""
    return {r: f"N{r.index}" for r in work.new} | {r: f"T{r.index}" for r in work.through}


def step(name: str, kind: str, drawn: Callable[..., str] = after, **more: object) -> str:
    """The last ring of a few units of a weave, in the view that shows it best."""
    rings = heaps.weave(name, 12)
    through = [k for k, ring in enumerate(rings[:-1]) if heaps.linked(ring, rings[-1])]
    work = heaps.state(rings, [len(rings) - 1], through)
    return drawn(work, best_view([work], kind), named(work), title="a step", words="it", **more)


def moved(move: str) -> str:
    """Two rings that lie side by side through a third, before they are spread or folded."""
    here = [
        Round((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), 4.0, 1.0),
        Round((-0.7, 5.0, 0.0), (1.0, 0.0, 0.0), 3.0, 1.0),
        Round((0.7, 5.0, 0.0), (1.0, 0.0, 0.0), 3.0, 1.0),
    ]
    drop = 6.0 if move == "fold" else 0.0
    there = [here[0]] + [
        replace(r, centre=(3.2 * r.centre[0], 5.0 - drop, 0.8), normal=(0.8, 0.0, 0.6))
        for r in here[1:]
    ]
    work = heaps.state(there, [], [0])
    told = tuple((ring, move) for ring, _ in work.rings[1:])
    names = {ring: f"M{ring.index}" for ring, _ in told}
    work = replace(work, moved=told)  # type: ignore[arg-type]
    return before(work, turned("piece", 20, 20), heaps.state(here, [], []), names)


def in_hand(behind: bool) -> str:
    """Before an upright ring goes into a flat one, from the front or from behind."""
    work = heaps.state([FLAT, UPRIGHT], [1], [0])
    return before(work, turned("piece", 25, 30), None, named(work), behind=behind)


def piece(name: str) -> Weave:
    return view(shipped_texts()[name]).weave


def diagram(piece: str, name: str) -> str:
    return next(dot_text(d) for d in all_diagrams(view(shipped_texts()[piece])) if d.name == name)


PICTURES: dict[str, Callable[[], str]] = {
    "byzantine after": lambda: step("byzantine", "chain"),
    "byzantine before": lambda: step("byzantine", "chain", before),
    "box_chain after, known by clicks": lambda: step("box_chain", "chain", marked=True),
    "persian_6 before, larger": lambda: step("persian_6", "chain", before, scale=16.0),
    "european_4 after": lambda: step("european_4", "sheet"),
    "european_4 before, from behind": lambda: step("european_4", "sheet", before, behind=True),
    "japanese_hexagonal before": lambda: step("japanese_hexagonal", "sheet", before),
    "in from the front": lambda: in_hand(False),
    "in from behind": lambda: in_hand(True),
    "two spread": lambda: moved("spread"),
    "two folded": lambda: moved("fold"),
    "edge on": lambda: picture(edge_on(0.0), turned("piece", 0, 0)),
    "nearly edge on": lambda: picture(edge_on(0.05), turned("piece", 0, 0)),
    "a bead and a tag": lambda: picture(
        [THREAD, BEAD, TAG], turned("piece", 20, 30), new=[0], through=[1], names={1: "bead"}
    ),
    "a plate that slants": lambda: picture(
        [Round((2.0, 1.0, 0.0), (1.0, 0.0, 0.0), 4.0, 1.0), PLATE], turned("piece", -20, 15)
    ),
    "a bead from its hole": lambda: picture([THREAD, BEAD], turned("piece", 0, 70)),
    "a heap of three kinds": lambda: picture(
        heaps.heap(14, 3), turned("piece", 30, 15), kinds=[k % 3 for k in range(14)]
    ),
    "places of hexagon_plate": lambda: next(plans(piece("hexagon_plate"))),
    "places of diamond_pendant": lambda: next(plans(piece("diamond_pendant"))),
    "chart of window_panel": lambda: next(charts(piece("window_panel").colours)),  # type: ignore[arg-type]
    "graphviz: chain_with_clasp step-03": lambda: diagram("chain_with_clasp", "step-03"),
    "graphviz: lantern_ball step-12": lambda: diagram("lantern_ball", "step-12"),
    "graphviz: simple_chain key": lambda: diagram("simple_chain", "key"),
}


def stored() -> dict[str, str]:
    told = STORED.read_text(encoding="utf-8").split("\n== ")
    return {name: text for name, _, text in (part.partition(" ==\n") for part in told[1:])}


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_the_one_that_was_looked_at(name: str) -> None:
    now, then = PICTURES[name]().splitlines(), stored()[name].splitlines()
    assert len(now) == len(then)
    for one, other in zip(now, then, strict=True):
        assert apart(one, other) <= OFF, f"\n{one}\n{other}"


if __name__ == "__main__":
    texts = {name: drawn() for name, drawn in PICTURES.items()}
    STORED.write_text(
        "\n" + "\n".join(f"== {name} ==\n{text.rstrip()}" for name, text in texts.items()) + "\n",
        encoding="utf-8",
    )
    for name, text in texts.items() if sys.argv[1:] else ():
        end = "dot" if name.startswith("graphviz") else "svg"
        Path(sys.argv[1], f"{name.replace(' ', '_').replace(':', '')}.{end}").write_text(text)
