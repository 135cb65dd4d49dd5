"""The view of one step: who is there, who is new, who is entered."""

from __future__ import annotations

import cells
import fitted
import pytest

from ringstep.space.cell import canonical
from ringstep.space.stage import stage


@pytest.mark.parametrize("name", cells.QUICK)
def test_new_rings_are_linked_with_all_they_enter(name: str) -> None:
    form = fitted.best(name)
    known = set(form.cell.pairs())
    for number, step in enumerate(form.cell.steps):
        seen = stage(form, number)
        assert {seen.rings[k].ring for k in seen.new} == set(step.new)
        assert len(seen.through) == len(step.through)
        for a in seen.new:
            for b in seen.through:
                one, other = seen.rings[a], seen.rings[b]
                shift = tuple(q - p for p, q in zip(one.shift, other.shift, strict=True))
                assert canonical(one.ring, other.ring, shift) in known


def test_later_rings_of_the_unit_are_not_there_yet() -> None:
    form = fitted.best("Persian 6-in-1")
    first, last = stage(form, 0), stage(form, 1)
    assert [(r.name, r.shift) for r in first.rings if r.shift == (0,)] == [
        ("M1", (0,)),
        ("M2", (0,)),
    ]
    assert len(last.rings) == 8
    assert len(stage(form, 1, units_before=3).rings) == 16


def test_a_sheet_grows_row_by_row() -> None:
    form = fitted.best("European 4-in-1")
    for number in range(len(form.cell.steps)):
        seen = stage(form, number, 2)
        units = [form.unit_of(r.ring, r.shift) for r in seen.rings]
        (new,) = (units[k] for k in seen.new)
        assert all(unit <= new for unit in units)
        assert {units[k] for k in seen.through} == {(new[0] - 1, new[1]), (new[0] - 1, new[1] + 1)}
        assert len(units) == len(set(units)) == 2 * 5 + 3


def test_a_row_worked_back_grows_the_other_way() -> None:
    form = fitted.best("European 4-in-1")
    seen = stage(form, 0, 2, lambda _, shift: (shift[0], -shift[1]))
    units = {form.unit_of(r.ring, r.shift) for r in seen.rings}
    assert {place for row, place in units if row == 0} == {0, 1, 2}
    assert {place for row, place in units if row == -1} == {-2, -1, 0, 1, 2}


def test_unknown_step_is_refused() -> None:
    with pytest.raises(IndexError, match="2 steps"):
        stage(fitted.best("Persian 6-in-1"), 2)
