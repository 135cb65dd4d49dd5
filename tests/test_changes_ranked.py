"""Every small change that blame may try in a recipe, with how far-fetched each is (smaller goes
first) and its steps, in `stored/changes_ranked.txt`; of a recipe with promises that are not kept
those that its faults point to, of pieces joined those of the joining steps.

`python tests/test_changes_ranked.py` stores it anew; look at every line that changed.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from helpers import view
from slips_stored import STORED
from small_recipes import recipe

from ringstep.checks.changes import (
    candidate_refs,
    list_edits,
    may_be_off,
    replace_edits,
    step_edits,
    used_places,
)
from ringstep.checks.faults import find_faults
from ringstep.checks.join_edits import join_edits
from ringstep.checks.told import Told
from ringstep.checks.wording import to_type
from ringstep.language.tree import Tree
from ringstep.weave.piece import Weave

FILE = STORED / "changes_ranked.txt"
KINDS = {"list": list_edits, "instead": replace_edits, "steps": step_edits}
#: What the faults of a recipe point to: asked of one that has faults, instead.
POINTED = {"told": Told.told, "missing": Told.missing_links, "extra": Told.extra_links}
PARTS = "rings:\n  all  wire 1 mm, inside 6 mm, copper\nparts:\n  clasp  steel, 12 mm\n"


def stored() -> dict[str, list[str]]:
    """The recipes of the file, each with its lines."""
    text = FILE.read_text(encoding="utf-8")
    blocks = [block.strip().split("\n") for block in text.split("\nrecipe ")[1:]]
    return {body: [line.strip() for line in lines] for body, *lines in blocks}


def tree(body: str) -> Tree:
    seen = view(recipe(body, PARTS))
    assert not seen.troubles
    return seen.recipe


def changes(body: str) -> Iterator[str]:
    """All changes of a recipe, those of one rank and of the same steps in one line."""
    made = tree(body)
    kinds = {name: list(edits(made)) for name, edits in KINDS.items()}
    if made.made:
        kinds = {"join": list(join_edits(Weave(made)))}
    elif made.promises and find_faults(Weave(made)):
        kinds = {name: list(edits(Told.of(Weave(made)))) for name, edits in POINTED.items()}
    for name, edits in kinds.items():
        found: dict[tuple[tuple[int, ...], tuple[int, ...]], list[str]] = {}
        for edit in edits:
            words = to_type(made, edit)
            if words.startswith("write 'through ") and words.count("'") == 2:
                words = words.removeprefix("write 'through ").removesuffix("'")
            found.setdefault((edit.rank, edit.touched), []).append(words)
        for (rank, steps), all_ in sorted(found.items()):
            numbers = " and ".join(map(str, steps))
            yield f"{name} {rank} step {numbers}: {' | '.join(dict.fromkeys(all_))}"


@pytest.mark.parametrize("body", stored())
def test_these_are_the_small_changes_of_a_recipe(body: str) -> None:
    assert list(changes(body)) == stored()[body]


# -- places that a step could speak of -------------------------------------------------------------

CHAIN = "start:/close A/unit:/add A through {}/finish:/add E through {}/piece:/chain 9 units"
SHEET = "first row:/close A/row:/add A through above A{}/piece:/sheet 4 rows of 6 units{}"
TUBE = "first row:/close A/row:/add A through above A/piece:/tube 4 rows of 6 units"
TAPER = "/shape:/rows 2 to 4  each 1 less"
STRANDS = (
    "start:/close A/unit:/add A through prev A/piece:/strands left 4 units, right 5 units/finish:"
    "/add R through last left A picks 1"
)


@pytest.mark.parametrize(
    ("body", "kind", "used", "others"),
    [
        (CHAIN.format("prev A", "last A"), "unit", ["", "prev"], ["prev prev"]),
        (CHAIN.format("prev prev A if there", "last A"), "unit", ["", "prev prev"],
         ["prev", "prev prev prev"]),
        (CHAIN.format("prev A", "last A"), "start", [""], []),
        (CHAIN.format("prev A", "last prev prev A"), "finish", ["", "last prev prev"],
         ["first", "first next", "last", "last prev", "last prev prev prev"]),
        (CHAIN.format("prev A", "last prev prev prev A"), "finish", ["", "last prev prev prev"],
         ["first", "first next", "last", "last prev", "last prev prev",
          "last prev prev prev prev"]),
        (CHAIN.format("prev A", "first next A"), "finish", ["", "first next"],
         ["first", "first next next", "last", "last prev"]),
        (SHEET.format("", ""), "row", ["", "above"], ["above next", "above prev", "prev"]),
        (SHEET.format(", prev A if there", ""), "row", ["", "above", "prev"],
         ["above next", "above prev"]),
        (SHEET.format("", ""), "first row", ["", "above"], []),
        (SHEET.format("", TAPER), "row", ["", "above"],
         ["above next", "above next prev", "above prev", "above prev next", "prev"]),
        (STRANDS, "finish", ["", "last left", "last right"],
         ["first", "first left", "first next", "first right", "last", "last left left",
          "last prev"]),
    ],
)  # fmt: skip
def test_a_step_could_speak_of_the_places_that_such_blocks_use_and_of_the_next_ones(
    body: str, kind: str, used: list[str], others: list[str]
) -> None:
    made = tree(body)
    block = next(b for b in made.blocks if b.kind == kind)
    places = {" ".join(words): own for words, own in used_places(made, block).items()}
    assert sorted(p for p, own in places.items() if own) == used
    assert sorted(p for p, own in places.items() if not own) == others
    length = [len(words.split()) for words in places]
    assert length == sorted(length), "the nearest first"


@pytest.mark.parametrize(
    ("body", "kind", "off", "there"),
    [
        (CHAIN, "unit", ["prev prev"], ["", "prev", "first", "last prev"]),
        (CHAIN, "start", [], ["prev prev", "next"]),
        (CHAIN, "finish", [], ["prev prev", "last prev"]),
        (CHAIN.replace("start:/close A/", ""), "unit", ["prev", "prev prev"], ["", "first next"]),
        (SHEET, "row", ["above next", "above prev", "prev", "above prev next"], ["", "above"]),
        (SHEET, "first row", ["prev", "above prev"], [""]),
        (SHEET.replace("first row:/close A/", ""), "row", ["above", "above next", "prev"], [""]),
        (SHEET + TAPER, "row", ["above", "prev", "above next"], ["", "above first"]),
        (TUBE, "row", ["prev"], ["", "above", "above next"]),
        (TUBE + TAPER, "row", ["prev"], ["above", "above prev next"]),
    ],
)
def test_only_what_can_be_off_the_piece_owes_an_if_there(
    body: str, kind: str, off: list[str], there: list[str]
) -> None:
    typed = body.format("", "") if "A{}" in body else body.format("prev A", "last A")
    made = view(recipe(typed, PARTS)).recipe
    block = next(b for b in made.blocks if b.kind == kind)
    for words in (*off, *there):
        assert may_be_off(made, block, tuple(words.split())) == (words in off), words


def test_up_to_twelve_rings_of_a_name_are_named_one_by_one() -> None:
    for count, names in ((1, 1), (2, 3), (12, 13), (13, 1)):
        body = f"start:/close {count} A/unit:/add {count} A through prev A/piece:/chain 9 units"
        made = tree(body)
        refs = [ref for ref, _ in candidate_refs(made, made.blocks[1])]
        here = [str(r) for r in refs if not r.places and r.name.role == "A"]
        assert len(here) == names
        assert here[-1] == ("A" if names == 1 else f"A{count}")


def test_a_part_is_offered_in_rows_only_to_a_block_that_goes_through_it() -> None:
    """A bar that the first row hangs from is far away from the rows below."""
    for list_, there in (("above A", False), ("above A, above clasp", True)):
        body = f"first row:/close A/row:/add A through {list_}/piece:/sheet 4 rows of 6 units"
        made = view(recipe(body, PARTS)).recipe
        first, row = made.blocks
        named = [{r.name.role for r, _ in candidate_refs(made, b)} for b in (first, row)]
        assert named == [{"A", "clasp"}, {"A", "clasp"} if there else {"A"}]


if __name__ == "__main__":
    head, *_ = FILE.read_text(encoding="utf-8").split("\nrecipe ")
    blocks = ["\n".join((body, *(f"  {x}" for x in changes(body)))) for body in stored()]
    FILE.write_text("\n\nrecipe ".join((head.rstrip(), *blocks)) + "\n", encoding="utf-8")
