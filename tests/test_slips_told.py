"""One slip in a small recipe: told once, on its line, and mended by what is offered to type.

The slips and what must be offered stand in `stored/slips_told.txt`, read line by line by one who
knows the recipes. What is offered must leave nothing wrong, and one of it make the right links.
"""

from __future__ import annotations

import pytest
from helpers import findings, view
from slips_stored import stored_slips

from ringstep.language.findings import Mend, typed_in
from ringstep.language.source import source_from_text

ALL = stored_slips("slips_told")
RIGHT = {slip.right: name.partition(":")[0] for name, slip in ALL.items()}


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
    slip = ALL[name]
    rule, _, line = slip.told[0].partition(" @ ")
    (fault,) = (f for f in findings(slip.wrong) if f.severity == "error")
    named = slip.wrong.split("\n")[fault.span.line - 1].strip()
    assert (fault.rule.name, named) == (rule, line or slip.line)
    says = [m.says for m in fault.mends]
    mends = [m.removeprefix("- ") for m in slip.told[1:]]
    assert says == [f"write '{m}'" if m.startswith("through ") else m for m in mends]
    after = [typed(slip.wrong, mend) for mend in fault.mends]
    assert [errors(text) for text in after] == [[] for _ in after]
    assert links(slip.right) in [links(text) for text in after]
    assert all(any(one in line for line in (fault.message, *fault.help)) for one in says)
