"""What a fit comes to, as plain data: copies, measures, and its text."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from ringstep.space.cell import Cell, CellLink, CellRing
from ringstep.space.result import Fit, Form, PlacedRing, Pose, copies, from_json, to_json

RING = PlacedRing("A", 0, (0,), (1.0, 2.0, 3.0), (0.0, 0.6, 0.8), 3.0, 1.0)


def pose(*repeat: float) -> Pose:
    return Pose((RING, replace(RING, name="B", ring=1)), repeat, 0.25)


def test_copies_of_a_chain_lie_on_and_turn() -> None:
    home, on, back = (copies(pose(5.0, math.pi / 2), [(k,)])[1] for k in (0, 1, -2))
    assert (home.centre, home.normal) == (RING.centre, RING.normal)
    assert on.centre == pytest.approx((6, -3, 2))
    assert on.normal == pytest.approx((0, -0.8, 0.6))
    assert back.centre == pytest.approx((-9, -2, -3))
    assert (on.name, on.shift, on.mean_radius) == ("B", (1,), 3.0)
    assert len(copies(pose(5.0, 0.0), [(0,), (1,), (2,)])) == 6


def test_copies_of_a_sheet_lie_down_and_along() -> None:
    (found, _) = copies(pose(5.0, 0.5, 7.0), [(2, -1)])
    assert found.centre == pytest.approx((1 + 10 - 0.5, 2 - 7, 3))
    assert found.normal == RING.normal
    assert copies(pose(), [()])[0].centre == RING.centre


CELL = Cell((CellRing("A", 5.0, 1.0), CellRing("B", 4.0, 2.0)), (CellLink(0, 1, (1,), -1),), 1)
FORM = Form(CELL, (2,), 0, "half", (1,), True, True, False, 1.25, True, 1.0,
            pose(5.0, 0.1), pose(5.0, 0.1), pose(9.0, 0.1), None)  # fmt: skip


def test_a_form_tells_its_smallest_ring_and_the_length_of_a_unit() -> None:
    # Of a mean radius of 3 the wire of 1 may be 1.25: 6 / 1.25 - 1.
    assert FORM.smallest(0) == pytest.approx(3.8)
    assert FORM.smallest(1) == pytest.approx(1.4)
    assert FORM.length(pose(9.0, 0.1)) == 4.5


def test_a_fit_is_read_as_it_was_written() -> None:
    fit = Fit(CELL, (FORM, replace(FORM, hung=pose(1.0, 2.0, 3.0))), (2.0, 3.0), (True, False),
              ("a note",), 7, 2, False)  # fmt: skip
    assert from_json(to_json(fit)) == fit
    data = json.loads(to_json(fit))
    for name in ("cell", "forms", "seed"):
        with pytest.raises(ValueError, match="not a stored fit"):
            from_json(json.dumps({k: v for k, v in data.items() if k != name}))
    for wrong in ({"forms": 3}, {"cell": {**data["cell"], "dims": 5}}, {"forms": [1]}):
        with pytest.raises(ValueError, match="not a stored fit"):
            from_json(json.dumps({**data, **wrong}))
    data["forms"][0]["tight"]["rings"][0]["centre"] = [1, 2]
    with pytest.raises(ValueError, match=r"zip|not a stored fit"):
        from_json(json.dumps(data))
    with pytest.raises(ValueError, match="JSON"):
        to_json(replace(fit, bounds=(math.nan, 1.0)))
