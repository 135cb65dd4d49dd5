"""From a recipe to the unit laid out: the same links, every lay and fold, and what is left out."""

from __future__ import annotations

from collections import Counter

import pytest
from helpers import BYZANTINE, LIBRARY, PERSIAN, SIMPLE, shipped_recipes, view

from ringstep.checks.view import View, with_variant
from ringstep.space.cell import Cell
from ringstep.space.fit_cell import MOST_RINGS, NoFit, laid_out
from ringstep.space.fit_laid import Laid
from ringstep.space.units import hangs_together
from ringstep.weave.ring_graph import Class

Around = dict[Class, Counter[tuple[str, int, int, int]]]


def variants(seen: View) -> list[View]:
    return [with_variant(seen, v.name) for v in seen.recipe.variants] or [seen]


def shipped(name: str, variant: str | None = None) -> Laid:
    text = (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")
    return laid_out(with_variant(view(text), variant))


def around_of_laid(laid: Laid) -> Around:
    """For each ring, the roles it meets and how many rows and units away they stand."""
    found: Around = {c: Counter() for c in laid.rings}
    rows, units = laid.cycle
    for a, b, shift in laid.cell.pairs():
        down, along = (0, *shift)[-2:]
        one, other = laid.rings[a], laid.rings[b]
        far = (other.row - one.row + down * rows, other.unit - one.unit + along * units)
        found[one][other.role, other.index, *far] += 1
        found[other][one.role, one.index, -far[0], -far[1]] += 1
    return found


@pytest.mark.parametrize("name", shipped_recipes())
def test_links_are_those_of_the_repeat(name: str) -> None:
    for seen in variants(view(shipped_recipes()[name])):
        repeat, laid = seen.weave.repeat, laid_out(seen)
        assert hangs_together(laid.cell)
        assert [r.name for r in laid.cell.rings] == list(
            dict.fromkeys(r.name for r in laid.cell.rings)
        )
        if repeat is None:
            continue
        mine = around_of_laid(laid)
        rows, units = repeat.cycle
        for ring, met in repeat.neighbours.items():
            want = Counter(
                (o.role, o.index, o.row - ring.row + s[0] * rows, o.unit - ring.unit + s[1] * units)
                for o, s in met
            )
            if want:
                assert mine[ring._replace(unit=ring.unit % laid.cycle[1])] == want


def sides(cell: Cell) -> list[str | None]:
    return [s.side for s in cell.steps]


def test_persian_with_linked_pair_picks_up_two_three_four() -> None:
    # the pick-up counts every teacher of this chain says aloud; common practice, no source
    cell = shipped("persian_linked", "calm").cell
    assert [len(s.through) for s in cell.steps] == [2, 3, 4]
    assert [len(s.new) for s in cell.steps] == [1, 1, 2]
    assert [(r.inside, r.wire) for r in cell.rings] == [(6.9, 1.2)] * 4
    assert len(cell.links) == 13
    assert sides(cell) == [None, "front", None]
    assert [s.fold for s in cell.steps] == [(), (), (2, 3)]


def test_a_variant_chooses_the_lays_and_the_length_of_the_cycle() -> None:
    calm, mirror, zigzag = (
        shipped("persian_linked", name) for name in ("calm", "mirror", "zigzag")
    )
    assert (calm.cycle, mirror.cycle, zigzag.cycle) == ((1, 1), (1, 1), (1, 2))
    assert calm.cell.links == mirror.cell.links
    assert sides(mirror.cell) == [None, "back", None]
    assert sorted(filter(None, sides(zigzag.cell))) == ["back", "front"]
    assert len(zigzag.cell.links) == 2 * len(calm.cell.links)


def test_units_written_out_come_to_the_same_unit() -> None:
    block, written = shipped("persian_linked", "calm"), shipped("persian_linked_written")
    assert set(written.cell.pairs()) == set(block.cell.pairs())
    assert written.cell.rings == block.cell.rings
    assert [s.fold for s in written.cell.steps][-1] == (2, 3)


def test_folds_and_nothing_but_folds_tell_three_chains_apart() -> None:
    straight = laid_out(view(BYZANTINE.replace("  fold back B\n", ""))).cell
    folded = laid_out(view(BYZANTINE)).cell
    assert straight.pairs() == folded.pairs()
    assert straight != folded
    assert [s.fold for s in folded.steps] == [(), (), folded.steps[-1].new]


def test_a_ring_of_the_unit_before_can_be_folded() -> None:
    text = PERSIAN.replace("unit:\n", "unit:\n  fold back prev S\n")
    assert text != PERSIAN
    folded = [f for s in laid_out(view(text)).cell.steps for f in s.fold]
    names = [r.name for r in laid_out(view(text)).cell.rings]
    assert {names[f] for f in folded} == {"S1", "S2"}


def test_starters_play_no_part() -> None:
    laid = shipped("persian_6")
    assert {c.role for c in laid.rings} == {"M", "S"}
    assert any("start" in note for note in laid.notes)


@pytest.mark.parametrize(
    ("name", "holder"), [("captive_ring", "small"), ("doubled_chain_captive", "small")]
)
def test_a_ring_that_is_only_held_is_left_out_and_said_so(name: str, holder: str) -> None:
    laid = shipped(name)
    assert "captive" not in laid.roles
    (note,) = [n for n in laid.notes if n.startswith("captive")]
    assert "left out" in note
    assert holder in note


def test_a_part_in_the_unit_is_left_out_and_said_so() -> None:
    text = SIMPLE.replace("expect:", "parts:\n  bead  glass\nexpect:").replace(
        "unit:\n", "unit:\n  add B through prev A, bead picks 2\n"
    )
    laid = laid_out(view(text.replace("  A meets 2\n", "")))
    assert set(laid.roles) == {"A", "B"}
    assert any("bead" in n and "part" in n for n in laid.notes)


def test_a_piece_that_does_not_repeat_is_laid_out_whole() -> None:
    laid = shipped("flower_of_five")
    assert (laid.cell.dims, len(laid.cell.rings), len(laid.cell.links)) == (0, 5, 10)
    assert sides(laid.cell) == [None, None, "front", "front", "front"]


def test_rows_and_loops_and_tubes() -> None:
    there_and_back, slanting = shipped("european_4"), shipped("european_4_slanting")
    assert (there_and_back.cell.dims, there_and_back.cycle) == (2, (2, 1))
    assert (slanting.cell.dims, slanting.cycle) == (2, (1, 1))
    assert {s for _, _, s in slanting.cell.pairs()} == {(1, 0), (1, -1)}
    assert any("tube" in n for n in shipped("european_tube").notes)
    assert any("loop" in n for n in shipped("simple_loop").notes)


def test_what_cannot_be_laid_out_is_said() -> None:
    with pytest.raises(NoFit, match="size of A"):
        laid_out(view(SIMPLE.replace("all  wire 1.2 mm, inside 5 mm, copper", "all  copper")))
    many = SIMPLE.replace("add A through", f"add {MOST_RINGS + 1} A through")
    with pytest.raises(NoFit, match=f"{MOST_RINGS + 1} rings"):
        laid_out(view(many))
    alone = 'weave "One"\nrings:\n  all wire 1 mm, inside 5 mm\nstart:\n  close A\n'
    with pytest.raises(NoFit, match="linked"):
        laid_out(view(alone))
