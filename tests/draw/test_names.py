"""The pictures of shipped weaves of every kind: what is new is seen, and names can be read."""

from __future__ import annotations

import itertools
from pathlib import Path
from xml.etree import ElementTree

import pytest
from helpers import EXAMPLES, LIBRARY, view

from ringstep.draw.angle import best_view, near_work, seen_from
from ringstep.draw.strands import scene
from ringstep.paper.film import Shoot, scenes
from ringstep.space.states import states_of

SVG = "{http://www.w3.org/2000/svg}"
RECIPES = [
    *(LIBRARY / f"{name}.weave" for name in (
        "box_chain", "byzantine", "doubled_chain", "linked_pairs", "persian_6", "captive_ring",
        "flower_of_five", "simple_loop", "european_4", "european_8", "european_tube",
        "japanese_doubled", "japanese_hexagonal",
    )),
    *(EXAMPLES / f"{name}.weave" for name in ("clasp_chain", "eight_petals", "heart_panel")),
]  # fmt: skip
Box = tuple[float, float, float, float]


def boxes(root: ElementTree.Element) -> list[Box]:
    """Left, top, right and bottom of every name, by the letters of a plain font."""
    found = []
    for text in root.iter(f"{SVG}text"):
        if text.get("aria-hidden"):  # the white rim of the name that follows
            continue
        x, y, size = (float(text.attrib[name]) for name in ("x", "y", "font-size"))
        half = 0.56 * size * len(text.text or "") / 2
        found.append((x - half, y - 0.75 * size, x + half, y + 0.05 * size))
    return found


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_what_a_step_is_about_is_seen_and_named(path: Path) -> None:
    seen = view(path.read_text(encoding="utf-8"))
    shown = states_of(seen)
    turn = best_view(shown.states, seen.weave.layout.kind)
    tube = seen.weave.layout.kind == "tube"  # of which only the side of the work is drawn
    for state, picture in zip(shown.states, scenes(seen, shown, Shoot(both=False)), strict=True):
        root = ElementTree.fromstring(picture.later)
        left, top, wide, high = (float(x) for x in root.attrib["viewBox"].split())
        found = boxes(root)
        for box in found:
            assert left <= box[0] + 1
            assert box[2] <= left + wide + 1
            assert top <= box[1] + 1
            assert box[3] <= top + high + 1
        for a, b in itertools.combinations(found, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        if tube or picture.number in {n for n, _ in shown.without}:
            continue
        about = {*state.new, *state.through, *(ring for ring, _ in state.moved)}
        held = [state.rings[k] for k in near_work(state)]
        lengths = scene(seen_from([at for _, at in held], turn)).seen()
        hidden = {ring for (ring, _), length in zip(held, lengths, strict=True) if not length}
        assert len(about - hidden) <= len(found) <= len(about), picture.number
        for (ring, at), length in zip(held, lengths, strict=True):
            if ring in state.new:
                assert length > 0.1 * 6.28 * at.mean_radius, (picture.number, ring)
