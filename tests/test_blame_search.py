"""The search for the change that explains what is wrong, step by step, in recipes small enough to
see which change is right, which does as well, and which only looks so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from helpers import view
from small_recipes import recipe, weave
from test_changes_typed import ref_of, step_at, tree_of

from ringstep.checks.blame import (
    _Search,
    _steps_at_fault,
    _suspected,
    doubled,
    recounted,
    recounts,
)
from ringstep.checks.edits import (
    AddRing,
    ChangeCount,
    ChangePicks,
    ChangePromise,
    DropStep,
    Edit,
    RemoveRing,
    ReplaceRing,
)
from ringstep.checks.faults import Fault, Snagged, find_faults
from ringstep.checks.told import Told
from ringstep.weave.piece import Weave

SPIRAL = "expect:/A meets 4/start:/close A/unit:/add A through {} lay front/piece:/chain 9 units"
MIDDLE = (
    "expect:/M meets 6 S/S meets 6 M/start:/close 2 H/add 2 M through H picks 2"
    "/add 2 S through M picks 2/unit:/add 2 M through prev S picks 2/add 2 S through {}"
    "/finish:/take out first H/piece:/chain 8 units"
)


def woven(body: str) -> Weave:
    """A recipe carried out, of the one tree that the steps of these tests are taken from."""
    return Weave(tree_of(recipe(body)))


def search(body: str, purse: int = 10_000) -> _Search:
    made = woven(body)
    return _Search(made, find_faults(made), [purse])


def adding(body: str, step: int, new: str, *rank: int) -> AddRing:
    text = recipe(body)
    return AddRing(step_at(text, step), ref_of(text, new), rank=rank or (1, 0))


def best(found: _Search) -> list[str]:
    """The rings that the best changes add."""
    edits = [trial.edit for trial in found.best[1]] if found.best else []
    assert all(isinstance(e, AddRing) for e in edits)
    return [str(e.new) for e in edits if isinstance(e, AddRing)]


# -- what is tried, and what of it is kept ---------------------------------------------------------

SHORT = SPIRAL.format("prev A")
TWO, THREE = "prev prev A if there", "prev prev prev A if there"


@pytest.mark.parametrize(
    ("first", "second", "figures", "kept"),
    [
        # The two give every A its four rings: rivals where their ranks begin alike.
        ((1, 0, 0), (1, 0, 1), 2, [TWO, THREE]),
        ((1, 0, 0), (1, 0, 0), 99, [TWO, THREE]),
        ((1, 0, 0), (1, 0, 1), 99, [TWO]),
        ((1, 0, 1), (1, 0, 0), 99, [THREE]),
        # Within one list the nearer is the surer.
        ((1, 0, 0), (1, 1, 0), 2, [TWO]),
        ((1, 0, 0), (2, 0, 0), 2, [TWO]),
        ((2, 0, 0), (1, 1, 0), 2, [THREE]),
    ],
)
def test_rivals_are_changes_as_near_as_one_another(
    first: tuple[int, ...], second: tuple[int, ...], figures: int, kept: list[str]
) -> None:
    found = search(SHORT)
    found._try([adding(SHORT, 2, TWO, *first), adding(SHORT, 2, THREE, *second)], figures)
    assert best(found) == kept


@pytest.mark.parametrize(
    ("first", "second", "kept"),
    [
        ((1, 0), (1, 0), ["prev M", TWO.replace("A", "S")]),
        ((1, 0), (1, 5), ["prev M", TWO.replace("A", "S")]),
        ((1, 0), (2, 0), ["prev M"]),
        ((2, 0), (1, 9), [TWO.replace("A", "S")]),
    ],
)
def test_of_changes_of_two_lists_neither_is_the_surer_however_near_its_ring(
    first: tuple[int, ...], second: tuple[int, ...], kept: list[str]
) -> None:
    """Every M and S two short: step 5 may miss the M before, or step 4 the S two units before."""
    body = MIDDLE.format("M picks 2")
    found = search(body)
    own = adding(body, 5, "prev M", *first)
    other = adding(body, 4, "prev prev S if there", *second)
    found._try([own, other], 99)
    assert sorted(best(found)) == sorted(kept)


def test_a_change_that_leaves_less_is_the_better_however_far_it_lies() -> None:
    """Through A1 alone A1 is one short and A2 three; one S of prev M more mends half of that."""
    body = MIDDLE.format("M picks 2")
    found = search(body)
    half, whole = adding(body, 5, "prev M1", 1, 0), adding(body, 5, "prev M", 3, 9)
    found._try([half], 2)
    assert best(found) == ["prev M1"]
    assert found.best is not None
    assert found.best[0][0] > 0
    found._try([whole], 2)
    assert best(found) == ["prev M"]
    assert found.best[0][0] == 0
    again = search(body)
    again._try([whole, half], 2)
    assert best(again) == ["prev M"]
    assert again.attempt(half) is None, "it was tried before, though it stood behind"


def test_the_purse_pays_for_each_change_that_is_carried_out() -> None:
    """Through the A before twice does not help, through the one two before does."""
    wrong, right = adding(SHORT, 2, "prev A", 1, 0), adding(SHORT, 2, TWO, 1, 1)
    cost = search(SHORT).cost
    for purse, kept in ((cost, [TWO]), (cost - 1, []), (0, []), (-1, [])):
        found = search(SHORT, purse)
        found._try([right, wrong], 2)
        assert best(found) == kept
        spent = purse - found.purse[0]
        assert spent == cost * (0 if purse < 0 else 2 if kept else 1)
        assert bool(found.tried) == (purse >= 0)


def test_what_a_change_costs_grows_with_what_is_carried_out() -> None:
    """Four rings in a row, and each but the first through two: 4 steps done, 5 links, 10 ends of
    them, of which 4 cost one; and 10 for each change."""
    body = SPIRAL.format("prev A, prev prev A if there").replace("9 units", "3 units")
    made = woven(body)
    assert len(made.work.acts) == 4
    assert sum(map(len, made.work.links.values())) == 10
    assert search(body).cost == 10 + 4 + 2
    assert search(body.replace("3 units", "5 units")).cost == 10 + 6 + 18 // 4
    # Of pieces joined only the joining is done again: two chains of six A, five links each, and six
    # rungs with two links; each rung costs two, and each dozen of all 44 ends one.
    joined = (
        "expect:/A meets 2 A, 1 rung/rung meets 2 A/piece rail:/chain 5 units/made twice/start:"
        "/close A/unit:/add A through prev A picks 1/join:/add rung through rail 1 A along every"
        " unit, rail 2 A along every unit picks 2"
    )
    assert search(joined).cost == 10 + 2 * 6 + 3


def test_a_change_is_carried_out_once_and_kept_only_where_it_helps() -> None:
    found = search(SHORT)
    edit = adding(SHORT, 2, TWO, 1, 0)
    trial = found.attempt(edit)
    assert trial is not None
    assert trial.left == ()
    assert found.attempt(adding(SHORT, 2, TWO, 3, 0)) is None, "the same change, tried before"
    text, tree = recipe(SHORT), tree_of(recipe(SHORT))
    step = step_at(text, 2)
    # each A then meets five of three: it would be a new fault
    assert search(SHORT).attempt(adding(SHORT, 2, "prev A", 1)) is None
    # a promise is given up only where that explains all
    given = ChangePromise(tree.meets[0], view_meets("A meets 2"), ("A meets 2",))
    kept = search(SHORT).attempt(given)
    assert kept is not None
    assert kept.left == ()
    half = ChangePromise(tree.meets[0], view_meets("A meets 3"), ("A meets 3",))
    assert search(SHORT).attempt(half) is None
    assert search(SHORT).attempt(DropStep(step)) is None, "an A that is finished nowhere"


def view_meets(line: str) -> Any:
    """The promises of a line."""
    text = recipe(f"expect:/{line}/start:/close A/unit:/add A through prev A/piece:/chain 3 units")
    return tree_of(text).meets


def test_a_step_that_cannot_be_done_is_not_taken_out_for_that() -> None:
    """What it does wrong would go with it, and so would what it is there for; only a step that
    repeats another is one too many."""
    body = "start:/close A/unit:/add A through prev A/add t through prev B/piece:/chain 5 units"
    found = search(body)
    assert found.unmade == {3}
    assert found.attempt(DropStep(step_at(recipe(body), 3))) is None
    twice = "start:/close A/unit:/add A through prev A/add A through prev A/piece:/chain 5 units"
    found = search(twice)
    assert {f.snag.kind for f in found.faults if isinstance(f, Snagged)} == {"placed twice"}
    assert found.unmade == set()
    assert found.attempt(DropStep(step_at(recipe(twice), 3))) is not None


def test_a_ring_that_is_off_the_piece_everywhere_is_no_mend() -> None:
    """Of a chain of three units none has a unit four before it, though nothing is wrong then."""
    body = "start:/close A/unit:/add A through prev A/add t through A, prev B/piece:/chain 3 units"
    text, found = recipe(body), search(body)
    step = step_at(text, 3)
    for far, helps in (("prev prev prev prev A", False), ("prev prev prev A", True)):
        edit = ReplaceRing(step, step.through[1], ref_of(text, f"{far} if there"))
        assert (found.attempt(edit) is not None) == helps, far
        short = body.replace(", prev B", " picks 2")
        more = replace(adding(short, 3, f"{far} if there"), picks=2)
        assert (search(short).attempt(more) is not None) == helps, far


# -- how near a change lies ------------------------------------------------------------------------


def test_a_change_of_a_step_at_fault_is_nearer_than_one_elsewhere() -> None:
    """Step 3 does not come to its count, and nothing is wrong with step 2."""
    body = "start:/close A/unit:/add A through prev A/add t through A picks 2/piece:/chain 5 units"
    text, found = recipe(body), search(body)
    assert found.at_fault == {3}
    own, other = step_at(text, 3), step_at(text, 2)
    near = {
        (0, (1, 0, False, 0)): AddRing(own, ref_of(text, "prev A"), rank=(1, 0)),
        (1, (1, 0, False, 0)): AddRing(other, ref_of(text, "prev A"), rank=(1, 0)),
        (0, (2, 1, False, 7, 0)): AddRing(own, ref_of(text, "prev A"), rank=(2, 1, 7)),
        (1, (1, 0, True, 0)): AddRing(own, ref_of(text, "prev A"), rank=(1, 0), picks=3),
        (0, (0, 0, False, 0)): ChangePicks(own, 1, rank=(0, 0)),
        # rings placed one too few are missing from the very list that is at fault
        (0, (1, 3, False, 0)): ChangeCount(other, other.new[0], 2, rank=(1, 3)),
        # a promise is of no step
        (1, (1, 0, False)): ChangePromise(tree_of(PROMISED).meets[0], (), (), rank=(1,)),
    }
    for at, edit in near.items():
        if isinstance(edit, AddRing) and edit.picks:
            at = (0, at[1])  # it changes its own count along
        assert found.near(edit) == at, edit


PROMISED = recipe(SHORT)


def test_where_rounds_grow_no_ring_above_is_the_surer_for_being_nearest() -> None:
    body = (
        "first row:/close A/row:/add A through above A/extra place:/add A through above A"
        "/piece:/tube 3 rows of 6 units/shape:/rows 2 to 3  each 3 more"
    )
    text, found = recipe(body), search(body)
    edit = AddRing(step_at(text, 2), ref_of(text, "above prev A"), rank=(2, 7, 5))
    assert found.weave.layout.rounds
    assert found.near(edit) == (1, (1, 0, False))
    assert found.near(AddRing(step_at(text, 2), edit.new, rank=(0, 4, 5))) == (1, (0, 0, False))


# -- which steps are worth trying ------------------------------------------------------------------

WRITTEN = (
    "expect:/A1 meets 5/A2 meets 4/B meets 1/start:/close 2 A"
    + "".join(f"/unit {n}:/add 2 A through prev A picks 2/add B through A1" for n in range(1, 7))
    + "/piece:/chain 6 units"
)


@pytest.mark.parametrize(
    ("was", "now", "at_fault", "suspected"),
    [
        # Unit n has the steps 2 n and 2 n + 1. What a ring of it meets is done in it or by the
        # unit that reaches back to it; what it places is placed by its own steps.
        ("B meets 1", "B meets 2", set(), {2, 3, 4, 5}),
        ("add B through A1/unit 3", "unit 3", set(), {4}),
        ("A picks 2/add B through A1/unit 3", "A1 picks 1/add B through A1/unit 3", {4},
         {2, 3, 4, 5, 6, 7}),
        ("B through A1/unit 4", "B through A1/add C through A2/unit 4", {8},
         {6, 7, 8}),
    ],
)  # fmt: skip
def test_in_units_written_out_the_fault_lies_in_its_unit_or_in_the_next(
    was: str, now: str, at_fault: set[int], suspected: set[int]
) -> None:
    assert find_faults(weave(WRITTEN)) == []
    made = weave(WRITTEN.replace(was, now, 1))
    faults: list[Fault] = find_faults(made)
    assert faults
    assert _steps_at_fault(faults) == at_fault
    assert _suspected(made, faults) == suspected


def test_where_two_units_differ_and_no_more_are_written_every_step_is_worth_trying() -> None:
    body = "start:/close 2 A/unit 1:/add 2 A through prev A/unit 2:/add 2 A through prev A1"
    made = weave(f"{body}/piece:/chain 2 units")
    faults = find_faults(made)
    assert _steps_at_fault(faults) == {2, 3}, "neither of two is the one that is most"
    assert _suspected(made, faults) is None


# -- connectors laid twice -------------------------------------------------------------------------


def test_connectors_between_the_very_same_rings_are_counted() -> None:
    chain = "start:/close A/unit:/add A through prev A/add b through A, prev A picks 2{}/piece:/"
    alone = doubled(weave(chain.format("") + "chain 9 units"))
    assert alone == 0
    counts = [
        doubled(weave(chain.format(f"/add c through {list_}{more}") + "chain 9 units"))
        for list_, more in (
            ("prev A, A picks 2", ""),
            ("prev A, prev prev A if there", ""),  # the same pair, seen from the unit after
            ("prev A, A picks 2", "/add d through A, prev A picks 2"),
            ("A", ""),
        )
    ]
    once, shifted, twice, none = counts
    assert once == shifted > 0
    assert twice == 2 * once
    assert none == 0
    # two rings of one role are meant to lie alike, and a piece that does not repeat says nothing
    pairs = chain.replace("b through", "2 b through").format("")
    assert doubled(weave(pairs + "chain 9 units")) == 0
    one = chain.replace("unit:", "unit 1:").format("/add c through A, prev A picks 2")
    assert doubled(weave(one + "chain 1 unit")) == 0


# -- counts that go along --------------------------------------------------------------------------

COUNTED = (
    "start:/close 2 A/close B/unit:/add 2 A through {}/add B through A/finish:/add F through {}"
    "/piece:/chain 6 units"
)


def picks_after(body: str, edit: Edit) -> int | None:
    after = recounted(woven(body), edit)
    assert isinstance(after, AddRing | RemoveRing | ReplaceRing)
    return after.picks


@pytest.mark.parametrize(
    ("list_", "change", "at", "new", "picks"),
    [
        ("prev A picks 2", "add", 0, "prev B", 3),
        ("prev A1 picks 1", "add", 0, "prev A2", 2),
        ("prev A1 picks 1", "add", 0, "prev A", 3),
        ("prev A, prev B picks 3", "remove", 0, "", 1),
        ("prev A, prev B picks 3", "remove", 1, "", 2),
        ("prev A, prev B picks 3", "replace", 1, "prev prev A if there", 4),
        ("prev A, prev B picks 3", "replace", 0, "prev A1", 2),
        # a count that stays the same is not typed again, and one that was not kept stays
        ("prev A1, prev B picks 2", "replace", 0, "prev A2", None),
        ("prev A picks 3", "add", 0, "prev B", None),
        ("prev A picks 1", "remove", 0, "", None),
        # what repeats states no count where none stands
        ("prev A", "add", 0, "prev B", None),
        # a name that leads nowhere was counted as the ring it would be, or not at all
        ("prev A, prev C picks 3", "replace", 1, "prev B", None),
        ("prev A, prev C picks 2", "replace", 1, "prev B", 3),
        ("prev A, prev C picks 3", "remove", 1, "", 2),
        ("prev A, prev C picks 2", "remove", 1, "", None),
    ],
)
def test_a_count_that_agreed_with_its_list_changes_along(
    list_: str, change: str, at: int, new: str, picks: int | None
) -> None:
    body = COUNTED.format(list_, "last B picks 1")
    text = recipe(body)
    step = step_at(text, 3)
    edit: Edit
    if change == "add":
        edit = AddRing(step, ref_of(text, new))
    elif change == "remove":
        edit = RemoveRing(step, step.through[at])
    else:
        edit = ReplaceRing(step, step.through[at], ref_of(text, new))
    assert picks_after(body, edit) == picks
    assert recounts(recounted(woven(body), edit)) == (picks is not None)
    assert not recounts(edit)


def test_at_the_ends_a_list_of_several_rings_states_how_many_they_are() -> None:
    body = COUNTED.format("prev A", "last A")
    text = recipe(body)
    end, first, own = step_at(text, 5), step_at(text, 1), step_at(text, 3)
    assert picks_after(body, AddRing(end, ref_of(text, "last B"))) == 3
    assert picks_after(body, ReplaceRing(end, end.through[0], ref_of(text, "last A1"))) is None
    assert picks_after(body, AddRing(own, ref_of(text, "prev B"))) is None
    assert picks_after(body, AddRing(first, ref_of(text, "B"))) is None
    assert not recounts(recounted(woven(body), AddRing(end, ref_of(text, "last B"))))
    assert recounted(woven(body), DropStep(end)) == DropStep(end)


@pytest.mark.parametrize(
    ("list_", "new", "picks"),
    [
        # six units of two A and one B, and those of the start
        ("every B picks 7", "last A", 9),
        ("last B picks 1", "every A", 15),
        ("last A2 picks 1", "every B", 8),
    ],
)
def test_a_ring_through_every_one_of_a_name_counts_them_all(
    list_: str, new: str, picks: int
) -> None:
    body = COUNTED.format("prev A picks 2", list_)
    text = recipe(body)
    assert picks_after(body, AddRing(step_at(text, 5), ref_of(text, new))) == picks


def test_what_is_taken_out_of_a_list_takes_its_rings_from_the_count() -> None:
    body = COUNTED.format("prev A picks 2", "every B, last A picks 9")
    text = recipe(body)
    end = step_at(text, 5)
    assert picks_after(body, RemoveRing(end, end.through[0])) == 2
    assert picks_after(body, RemoveRing(end, end.through[1])) == 7
    rosette = "start:/close hub/unit 1:/add 5 P through prev hub, one another picks 5 lay front"
    body = f"{rosette}/piece:/chain 1 unit"
    text = recipe(body)
    step = step_at(text, 2)
    # the last petal goes through the hub and both its neighbours
    made = woven(body)
    last = [a for a in made.work.acts if a.step.number == 2 and a.last]
    assert {a.picks for a in last} <= {3, 5}
    assert picks_after(body, RemoveRing(step, step.through[0])) == 4 if last[0].picks == 5 else 1


# -- names of many rings ---------------------------------------------------------------------------


def test_up_to_twelve_rings_of_a_name_are_tried_one_by_one() -> None:
    """For a name that leads nowhere, in the place that was named."""
    for count, tried in ((2, 3), (12, 13), (13, 1)):
        body = f"start:/close {count} A/unit:/add {count} A through prev B/piece:/chain 9 units"
        edits = [e for e in Told.of(woven(body)).told() if isinstance(e, ReplaceRing)]
        names = {str(e.new) for e in edits if e.new.places == ("prev",)}
        assert len(names) == tried, names
        assert (f"prev A{count}" in names) == (tried > 1)


def test_the_rings_of_a_strand_are_counted_as_that_strand_places_them() -> None:
    body = (
        "start:/close 2 A/unit left:/add 2 A through prev A picks 2/unit right:/add A1 through prev"
        " A1/piece:/strands left 4 units, right 5 units/finish:/add R through last {} A picks {}"
    )
    for have, stated, more, picks in (("left", 2, "right", 3), ("right", 1, "left", 3)):
        text = body.format(have, stated)
        end = step_at(recipe(text), 4)
        refs = view(recipe(body.format(more, 1))).recipe.steps()[3].through
        assert picks_after(text, AddRing(end, refs[0])) == picks
