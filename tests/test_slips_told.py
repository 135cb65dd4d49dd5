"""One slip in a small recipe: told once, on its line, and mended by what is offered to type.

The slips and what must be offered stand in `stored/slips_told.txt`, read line by line by one who
knows the recipes. What is offered must leave nothing wrong, and one of it make the right links.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from helpers import findings, view
from test_combinations import RINGS, recipe

from ringstep.language.findings import Mend, typed_in
from ringstep.language.source import source_from_text

STORED = Path(__file__).parent / "stored" / "slips_told.txt"


@dataclass(frozen=True)
class Told:
    """A slip. rule: of what is said; line: that is named; mends: what is offered."""

    right: str
    wrong: str
    rule: str
    line: str
    mends: tuple[str, ...]


def slips() -> Iterator[tuple[str, Told]]:
    """Every slip of the file, with its name."""
    for block in STORED.read_text(encoding="utf-8").split("\nrecipe ")[1:]:
        head, *told = block.split("\n\nslip ")
        name, *lines = head.split("\n")
        rings = "".join(x.removeprefix("rings ") for x in lines if x.startswith("rings "))
        body = "".join(x.strip() for x in lines if not x.startswith("rings "))
        right = _lines(body, rings)
        for one in told:
            slip, rule, *mends = one.strip().split("\n")
            old, _, new = slip.partition(" -> ")
            assert old in body, slip
            wrong = _lines(body.replace(old, new, 1), rings)
            rule, _, line = rule.strip().partition(" @ ")
            pairs = zip(right.split("\n"), wrong.split("\n"), strict=False)
            line = line or next(b for a, b in pairs if a != b)
            says = tuple(m.strip().removeprefix("- ") for m in mends)
            yield f"{name}: {slip}", Told(right, wrong, rule, line.strip(), says)


def _lines(body: str, rings: str) -> str:
    """A recipe whose lines are parted by '/'."""
    if not rings:
        return recipe(body, RINGS)
    lines = [f"{x}\n" if x[-1] == ":" else f"  {x}\n" for x in rings.split("/")]
    return recipe(body, "".join(lines))


ALL = dict(slips())
RIGHT = {told.right: name.partition(":")[0] for name, told in ALL.items()}


def typed(text: str, mend: Mend) -> str:
    return "\n".join(typed_in(source_from_text(text).lines, mend.edits))


def links(text: str) -> set[frozenset[object]]:
    """The links of a recipe, ring by ring."""
    made = view(text).weave.work.links
    return {frozenset((a, b)) for a, others in made.items() for b in others}


def errors(text: str) -> list[str]:
    return [f.message for f in findings(text) if f.severity == "error"]


@pytest.mark.parametrize("text", RIGHT, ids=RIGHT.get)
def test_the_recipes_are_right(text: str) -> None:
    assert errors(text) == []


@pytest.mark.parametrize("name", ALL)
def test_a_slip_is_told_once_where_it_lies_and_mended_by_what_is_offered(name: str) -> None:
    told = ALL[name]
    (fault,) = (f for f in findings(told.wrong) if f.severity == "error")
    line = told.wrong.split("\n")[fault.span.line - 1].strip()
    assert (fault.rule.name, line) == (told.rule, told.line)
    says = [m.says for m in fault.mends]
    wanted = [f"write '{m}'" if m.startswith("through ") else m for m in told.mends]
    assert says == wanted
    after = [typed(told.wrong, mend) for mend in fault.mends]
    assert [errors(text) for text in after] == [[] for _ in after]
    assert links(told.right) in [links(text) for text in after]
    assert all(any(one in line for line in (fault.message, *fault.help)) for one in says)
