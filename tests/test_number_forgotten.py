"""A number forgotten where rings are placed, 'add B' for 'add 2 B', in every shipped recipe."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from helpers import findings, shipped_recipes

from ringstep.language.findings import typed_in
from ringstep.language.source import source_from_text

SHIPPED = shipped_recipes()
PLACES = re.compile(r"(\s+(?:close|add) )\d+ ([A-Za-z]+\b.*)")


def slips() -> Iterator[tuple[str, int]]:
    for name, text in SHIPPED.items():
        for at, line in enumerate(text.split("\n")):
            # What takes rings in twos or through one another says itself that one is too few.
            if PLACES.match(line) and "one another" not in line and "each side" not in line:
                yield name, at


SLIPS = list(slips())


def test_there_are_slips_in_starts_units_and_rows() -> None:
    assert len({name for name, _ in SLIPS}) > 10


@pytest.mark.parametrize(("name", "at"), SLIPS)
def test_the_number_comes_back_by_typing_the_first_mend(name: str, at: int) -> None:
    lines = SHIPPED[name].split("\n")
    lines[at] = PLACES.sub(r"\1\2", lines[at])
    slip = "\n".join(lines)
    mends = [f.mends[0] for f in findings(slip) if f.severity == "error" and f.mends]
    assert len(mends) == 1
    mended = "\n".join(typed_in(source_from_text(slip).lines, mends[0].edits))
    assert mended.rstrip() == SHIPPED[name].rstrip()


BARE = {
    name: re.sub(r"^expect:\n(?:[ #].*\n)+", "", text, flags=re.M) for name, text in SHIPPED.items()
}


@pytest.mark.parametrize(("name", "at"), [(n, at) for n, at in SLIPS if "picks" in SHIPPED[n]])
def test_without_promises_the_number_is_among_what_is_offered_and_all_of_it_comes_right(
    name: str, at: int
) -> None:
    """A count that is not come to is then all there is to go by; none of what is typed may leave
    an error."""
    whole = BARE[name].split("\n")
    at -= SHIPPED[name].count("\n") - BARE[name].count("\n")
    slip = "\n".join((*whole[:at], PLACES.sub(r"\1\2", whole[at]), *whole[at + 1 :]))
    told = [f for f in findings(slip) if f.rule.name == "pick-count"]
    typed = [
        "\n".join(typed_in(source_from_text(slip).lines, mend.edits)).rstrip()
        for f in told
        for mend in f.mends
    ]
    if told:
        assert BARE[name].rstrip() in typed
    for text in typed:
        assert not [f for f in findings(text) if f.severity == "error"]
