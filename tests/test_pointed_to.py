"""What the faults of a slip are and which changes they point to, in `stored/pointed_to.txt`.

`python tests/test_pointed_to.py` stores it anew; look at every line that changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import pytest
from helpers import view
from slips_stored import STORED, stored_slips

from ringstep.checks.edits import ChangePromise, Edit
from ringstep.checks.faults import Fault, OffPromise, Snagged
from ringstep.checks.join_edits import join_edits
from ringstep.checks.told import Told
from ringstep.checks.wording import ONE_A_PLACE, to_type

ALL = stored_slips("pointed_to")


def words_of(fault: Fault) -> str:
    """A fault with its step or ring and its weight: 'Miscounted step 2 by 1'."""
    told = [type(fault).__name__]
    if isinstance(fault, OffPromise):
        count = fault.count
        told.append(f"{count.name} in unit {count.unit}" if count.unit else count.name)
    if isinstance(fault, Snagged):
        told.append(fault.snag.kind)
    told += [f"step {fault.step.number}"] if fault.step else []
    return " ".join((*told, f"by {fault.weight}"))


def pointed(text: str) -> Iterator[str]:
    """The changes that the faults of a text point to, those of one rank and step in one line."""
    weave = view(text).weave
    ways: dict[str, Callable[[], Iterator[Edit]]] = {"joining": partial(join_edits, weave)}
    if not weave.recipe.made:
        told = Told.of(weave)
        ways = {"told": told.told, "renamed": told.renamed, "missing": told.missing_links,
                "extra": told.extra_links}  # fmt: skip
    for name, edits in ways.items():
        found: dict[tuple[tuple[int, ...], int], set[str]] = {}
        for edit in edits():
            assert not isinstance(edit, ChangePromise)
            words = to_type(weave.recipe, edit).removesuffix(f"; {ONE_A_PLACE}")
            if words.startswith("write 'through ") and words.count("'") == 2:
                words = words.removeprefix("write '").removesuffix("'")
            found.setdefault((edit.rank, edit.step.number), set()).add(words)
        for (rank, step), words_ in sorted(found.items()):
            yield f"{name} {rank} step {step}: {' | '.join(sorted(words_))}"


def comes_of(text: str) -> list[str]:
    """The lines to store of one slip."""
    return [*map(words_of, view(text).faults), *(f"- {line}" for line in pointed(text))]


@pytest.mark.parametrize("name", ALL)
def test_a_slip_has_these_faults_and_they_point_to_these_changes(name: str) -> None:
    slip = ALL[name]
    assert view(slip.right).faults == []
    assert not view(slip.wrong).troubles
    assert tuple(comes_of(slip.wrong)) == slip.told


if __name__ == "__main__":
    parts = (STORED / "pointed_to.txt").read_text(encoding="utf-8").split("\n\nslip ")
    for at, slip in enumerate(ALL.values(), 1):
        words, *lines = parts[at].split("\n")
        rest = lines[len(slip.told) :]
        parts[at] = "\n".join((words, *(f"  {line}" for line in comes_of(slip.wrong)), *rest))
    (STORED / "pointed_to.txt").write_text("\n\nslip ".join(parts), encoding="utf-8")
