"""Every change of a recipe, typed into its text and read again, is the recipe that was tried.

Two ways from a change to a recipe are compared, step by step and promise by promise: the tree with
the change carried out in it, and the text with the change typed in.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from helpers import PERSIAN_WRITTEN, view
from small_recipes import recipe

from ringstep.checks.changes import list_edits, replace_edits, step_edits
from ringstep.checks.edits import (
    AddRing,
    ChangeCount,
    ChangePicks,
    ChangePromise,
    DropStep,
    Edit,
    InsertStep,
    RemoveRing,
    RenamePlaced,
    ReplaceRing,
    SplitStep,
    SwapNames,
    SwapPlaced,
    SwapSteps,
)
from ringstep.language.findings import typed_in
from ringstep.language.syntax import Name, Ref, Step
from ringstep.language.tree import Tree

PAIRS = recipe(
    "expect:/A meets 4/B meets 4/start:/close 2 A/unit:/add 2 B through prev A picks 2"
    "/hint through both/fold back B/hint to the left/hold B/add 2 A through B picks 2/spread A"
    "/hint both ways/piece:/chain 9 units"
)
#: A list in two parts, rings named by number, rings that hold, sides, and words kept to a line.
PARTED = recipe(
    "start:/close 2 H/add M1 through H picks 2/add M2 through H1, H2, M1 picks 3 lay front"
    "/unit:/add M1 through prev M1 then prev M2 picks 2 lay front"
    "/add M2 on the left through M1, prev prev M2 if there around prev M1 lay back/turn over"
    "/finish:/add K, L2 through last M, last prev M1 then first H picks 5 lay front"
    "/piece:/loop 8 units"
)
SHEET = recipe(
    "first row:/close A1, A2/row:/add 2 A through above A, above next A1 if there picks 3"
    "/add B through above B if there, A2 skip at edge/hold A/row end:/add E through last A picks 2"
    "/piece:/sheet 4 rows of 5 units"
)
CLASPED = recipe(
    "start:/add F through clasp picks 1/unit:/add core 1 through prev core 1, prev F/spread core 1"
    "/add 3 core through core 1 lay front/finish:/add F through last core at one place picks 3"
    "/piece:/chain 6 units",
    "rings:\n  all  wire 1 mm, inside 6 mm, copper\nparts:\n  clasp  steel, 12 mm\n",
)


def _items(refs: tuple[Ref, ...]) -> list[tuple[str, bool]]:
    """A list as it stands; 'then' before its first item says nothing."""
    return [(str(ref), ref.then and at > 0) for at, ref in enumerate(refs)]


def _stated(step: Step) -> list[str | None]:
    return [x.value if x else None for x in (step.picks, step.lay, step.toward)]


def meant(tree: Tree) -> list[Any]:
    """All that a recipe says in its steps and promises, without where it stands on the page."""
    steps = [
        (str(block), step.kind, step.placed, _items(step.refs), _items(step.through),
         _items(step.around), _items(step.inside), _stated(step), step.at_one_place,
         step.skip_at_edge, step.hint)
        for block in tree.blocks for step in block.steps
    ]  # fmt: skip
    promises = [(str(m.name), list(map(str, m.choices))) for m in tree.meets]
    return [steps, promises, [str(b) for b in tree.blocks]]


def text_after(text: str, edit: Edit, whole: Tree | None = None) -> str:
    """The text with a change typed in."""
    tree = whole or tree_of(text)
    return "\n".join(typed_in(tree.source.lines, edit.typed(tree)))


def agrees(text: str, tree: Tree, edit: Edit) -> None:
    """Typed in and carried out a change comes to the same."""
    after = text_after(text, edit, tree)
    read = view(after)
    assert not read.troubles, (edit, after)
    assert meant(read.recipe) == meant(edit.apply(tree)), after


@pytest.mark.parametrize("text", [PAIRS, PARTED, SHEET, CLASPED])
@pytest.mark.parametrize("kind", [list_edits, step_edits, replace_edits])
def test_each_change_typed_in_is_the_change_carried_out(text: str, kind: Any) -> None:
    tree = view(text).recipe
    assert not view(text).troubles
    before, seen = meant(tree), 0
    for edit in kind(tree):
        applied = edit.apply(tree)
        assert meant(applied) != before, edit
        seen += 1
        if seen % (1 if kind is step_edits else 9) == 0:
            agrees(text, tree, edit)
        one, two = ({s.number: s for s in t.steps()} for t in (tree, applied))
        other = {n for n in one.keys() | two.keys() if one.get(n) != two.get(n)}
        moved = list(one) != list(two)
        assert other <= set(edit.touched), "the steps that it says it touches"
        assert moved or other == set(edit.touched)
    assert seen


def ref_of(text: str, words: str) -> Ref:
    """A list item as it is read."""
    places = words.replace(" if there", "").split()
    read = view(
        recipe(f"unit:/add Z through {words}/piece:/chain 3 units", "rings:\n  all  wire 1 mm\n")
    )
    (step,) = read.recipe.steps()
    assert len(places)
    return step.through[0]


@cache
def tree_of(text: str) -> Tree:
    """A recipe, read once: a change knows its step by which it is."""
    return view(text).recipe


def step_at(text: str, number: int) -> Step:
    return next(s for s in tree_of(text).steps() if s.number == number)


def line_after(text: str, edit: Edit) -> str:
    """The one line that a change of a text makes anew."""
    agrees(text, tree_of(text), edit)
    before, after = text.rstrip().split("\n"), text_after(text, edit).rstrip().split("\n")
    assert len(before) == len(after)
    (changed,) = [b for a, b in zip(before, after, strict=True) if a != b]
    return changed.strip()


LIST = "start:/close 2 A/close 2 B/unit:/{}/add B through prev B picks 2/piece:/chain 9 units"


@pytest.mark.parametrize(
    ("list_", "new", "picks", "after"),
    [
        # at the end, and the others of its role around it are then written as the role
        ("prev B", "prev A1", None, "prev B, prev A1"),
        ("prev A2", "prev A1", None, "prev A"),
        ("prev A2, prev B", "prev A1", None, "prev A, prev B"),
        ("prev B, prev A2", "prev A1 if there", None, "prev B, prev A2, prev A1 if there"),
        ("prev B, prev prev A2 if there", "prev A1", None,
         "prev B, prev prev A2 if there, prev A1"),
        ("prev A2 picks 1", "prev A1", 2, "prev A picks 2"),
        ("prev A2", "prev B", 3, "prev A2, prev B picks 3"),
        # where the list is in parts, beside the item of the nearest place, then of the same role
        ("prev B then first A2", "prev prev B", None, "prev B, prev prev B then first A2"),
        ("prev A then first A2", "first B", None, "prev A then first A2, first B"),
        ("prev A then prev B", "prev B1", None, "prev A then prev B, prev B1"),
        ("prev A then prev B", "prev A1", None, "prev A, prev A1 then prev B"),
        ("prev B1 then prev B2", "prev A", None, "prev B1 then prev B2, prev A"),
        ("prev A1 then prev B", "prev A2", None, "prev A then prev B"),
    ],
)  # fmt: skip
def test_a_ring_more_in_a_list(list_: str, new: str, picks: int | None, after: str) -> None:
    text = recipe(LIST.format(f"add 2 A through {list_}"))
    edit = AddRing(step_at(text, 3), ref_of(text, new), picks=picks)
    assert line_after(text, edit) == f"add 2 A through {after}"


def test_all_of_a_role_is_written_so_only_where_every_block_places_as_many() -> None:
    two = recipe("start:/close 2 A/unit:/add 3 A through prev A1/piece:/chain 9 units")
    assert line_after(two, AddRing(step_at(two, 2), ref_of(two, "prev A2"))) == (
        "add 3 A through prev A1, prev A2"
    )
    three = recipe("start:/close 3 A/unit:/add 3 A through prev A1/piece:/chain 9 units")
    assert line_after(three, AddRing(step_at(three, 2), ref_of(three, "prev A2"))) == (
        "add 3 A through prev A1, prev A2"
    )


@pytest.mark.parametrize(
    ("list_", "gone", "after"),
    [
        ("prev A, prev B", 0, "prev B"),
        ("prev A, prev B", 1, "prev A"),
        ("prev A then prev B", 0, "prev B"),
        ("prev A then prev B1, prev B2", 1, "prev A then prev B2"),
        ("prev A1, prev A2 then prev B", 1, "prev A1 then prev B"),
        ("prev A1, prev A2 then prev B", 0, "prev A2 then prev B"),
        ("prev A1, prev A2, prev B", 1, "prev A1, prev B"),
    ],
)
def test_a_ring_fewer_leaves_the_parts_of_a_list_as_they_are(
    list_: str, gone: int, after: str
) -> None:
    text = recipe(LIST.format(f"add 2 A through {list_}"))
    step = step_at(text, 3)
    assert line_after(text, RemoveRing(step, step.through[gone])) == f"add 2 A through {after}"


@pytest.mark.parametrize(
    ("list_", "at", "new", "after"),
    [
        ("prev A, prev B", 0, "prev B1", "prev B1, prev B"),
        ("prev A1 then prev B", 1, "prev A2", "prev A1 then prev A2"),
        ("prev A1, prev B1", 1, "prev A2", "prev A"),
        ("prev A1, prev B1 picks 3", 1, "prev A", "prev A1, prev A picks 3"),
    ],
)
def test_a_ring_named_instead_stands_in_the_same_part(
    list_: str, at: int, new: str, after: str
) -> None:
    text = recipe(LIST.format(f"add 2 A through {list_}"))
    step = step_at(text, 3)
    edit = ReplaceRing(step, step.through[at], ref_of(text, new))
    assert line_after(text, edit) == f"add 2 A through {after}"


def test_a_list_where_there_was_none_stands_behind_what_is_placed() -> None:
    text = recipe("unit:/add A, B lay front/reopen A/piece:/chain 9 units")
    for number, words in ((1, "add A, B"), (2, "reopen A")):
        edit = AddRing(step_at(text, number), ref_of(text, "prev B if there"), picks=1)
        line = f"{words} through prev B if there picks 1"
        assert line_after(text, edit) == line + " lay front" * (number == 1)


def test_a_second_change_of_a_list_is_typed_with_the_first() -> None:
    """What an earlier mend brought does not stand in the text yet."""
    text = recipe(LIST.format("add 2 A through prev A1 picks 1"))
    before = tree_of(text)
    first = AddRing(before.steps()[2], ref_of(text, "prev B"), picks=3)
    after = first.apply(before)
    changed = next(s for s in after.steps() if s.number == 3)
    for second, line in (
        (AddRing(changed, ref_of(text, "prev A2"), picks=4), "prev A, prev B picks 4"),
        (RemoveRing(changed, changed.through[0], picks=2), "prev B picks 2"),
    ):
        read = view(text_after(text, second, before))
        assert meant(read.recipe) == meant(second.apply(after))
        assert f"add 2 A through {line}" in read.recipe.source.lines[7]


# -- the other kinds -------------------------------------------------------------------------------


def lines_after(text: str, edit: Edit) -> list[str]:
    """The steps of a text after a change that agrees with the tree."""
    agrees(text, tree_of(text), edit)
    lines = [line.strip() for line in text_after(text, edit).split("\n")]
    return lines[3 : lines.index("piece:")]


def test_a_step_goes_and_comes_with_its_hints() -> None:
    """Of the text PAIRS, whose unit has hints under its steps 2, 3 and 6."""
    steps = tree_of(PAIRS).steps()
    whole = lines_after(PAIRS, ChangePicks(steps[1], 2))
    assert whole[6:] == [
        "add 2 B through prev A picks 2", "hint through both", "fold back B", "hint to the left",
        "hold B", "add 2 A through B picks 2", "spread A", "hint both ways",
    ]  # fmt: skip
    assert lines_after(PAIRS, DropStep(steps[2])) == [*whole[:8], *whole[10:]]
    assert lines_after(PAIRS, DropStep(steps[5])) == whole[:12]
    swapped = [*whole[:6], *whole[8:10], *whole[6:8], *whole[10:]]
    assert lines_after(PAIRS, SwapSteps(steps[1], steps[2])) == swapped
    swapped = [*whole[:11], *whole[12:], whole[11]]
    assert lines_after(PAIRS, SwapSteps(steps[4], steps[5])) == swapped
    tail = "start:/close A/unit:/add A through prev A/spread A/hint both ways"
    text = recipe(f"piece:/chain 9 units/{tail}")
    for end in (text, text.rstrip()):
        last = tree_of(end).steps()
        after = text_after(end, SwapSteps(last[1], last[2])).rstrip().split("\n")
        assert after[-3:] == ["  spread A", "  hint both ways", "  add A through prev A"]
        assert text_after(end, DropStep(last[2])).rstrip().split("\n")[-1].endswith("prev A")


def test_a_step_of_a_sibling_is_written_behind_the_steps_it_follows() -> None:
    text = recipe(
        "start:/close A/unit 1:/add A through prev A/hint one/add B through A/spread A/unit 2:"
        "/add A through prev A/hint two/spread A/piece:/chain 2 units"
    )
    tree = tree_of(text)
    block, step = tree.blocks[2], tree.steps()[2]
    whole = [x.strip() for x in text.split("\n")]
    at = whole.index("unit 2:")
    for after, line in ((0, at + 1), (1, at + 3), (2, at + 4)):
        edit = InsertStep(step, block, after)
        want = [*whole[:line], "add B through A", *whole[line:]]
        assert [x.strip() for x in text_after(text, edit).split("\n")] == want
        agrees(text, tree, edit)
        numbers = [s.number for s in edit.apply(tree).steps()]
        assert len(set(numbers)) == len(numbers) == 7
        assert edit.touched == ()


def test_rings_placed_change_their_number_and_their_name() -> None:
    text = recipe("start:/close 2 A/unit:/add 2 A, 3 B through prev A picks 2/piece:/chain 5 units")
    step = step_at(text, 2)
    one, two = step.new
    for edit, line in (
        (ChangeCount(step, one, 3), "add 3 A, 3 B through prev A picks 2"),
        (ChangeCount(step, two, 2, picks=4), "add 2 A, 2 B through prev A picks 4"),
        (ChangeCount(step, two, 1), "add 2 A, B through prev A picks 2"),
        (RenamePlaced(step, two, Name("C", None, two.span)), "add 2 A, 3 C through prev A picks 2"),
        (ChangePicks(step, 12), "add 2 A, 3 B through prev A picks 12"),
    ):
        assert line_after(text, edit) == line
        assert edit.touched == (2,)
    bare = text.replace(" picks 2", "")
    step = step_at(bare, 2)
    assert line_after(bare, ChangeCount(step, step.new[0], 3, picks=4)) == (
        "add 3 A, 3 B through prev A"
    )
    assert ChangePicks(step, 3).typed(tree_of(bare)) == ()
    assert meant(ChangePicks(step, 3).apply(tree_of(bare))) == meant(tree_of(bare))


def test_a_name_that_is_placed_with_a_number_keeps_none_of_it() -> None:
    text = recipe("start:/close A1, A2/unit:/add A3 through prev A1/piece:/chain 5 units")
    step = step_at(text, 2)
    name = Name("A", 1, step.new[0].name.span)
    assert line_after(text, RenamePlaced(step, step.new[0], name)) == "add A1 through prev A1"


@pytest.mark.parametrize(
    ("step", "first", "second"),
    [
        ("close 2 A", "close A1", "add A2 through A1"),
        ("add 2 A through prev A picks 2", "add A1 through prev A picks 2",
         "add A2 through prev A, A1 picks 2"),
        ("add 2 A on the left through prev A", "add A1 on the left through prev A",
         "add A2 on the left through prev A, A1 picks 2"),
        ("add 2 A one to each side through prev B", "add A1 on the left through prev B",
         "add A2 on the right through prev B, A1 picks 2"),
        ("add 2 A through prev B at one place", "add A1 through prev B at one place",
         "add A2 through prev B, A1 at one place picks 2"),
    ],
)  # fmt: skip
def test_two_rings_of_one_step_are_placed_one_through_the_other(
    step: str, first: str, second: str
) -> None:
    text = recipe(f"start:/close 2 B/unit:/{step}/hold A/piece:/chain 5 units")
    edit = SplitStep(step_at(text, 2))
    assert edit.lines == (first, second)
    agrees(text, tree_of(text), edit)
    assert [s.number for s in edit.apply(tree_of(text)).steps()] == [1, 2, 100_002, 3]


def test_names_and_rings_of_two_steps_change_places() -> None:
    text = recipe(
        "start:/close 2 A/unit:/add B through prev A, prev B2 if there picks 2/add 2 C, D through B"
        "/piece:/chain 5 units"
    )
    one, two = tree_of(text).steps()[1:]
    assert lines_after(text, SwapPlaced(one, two))[-2:] == [
        "add 2 C, D through prev A, prev B2 if there picks 2", "add B through B",
    ]  # fmt: skip
    assert lines_after(text, SwapNames(one, one.through[0], one.through[1]))[-2] == (
        "add B through prev B2, prev A if there picks 2"
    )
    assert lines_after(text, SwapNames(one, one.through[0], two.through[0], two))[-2:] == [
        "add B through prev B, prev B2 if there picks 2", "add 2 C, D through A",
    ]  # fmt: skip
    assert SwapPlaced(one, two).touched == SwapSteps(one, two).touched == (2, 3)
    assert SwapNames(one, one.through[0], two.through[0], two).touched == (2, 3)
    assert SwapNames(one, one.through[0], one.through[1]).touched == (2,)


def test_a_promise_is_written_anew_in_its_place() -> None:
    text = recipe(
        "expect:/B meets 2/A meets 4/start:/close 2 A/unit:/add A1, A2 through prev A/piece:"
        "/chain 5 units"
    )
    tree, new = tree_of(text), ("A1 meets 3", "A2 meets 5 or 6")
    meets = view(text.replace("  A meets 4", "  " + "\n  ".join(new))).recipe.meets
    edit = ChangePromise(tree.meets[1], meets[1:], new)
    assert edit.touched == ()
    lines = text_after(text, edit).split("\n")
    assert lines[4:7] == ["  B meets 2", "  A1 meets 3", "  A2 meets 5 or 6"]
    agrees(text, tree, edit)


def test_a_step_written_out_is_changed_in_its_own_unit_alone() -> None:
    tree = view(PERSIAN_WRITTEN).recipe
    for step in tree.steps():
        for ref in step.through:
            agrees(PERSIAN_WRITTEN, tree, ReplaceRing(step, ref, ref_of("", "prev S1")))
