"""Ten steps as they are drawn, links and real rings, against pictures that somebody looked at.

A browser paints them, in one size; what is compared is light and dark in patches of a dozen dots,
so that the edge of a line or of a letter counts for nothing and a ring that moves, turns or goes is
seen. Where a drawing is meant to change: `python tests/outside/test_pictures.py`, look at the new
pictures in `tests/stored/pictures`, and store them.
"""

from __future__ import annotations

import os
import sys
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT / "recipe"), str(Path(__file__).parent)]

from test_browser import chromium  # noqa: E402

from ringstep.commands.cli import main  # noqa: E402

STORED = ROOT / "tests" / "stored" / "pictures"
#: The steps: a weave and the number of one of its steps.
STEPS = (
    ("simple_chain", 2), ("doubled_chain", 2), ("linked_pairs", 4), ("byzantine", 5),
    ("byzantine", 8), ("captive_ring", 4), ("spiral_4", 2), ("two_and_one", 3),
    ("european_4", 2), ("japanese_honeycomb", 4),
)  # fmt: skip
DRAWN = [(weave, step, kind) for weave, step in STEPS for kind in ("links", "rings")]
#: The side of a picture as it is painted, and of a patch, in dots.
SIDE, PATCH = 288, 12
#: How far a patch may be from the stored one, of 1 for white against black.
FAR = 0.06


def name_of(weave: str, step: int, kind: str) -> str:
    return f"{weave}-{step}-{kind}"


@cache
def painted() -> dict[str, Image.Image]:
    """Each picture as the program draws it today, painted on white."""
    with TemporaryDirectory() as scratch:
        folder = Path(scratch)
        for weave in {weave for weave, _ in STEPS}:
            file = str(ROOT / "library" / f"{weave}.weave")
            assert main(["draw", file, "--to", str(folder / weave / "links")]) == 0
            assert main(["draw", file, "--rings", "--to", str(folder / weave / "rings")]) == 0
        cells = []
        for at, (weave, step, kind) in enumerate(DRAWN):
            file = f"{weave}/{kind}/{'step' if kind == 'links' else 'rings'}-{step:02}.svg"
            assert (folder / file).is_file(), file
            cells.append(
                f'<img src="{file}" style="position:absolute;left:{at * SIDE}px;top:0;'
                f'width:{SIDE}px;height:{SIDE}px;object-fit:contain">'
            )
        page = folder / "all.html"
        page.write_text(f'<body style="margin:0;background:#fff">{"".join(cells)}', "utf-8")
        shot = folder / "all.png"
        size = f"--window-size={len(DRAWN) * SIDE},{SIDE}"
        chromium(folder / "profile", page, size, "--hide-scrollbars", f"--screenshot={shot}")
        with Image.open(shot) as whole:
            grey = whole.convert("L")
    return {
        name_of(*drawn): grey.crop((at * SIDE, 0, (at + 1) * SIDE, SIDE))
        for at, drawn in enumerate(DRAWN)
    }


def stored(name: str) -> Image.Image:
    with Image.open(STORED / f"{name}.png") as picture:
        return picture.convert("L")


def patches(picture: Image.Image) -> NDArray[np.float64]:
    """How dark each patch of a picture is, from 0 for white to 1."""
    dark = 1 - np.asarray(picture, dtype=float) / 255
    count = SIDE // PATCH
    return dark.reshape(count, PATCH, count, PATCH).mean(axis=(1, 3))


def apart(one: Image.Image, other: Image.Image) -> float:
    """How far the patch that differs most is from the other picture's."""
    return float(np.abs(patches(one) - patches(other)).max())


@pytest.mark.parametrize("drawn", DRAWN, ids=lambda drawn: name_of(*drawn))
def test_a_drawing_is_the_one_that_was_looked_at(drawn: tuple[str, int, str]) -> None:
    name = name_of(*drawn)
    assert apart(painted()[name], stored(name)) < FAR


def test_pictures_of_other_steps_are_told_apart() -> None:
    """Two steps of one weave, and a picture moved by a ring's width of its own, are far apart."""
    for kind in ("links", "rings"):
        one, other = (stored(name_of("byzantine", step, kind)) for step in (5, 8))
        assert apart(one, other) > 2 * FAR
    for drawn in DRAWN:
        picture = stored(name_of(*drawn))
        moved = Image.new("L", picture.size, 255)
        moved.paste(picture, (PATCH // 2, 0))
        assert apart(picture, moved) > FAR, drawn


def test_every_stored_picture_is_compared() -> None:
    assert {path.stem for path in STORED.iterdir()} == {name_of(*drawn) for drawn in DRAWN}


if __name__ == "__main__":
    with TemporaryDirectory() as _cache:  # a fit that was kept may lie otherwise
        os.environ["RINGSTEP_CACHE"] = _cache
        _painted = painted()
    for _name, _picture in _painted.items():
        _picture.quantize(16).save(STORED / f"{_name}.png", optimize=True)
