"""Right recipes in every form an author might give them: nothing is said against any.

Shipped recipes and examples as they are, written out unit by unit, of other lengths, with a catch
at either end; and pieces that start or finish joins. Said may be that nothing is promised for a
ring, where that is so, and that a piece is too short to hold a ring to its promise, where it is.
"""

from __future__ import annotations

import re

import pytest
from forms import caught, clasped, promised_in, resized, rows_of, units_of, written_out
from helpers import EXAMPLES, RECIPES, shipped_recipes
from typed import Found, found_in

from ringstep.language.parse import parse
from ringstep.language.source import source_from_text
from ringstep.weave.piece import Weave

#: Whatever is right as it stands; the one example left out is the one that shows a mistake.
RIGHT = {
    **shipped_recipes(),
    **{p.stem: p.read_text("utf-8") for p in sorted(EXAMPLES.glob("*.weave"))
       if p.stem != "missed_ring"},
    **{f"tried {name}": text for name, text in RECIPES.items()},
}  # fmt: skip

#: Two ropes from one ring, and the like: start or finish make them one piece.
JOINED_AT_ENDS = ("lantern_drop", "rain_fringe", "ladder_between_rods", "two_halves_one_knot",
                  "out_from_the_middle", "garland")  # fmt: skip


def promised(text: str) -> set[str]:
    """The rings that the recipe promises something for."""
    recipe, _ = parse(source_from_text(text))
    names = {m.name.role for m in recipe.meets}
    return {r for b in recipe.blocks for r in b.placed} if "all" in names else names


def whole(text: str) -> Weave:
    """The piece carried out place by place."""
    recipe, _ = parse(source_from_text(text))
    chosen = recipe.piece.variant.value if recipe.piece and recipe.piece.variant else None
    variants = [v for v in recipe.variants if chosen in (None, v.name)]
    return Weave(recipe, variants[0] if variants else None, whole=True)


def too_short(text: str, finding: Found) -> bool:
    """True where no ring of the piece has as many neighbours as the line promises."""
    recipe, _ = parse(source_from_text(text))
    name = next(m.name for m in recipe.meets if m.span.line == finding["line"])
    links = whole(text).work.links
    least = min(promised_in(text.splitlines()[finding["line"] - 1]))
    most = [len(o) for r, o in links.items()
            if r.role == name.role and name.index in (None, r.index)]  # fmt: skip
    if units_of(text) == 1:  # start, one unit, finish: a ring may have its number by chance
        return "too short" in finding["help"]
    return "too short" in finding["help"] and max(most, default=0) < least


def alarms(text: str) -> list[Found]:
    """Every error and warning that is not plainly so."""
    found = [f for f in found_in(text) if f["severity"] != "note"]
    names = promised(text)

    def so(finding: Found) -> bool:
        if finding["rule"] == "nothing-promised":
            ring = re.match(r"nothing is promised for (\S+?),", finding["message"])
            return ring is not None and ring[1] not in names
        return finding["rule"] == "promise-untested" and too_short(text, finding)

    return [f for f in found if not so(f)]


def one_length(text: str) -> bool:
    """True where the size is that of units written out, of a picture, of a shape, of a ring through
    all or of sizes along the piece."""
    odd = r"^unit \d+:|^picture\b.*:|^shape:| through every | units \d+ to "
    return bool(re.search(odd, text, re.M))


@pytest.mark.parametrize("name", RIGHT)
def test_as_it_is(name: str) -> None:
    assert not alarms(RIGHT[name])


@pytest.mark.parametrize("units", [1, 2, 3, 5, 24])
@pytest.mark.parametrize(
    "name",  # the edges of the cube match where its panels are square
    [n for n, t in RIGHT.items() if not one_length(t) and n != "cube_of_panels"],
)
def test_in_other_lengths(name: str, units: int) -> None:
    """A loop or round of one unit would link a ring with itself, and one ring alone is no piece;
    nor is there a step that every place leaves out."""
    text = RIGHT[name]
    if rows_of(text) is None:
        no_start = not re.search(r"^start:", text, re.M)
        text = resized(text, units + ("loop " in text or (units == 1 and no_start)))
        assert not alarms(text), text
        return
    kinds = len(re.findall(r"^(?:first row|row .*):", text, re.M))
    hung = re.search(r"^first row:|above .* skip at edge", text, re.M)
    least = max(kinds, 2 if hung else 1)
    for rows in (n for n in (1, 2, 3, 8) if n >= least):
        wide = units + (" tube " in text or rows == 1 or "skip at edge" in text)
        assert not alarms(resized(text, wide, rows)), resized(text, wide, rows)


WRITTEN = {n: w for n, t in RIGHT.items() if not one_length(t) and (w := written_out(t, 6))}


@pytest.mark.parametrize("units", [1, 2, 3, 6])
@pytest.mark.parametrize("name", WRITTEN)
def test_written_out_unit_by_unit(name: str, units: int) -> None:
    """Nothing is said of it that is not said of the same piece with its unit told once."""
    units += "loop " in RIGHT[name]
    text = written_out(RIGHT[name], units)
    assert text is not None
    once = {f["message"] for f in found_in(resized(RIGHT[name], units))}
    assert not [f for f in alarms(text) if f["message"] not in once], text


@pytest.mark.parametrize("name", WRITTEN)
def test_written_out_is_the_same_piece(name: str) -> None:
    """The same links, ring by ring, as with the unit told once."""
    one, two = whole(WRITTEN[name]), whole(resized(RIGHT[name], 6))
    assert {r: set(o) for r, o in one.work.links.items()} == {
        r: set(o) for r, o in two.work.links.items()
    }


CLASPED = {n: c for n, t in RIGHT.items() if (c := clasped(t))}


@pytest.mark.parametrize("name", CLASPED)
def test_with_a_catch_at_the_end(name: str) -> None:
    assert not alarms(CLASPED[name]), CLASPED[name]


#: Where the first rings only hold the work and come out again, a catch cannot hang on them.
CAUGHT = {
    n: c for n, t in RIGHT.items() if not re.search("take out|stays closed", t) and (c := caught(t))
}


@pytest.mark.parametrize("name", CAUGHT)
def test_begun_on_a_catch(name: str) -> None:
    assert not alarms(CAUGHT[name]), CAUGHT[name]


@pytest.mark.parametrize("units", [1, 2, 3, 5, 24])
@pytest.mark.parametrize("name", JOINED_AT_ENDS)
def test_joined_by_start_or_finish_in_every_length(name: str, units: int) -> None:
    from test_cases import text_of

    assert not alarms(resized(text_of(name), units))


def test_every_form_is_tried() -> None:
    assert len(RIGHT) > 40
    assert len(WRITTEN) > 25
    assert len(CLASPED) > 15
    assert len(CAUGHT) > 15
