"""Rings that fit: facts of the trade for one weave, the ends of a range, the floor, the words."""

from __future__ import annotations

import json
from fractions import Fraction
from math import pi, sqrt
from pathlib import Path

import pytest
from helpers import EXAMPLES, FLOWERS, LIBRARY, PERSIAN_LINKED, SHAGGY, SIMPLE, view
from hypothesis import given
from hypothesis import strategies as st

from ringstep.commands.cli import main
from ringstep.language.measures import smallest_ratio, swg_mm
from ringstep.language.typed_size import read_size
from ringstep.paper.size_tables import no_such_ring
from ringstep.shop.fitting import (
    RingUse,
    judge,
    most_rings,
    openings,
    ring_uses,
    small_changes,
    wires,
)
from ringstep.weave.working_range import Range, ratio, rounded

Out = pytest.CaptureFixture[str]
LINKED = [str(LIBRARY / "persian_linked.weave"), "--variant", "calm"]
NARROW = Range(Fraction("5.6"), Fraction("5.8"), "common practice no source")


def use_of(text: str, name: str = "all") -> RingUse:
    return next(u for u in ring_uses(view(text)) if u.name == name)


def shipped(name: str) -> str:
    return (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")


LINKED_USE = use_of(shipped("persian_linked").replace("variant zigzag", "variant calm"))


# -- the linked Persian chain, facts of the trade --------------------------------------------------


@pytest.mark.parametrize(
    ("wire", "inside"), [("1.6", "9"), ("1.2", "7"), ("1.0", "5.75"), ("0.8", "4.5")]
)
def test_rings_that_makers_use_for_the_linked_persian_chain(wire: str, inside: str) -> None:
    """All four work: common practice, no source. 1.2/7 is 5.833 and counts as 5.8."""
    (one,) = judge(
        LINKED_USE, "", "", read_size(f"{wire} mm", wire=True), read_size(f"{inside} mm")
    )
    assert one.verdict == "fits"
    assert Fraction("5.6") <= one.counts_as <= Fraction("5.8")


@pytest.mark.parametrize(
    ("wire", "inside", "counts_as", "verdict"),
    [
        (1.0, 5.54, "5.5", "too tight"),
        (1.0, 5.549, "5.5", "too tight"),
        (1.0, 5.55, "5.6", "fits"),
        (0.8, 4.6, "5.8", "fits"),  # 5.75 exactly; as floats 4.6 / 0.8 is a hair less
        (1.0, 5.849, "5.8", "fits"),
        (1.0, 5.85, "5.9", "too loose"),
        (0.2, 1.17, "5.9", "too loose"),  # 5.85 exactly
    ],
)
def test_the_ends_of_a_range(wire: float, inside: float, counts_as: str, verdict: str) -> None:
    value = ratio(wire, inside)
    assert rounded(value, NARROW.places) == Fraction(counts_as)
    assert NARROW.verdict(value) == verdict


@given(st.integers(10, 99), st.integers(0, 40), st.integers(20, 400), st.integers(50, 4000))
def test_a_verdict_is_that_of_the_rounded_ratio(
    low: int, more: int, wire: int, inside: int
) -> None:
    """Against the plain way of saying it: round, then compare."""
    span = Range(Fraction(low, 10), Fraction(low + more, 10), "")
    value = ratio(wire / 100, inside / 100)
    inside_range = span.low <= rounded(value, 1) <= Fraction(low + more, 10)
    assert (span.verdict(value) == "fits") == inside_range


def test_a_range_is_compared_in_the_decimals_it_is_written_with() -> None:
    assert Range(Fraction(4), Fraction(5), "").places == 1
    assert Range(Fraction("5.65"), Fraction("5.8"), "").places == 2
    assert Range(Fraction("5.65"), Fraction("5.8"), "").verdict(Fraction("5.64")) == "too tight"
    assert Range(Fraction(16, 3), None, "").places == 3
    assert Range(Fraction(16, 3), None, "").verdict(Fraction(16, 3)) == "fits"


def test_a_range_without_an_upper_end() -> None:
    span = Range(Fraction(3), None, "")
    assert [span.verdict(Fraction(x)) for x in ("2.94", "2.95", "30")] == [
        "too tight", "fits", "fits",
    ]  # fmt: skip


# -- gauges and what they are sold as --------------------------------------------------------------


def test_14_awg_is_sold_as_1_6_mm_and_it_matters_at_9_mm() -> None:
    """1.628 mm by ASTM B258; the label is common practice, no source."""
    wire = read_size("14 awg", wire=True)
    assert wire.mm == pytest.approx(1.628, abs=5e-4)
    assert wire.sold_as == 1.6
    first, sold = judge(LINKED_USE, "", "", wire, read_size("9 mm"))
    assert (first.verdict, sold.verdict) == ("too tight", "fits")
    assert (first.wire_mm, sold.wire_mm) == (wire.mm, 1.6)


def test_a_label_that_changes_nothing_is_not_told() -> None:
    wire = read_size("18 awg", wire=True)  # 1.024, sold as 1.0
    assert len(judge(LINKED_USE, "", "", wire, read_size("5.65 mm"))) == 2
    assert len(judge(None, "", "", read_size("20 swg", wire=True), read_size("3 mm"))) == 1
    assert len(judge(None, "", "", read_size("1.6 mm", wire=True), read_size("9 mm"))) == 1


@pytest.mark.parametrize(
    ("gauge", "label"),
    [("14 awg", 1.6), ("16 awg", 1.3), ("18 awg", 1.0), ("20 awg", 0.8), ("22 awg", 0.65),
     ("24 awg", 0.5), ("16 swg", 1.6), ("18 swg", 1.2), ("20 swg", 0.9)],
)  # fmt: skip
def test_labels_of_gauges(gauge: str, label: float) -> None:
    """Common practice, no source."""
    assert read_size(gauge, wire=True).sold_as == label


# -- which openings, which wires -------------------------------------------------------------------


def test_openings_for_a_wire_by_hand() -> None:
    span = openings(LINKED_USE, 1.2)
    assert span is not None
    # 5.55 x 1.2 and 5.85 x 1.2
    assert (span.low, span.below) == (6.66, 7.02)
    assert span.steps(Fraction(1, 10)) == (67, 70)  # 6.7 to 7.0 mm
    assert span.steps(Fraction(1, 4)) == (27, 28)  # 6.75 and 7 mm
    assert span.steps(Fraction(127, 320)) == (17, 17)  # 17/64 in, 6.747 mm
    assert span.steps(Fraction(5)) is None


@given(st.integers(20, 400), st.integers(20, 4000))
def test_openings_and_wires_say_the_same_as_the_verdict(wire: int, inside: int) -> None:
    d, opening = wire / 100, inside / 100
    span, thick = openings(LINKED_USE, d), wires(LINKED_USE, opening)
    assert span is not None
    assert span.below is not None
    assert thick is not None
    assert thick[0] is not None
    fits = LINKED_USE.verdict(d, opening) == "fits"
    slack = 1e-9
    if fits:
        assert span.low - slack <= opening < span.below + slack
        assert thick[0] - slack < d <= thick[1] + slack
    else:
        assert not span.low + slack < opening < span.below - slack
        assert not thick[0] + slack < d < thick[1] - slack


def test_a_floor_above_the_range_takes_its_place() -> None:
    text = SIMPLE.replace("A meets 2", "A meets 2\n  AR 1.5 to 4, a trial")
    use = use_of(text)
    assert use.floor(1.2).inside == pytest.approx(2.4)  # two wires side by side
    span = openings(use, 1.2)
    assert span is not None
    assert span.low == pytest.approx(2.4)
    assert use.verdict(1.2, 2.3) == "cannot be"
    assert use.verdict(1.2, 2.4) == "fits"
    assert use.verdict(1.2, 1.0) == "cannot be"


# -- the floor -------------------------------------------------------------------------------------


def test_the_floor_of_the_linked_chain_is_the_packing_of_seven_circles() -> None:
    """M meets one M and six S: seven wires, ratio 3 (Graham 1968)."""
    least = LINKED_USE.floor()
    assert (least.rings, least.role) == (7, "M")
    assert least.inside == pytest.approx(3 * 1.2)
    assert "Graham 1968" in least.reason
    assert LINKED_USE.alone


def test_kinds_are_told_by_themselves_each_with_its_own_crowd() -> None:
    petal, connector = ring_uses(view(FLOWERS.replace("P  wire", "P  wire")))
    assert (petal.name, connector.name) == ("P", "k")
    # petal: 2 petals of 1.2 mm and 2 connectors of 1.0 mm, mixed; connector: 6 petals of 1.2 mm
    assert petal.floor().rings == 4
    assert petal.floor().inside == pytest.approx(max(2.4, sqrt(2 * 1.44 + 2 * 1.0)))
    assert "weak bound" in petal.floor().reason
    assert connector.floor().rings == 6
    assert connector.floor().inside == pytest.approx(smallest_ratio(6) * 1.2)
    # thicker wire for the connector does not change the wires through it
    assert connector.floor(2.0).inside == connector.floor().inside
    assert petal.floor(2.0).inside == pytest.approx(4.0)


BEADED = """\
weave "Chain with a bead in every unit"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
parts:
  bead  glass
expect:
  A meets 2 A, 1 bead
start:
  close A
unit:
  close bead
  add A through prev A, bead picks 2
piece:
  chain 10 units
"""


def test_parts_are_no_rings_and_no_wires_through_a_ring() -> None:
    """A bead has no line of 'rings:', so the line for all rings says nothing of it."""
    (use,) = ring_uses(view(BEADED))
    assert use.roles == ("A",)
    assert use.floor().rings == 2


def test_a_range_for_one_kind_holds_for_that_kind_only() -> None:
    thick, thin = ring_uses(view(shipped("spiral_two_wires")))
    assert (thick.range.low, thick.range.high) == (Fraction("3.5"), Fraction("4.5"))
    assert thin.range is None
    assert thin.verdict(1.0, 5.0) == "no range"


def test_rings_of_one_line_with_ranges_of_their_own_are_told_apart() -> None:
    text = PERSIAN_LINKED.replace(
        "  4 rings a unit", "  4 rings a unit\n  M AR 5 to 6, one\n  AR 4 to 7, two"
    )
    told = {use.roles: use.range.origin for use in ring_uses(view(text))}
    assert told == {("M",): "one", ("H", "S"): "two"}


@pytest.mark.parametrize("n", range(1, 14))
def test_most_rings_through_a_ring_by_the_packings(n: int) -> None:
    """At the ratio of n circles n go through; a hair below it no more than fewer."""
    least = Fraction(smallest_ratio(n))
    assert most_rings(least) >= n
    assert most_rings(least - Fraction(1, 10**6)) < n
    assert most_rings(Fraction(9)) is None


# -- small changes ---------------------------------------------------------------------------------


def test_small_changes_by_hand() -> None:
    """Y/E of soft brass 0.0011, of hard brass 0.0038, from memory; D / (1 - 16/3pi Y/E D/d)."""
    soft, _, hard, thick = small_changes(1.2, 7.0, "brass")
    assert (soft.wire, thick.wire, thick.inside) == (1.2, 1.25, 7.0)
    for change, yields in ((soft, 0.0011), (hard, 0.0038)):
        assert change.inside + 1.2 == pytest.approx(8.2 / (1 - 16 / (3 * pi) * yields * 8.2 / 1.2))
    assert float(thick.ratio) == 5.6
    assert LINKED_USE.verdict(hard.wire, hard.inside) == "too loose"


def test_what_springs_open_is_told_of_metals_that_are_known() -> None:
    assert [c.words.partition(": ")[2] for c in small_changes(1.2, 7.0, "half-hard copper")] == [
        "half-hard copper springs open", "",
    ]  # fmt: skip
    softest, springiest, _ = small_changes(1.2, 7.0)
    assert "soft copper" in softest.words
    assert "spring stainless" in springiest.words
    assert len(small_changes(1.2, 7.0, "sterling silver")) == 1


# -- the command -----------------------------------------------------------------------------------


def sizes(capsys: Out, *words: str) -> str:
    assert main(["sizes", *words]) == 0
    return capsys.readouterr().out


def test_one_ring_of_any_units(capsys: Out) -> None:
    out = sizes(capsys, "--wire", "16 swg", "--inside", "5/16 in")
    assert "16 SWG (1.63 mm)       5/16 in (7.94 mm)  4.88        4.9" in out
    assert "16 SWG sold as 1.6 mm  5/16 in (7.94 mm)  4.96        5.0" in out
    assert swg_mm(16) == pytest.approx(1.6256)
    assert pytest.approx(4.8828, abs=1e-4) == 7.9375 / 1.6256
    assert "wound on 7.94 mm: spring stainless springs open" in out


def test_the_openings_for_a_recipe_and_a_wire(capsys: Out) -> None:
    out = sizes(capsys, *LINKED, "--wire", "1.2mm")
    assert "6.66 to just under 7.02  6.7, 6.8, 6.9, 7  6.75, 7     17/64" in out
    flat = " ".join(out.split())
    assert "good to make at AR 5.6 to 5.8 (common practice no source)" in flat
    assert "hard bound for any wire: AR 3.00 at least (3.6 mm with 1.2 mm wire)" in flat
    assert "since 7 rings go through a finished M" in flat
    assert "it is a floor, far below comfort" in flat


def test_the_shipped_stock_list(capsys: Out) -> None:
    out = " ".join(sizes(capsys, *LINKED, "--stock", str(EXAMPLES / "stock.csv")).split())
    assert "bin 1 5.83" in out
    assert "loose: bin 4 (6.51); bin 8 (5.87): over AR 5.8 (common practice no source)" in out
    assert "tight: bin 2 (5.54); bin 3 (5.53): under AR 5.6 (common practice no source)" in out


def test_what_the_recipe_has_and_what_no_range_says(capsys: Out) -> None:
    out = " ".join(sizes(capsys, str(LIBRARY / "spiral_two_wires.weave")).split())
    assert "THICK ring wire inside AR counts as verdict" in out
    assert "as the recipe has it 1.2 mm 4.8 mm 4.00 4.0 fits" in out
    assert "as the recipe has it 1.0 mm 5 mm 5.00 5.0 no range given" in out
    assert "the recipe gives no working range for thin; when you know one, add to 'expect:'" in out
    assert out.count("common practice, no source: measure") == 1


def test_wires_for_an_opening(capsys: Out) -> None:
    out = sizes(capsys, str(LIBRARY / "spiral_4.weave"), "--inside", "5 mm")
    # 5 / 4.55 = 1.0989 and 5 / 3.45 = 1.4493: 15 AWG (1.4495) is out by a hair
    # and so is 1.45 mm itself
    assert "just over 1.1 to 1.44 16, 17 17, 18" in " ".join(out.split())


def test_a_ring_that_does_not_fit_ends_with_1(capsys: Out) -> None:
    assert main(["sizes", *LINKED, "--wire", "1.2 mm", "--inside", "5 mm"]) == 1
    out = capsys.readouterr().out
    assert "too tight, under 5.6" in out
    assert main(["sizes", *LINKED, "--wire", "1.2 mm", "--inside", "3 mm"]) == 1
    assert "cannot be: below the floor" in capsys.readouterr().out


def test_sizes_as_json(capsys: Out) -> None:
    wires = ("--wire", "1.2 mm", "--wire", "14 awg")
    asked = [*LINKED, *wires, "--inside", "7 mm", "--inside", "9 mm", "--json"]
    data = json.loads(sizes(capsys, *asked))
    (kind,) = data["kinds"]
    assert kind["range"] == {
        "low": 5.6, "high": 5.8, "origin": "common practice no source", "decimals": 1,
    }  # fmt: skip
    assert kind["floor"]["rings"] == 7
    verdicts = {(r["wire"], r["inside"], r["sold_as"]): r["verdict"] for r in data["rings"]}
    assert verdicts[("1.2 mm", "7 mm", False)] == "fits"
    assert verdicts[("14 AWG", "9 mm", True)] == "fits"
    assert verdicts[("14 AWG", "9 mm", False)] == "too tight"


def test_sizes_as_csv_are_safe_in_a_spreadsheet(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("s.csv").write_text(
        "ring,wire,inside,material\n=1+1,1.2 mm,7 mm,copper\n", encoding="utf-8"
    )
    out = sizes(capsys, *LINKED, "--stock", "s.csv", "--csv")
    assert ",'=1+1,1.2,7.0," in out.splitlines()[1]
    data = json.loads(sizes(capsys, *LINKED, "--stock", "s.csv", "--json"))
    assert data["rings"][0]["ring"] == "=1+1"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "say which ring: ringstep sizes --wire '16 swg' --inside '5/16 in', or name a recipe"),
        (["--wire", "16", "--inside", "5 mm"], "--wire: '16' does not say which gauge"),
        (["--wire", "1.2 mm", "--inside", "1 mm"], "1 mm is no wider than the wire, 1.2 mm"),
        (["--ring", "M"], "--ring names a ring of a recipe; name the recipe too"),
        ([*LINKED, "--stock", "nowhere.csv"], "there is no file nowhere.csv"),
    ],
)
def test_what_cannot_be_told(words: list[str], told: str, capsys: Out) -> None:
    assert main(["sizes", *words]) == 2
    assert told in capsys.readouterr().err


def test_a_ring_that_is_not_in_the_recipe() -> None:
    uses = ring_uses(view(SHAGGY))
    assert no_such_ring("cor", uses) == "the recipe has no ring 'cor'; the nearest is 'core'"
    assert no_such_ring("x", uses) == "the recipe has no ring 'x'; it has core and tuft"


@pytest.mark.parametrize("path", sorted(LIBRARY.glob("*.weave")), ids=lambda p: p.stem)
def test_every_shipped_weave_has_rings_that_can_be(path: Path, capsys: Out) -> None:
    for use in ring_uses(view(path.read_text(encoding="utf-8"))):
        assert use.verdict(use.wire, use.inside) in ("fits", "no range")
        assert use.wire == use.kind.mm[0]
    assert main(["sizes", str(path)]) == 0
    assert "A SMALL CHANGE" in capsys.readouterr().out
