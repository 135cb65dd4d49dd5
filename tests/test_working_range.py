"""In which range a ring's aspect ratio is good, which range is its own, and what rounds into it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from helpers import view
from small_recipes import recipe

from ringstep.weave.working_range import Range, exact, range_for, ratio, ratio_text, rounded

PLAIN = "variants:/calm  lay front/zigzag  lay front, back/start:/close 2 A/unit:/add A1 through"
PLAIN += " prev A/add A2 through prev A, A1 lay varies/close B/piece:/chain 9 units"


def span(promises: str, variant: str | None, role: str, index: int) -> str:
    """The range that holds for a ring: '5 to 6', 'from 3', '' where there is none."""
    seen = view(recipe(f"expect:/{promises}/{PLAIN}"))
    assert not seen.troubles
    found = range_for(seen.recipe, variant, role, index)
    if found is None:
        return ""
    low = f"{float(found.low):g}"
    return f"{low} to {float(found.high):g}" if found.high else f"from {low}"


@pytest.mark.parametrize(
    ("promises", "variant", "spans"),
    # of A1, A2 and B
    [
        ("AR 5 to 6", None, ["5 to 6"] * 3), ("AR from 3", "calm", ["from 3"] * 3),
        ("A AR 5 to 6", None, ["5 to 6", "5 to 6", ""]), ("A2 AR 5 to 6", None, ["", "5 to 6", ""]),
        # its own name goes before its role, that before the variant, that before all
        ("AR 1 to 2/calm AR 3 to 4/A AR 5 to 6/A2 AR 7 to 8", "calm",
         ["5 to 6", "7 to 8", "3 to 4"]),
        ("A2 AR 7 to 8/A AR 5 to 6/calm AR 3 to 4/AR 1 to 2", "calm",
         ["5 to 6", "7 to 8", "3 to 4"]),
        ("AR 1 to 2/calm AR 3 to 4", "zigzag", ["1 to 2"] * 3),
        ("AR 1 to 2/calm AR 3 to 4", None, ["1 to 2"] * 3),
        ("calm AR 3 to 4", "zigzag", [""] * 3), ("calm AR 3 to 4", "calm", ["3 to 4"] * 3),
        ("B AR 3 to 4", None, ["", "", "3 to 4"]),
    ],
)  # fmt: skip
def test_which_range_is_a_rings_own(promises: str, variant: str | None, spans: list[str]) -> None:
    rings = [("A", 1), ("A", 2), ("B", 1)]
    assert [span(promises, variant, *ring) for ring in rings] == spans
    assert range_for(view(recipe(PLAIN)).recipe, variant, "A", 1) is None


def of(low: str, high: str | None) -> Range:
    return Range(Fraction(low), None if high is None else Fraction(high), "")


@pytest.mark.parametrize(
    ("low", "high", "places", "begins", "ends"),
    [
        ("5.6", "5.8", 1, "5.55", "5.85"), ("5", "6", 1, "4.95", "6.05"),
        ("5.65", "5.8", 2, "5.645", "5.805"), ("5.625", "6", 3, "5.6245", "6.0005"),
        # more decimals than three are not compared
        ("5.62545", "6", 3, "5.6245", "6.0005"), ("3", None, 1, "2.95", None),
        ("3.25", None, 2, "3.245", None),
    ],
)  # fmt: skip
def test_what_rounds_into_a_range(
    low: str, high: str | None, places: int, begins: str, ends: str | None
) -> None:
    found, little = of(low, high), Fraction(1, 10**9)
    assert found.places == places
    assert found.from_ratio == Fraction(begins)
    assert found.below_ratio == (None if ends is None else Fraction(ends))
    assert found.verdict(Fraction(begins)) == "fits"
    assert found.verdict(Fraction(begins) - little) == "too tight"
    if ends is None:
        assert found.verdict(Fraction(100)) == "fits"
    else:
        assert found.verdict(Fraction(ends)) == "too loose"
        assert found.verdict(Fraction(ends) - little) == "fits"


def test_sizes_as_they_are_written() -> None:
    assert exact(4.6) == Fraction(46, 10)
    assert ratio(0.8, 4.6) == Fraction(23, 4)
    with pytest.raises(ZeroDivisionError):
        ratio(0, 4.6)
    halves = {n: rounded(Fraction(f"2.{n}"), 1) for n in ("04", "05", "14", "15", "25")}
    assert halves == {
        "04": 2, "05": Fraction("2.1"), "14": Fraction("2.1"), "15": Fraction("2.2"),
        "25": Fraction("2.3"),
    }  # fmt: skip
    assert [ratio_text(Fraction(35, 6), n) for n in (0, 1, 2, 3)] == ["6", "5.8", "5.83", "5.833"]
