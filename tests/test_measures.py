"""Gauges, ring sizes and the floor on crowding, held against tables from outside the project."""

import itertools
import re
import subprocess
import sys
from fractions import Fraction
from math import cos, dist, hypot, pi, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringstep.language.measures import (
    PACKING,
    awg_mm,
    gauge_text,
    gauge_words,
    inch_words,
    mass_g,
    metal_volume_mm3,
    mixed_floor,
    nearest_gauges,
    smallest_ratio,
    swg_mm,
    text_mm,
    to_mm,
    wire_per_ring,
)

# ------------------------------------------------------------------------------------- gauges

# ASTM B258-18, values computed from its formula and rounded to 0.0001 mm.
AWG = {
    10: 2.5882, 11: 2.3048, 12: 2.0525, 13: 1.8278, 14: 1.6277, 15: 1.4495, 16: 1.2908,
    17: 1.1495, 18: 1.0237, 19: 0.9116, 20: 0.8118, 21: 0.7229, 22: 0.6438, 23: 0.5733,
    24: 0.5106, 25: 0.4547, 26: 0.4049,
}  # fmt: skip

# Order in Council of 23 August 1883 (later BS 3737:1964), inches as printed.
SWG = {
    10: ".128", 11: ".116", 12: ".104", 13: ".092", 14: ".080", 15: ".072", 16: ".064",
    17: ".056", 18: ".048", 19: ".040", 20: ".036", 21: ".032", 22: ".028", 23: ".024",
    24: ".022", 25: ".020", 26: ".018",
}  # fmt: skip

# The rest of the same table, from memory; compared by hand with an engineering library's table,
# which agrees but for number 28 (.0149 there).
SWG_FROM_MEMORY = {
    -6: ".500", -5: ".464", -4: ".432", -3: ".400", -2: ".372", -1: ".348", 0: ".324", 1: ".300",
    2: ".276", 3: ".252", 4: ".232", 5: ".212", 6: ".192", 7: ".176", 8: ".160", 9: ".144",
    27: ".0164", 28: ".0148", 29: ".0136", 30: ".0124", 31: ".0116", 32: ".0108", 33: ".0100",
    34: ".0092", 35: ".0084", 36: ".0076", 37: ".0068", 38: ".0060", 39: ".0052", 40: ".0048",
    41: ".0044", 42: ".0040", 43: ".0036", 44: ".0032", 45: ".0028", 46: ".0024", 47: ".0020",
    48: ".0016", 49: ".0012", 50: ".0010",
}  # fmt: skip


@pytest.mark.parametrize("number", AWG)
def test_awg_agrees_with_astm_b258(number: int) -> None:
    assert awg_mm(number) == pytest.approx(AWG[number], abs=0.0005)


def test_awg_is_fixed_by_its_two_defining_sizes() -> None:
    # ASTM B258 (from memory): 4/0 is 0.4600 in, 36 is 0.0050 in, 39 equal ratios between them.
    assert awg_mm(-3) == pytest.approx(0.46 * 25.4, rel=1e-12)
    assert awg_mm(36) == pytest.approx(0.005 * 25.4, rel=1e-12)
    ratios = [awg_mm(n) / awg_mm(n + 1) for n in range(-3, 40)]
    assert max(ratios) - min(ratios) < 1e-12


def test_awg_16_differs_from_the_rounded_inches_of_the_table() -> None:
    # ASTM B258 tabulates 16 AWG as 0.0508 in (from memory): 1.2903 mm, a shade under the formula.
    assert awg_mm(16) == pytest.approx(0.0508 * 25.4, abs=0.001)
    assert awg_mm(16) > 0.0508 * 25.4


@pytest.mark.parametrize(("number", "inches"), (SWG | SWG_FROM_MEMORY).items())
def test_swg_is_the_1883_table_exactly(number: int, inches: str) -> None:
    assert swg_mm(number) == float(Fraction(inches) * Fraction("25.4"))


def test_swg_steps_never_grow_as_wire_gets_thinner() -> None:
    # A property of the 1883 table: each step is as large as the one before or smaller. One wrong
    # digit breaks it.
    sizes = [swg_mm(n) for n in range(-6, 51)]
    steps = [thick - thin for thick, thin in itertools.pairwise(sizes)]
    assert min(steps) > 0
    assert all(later <= sooner + 1e-9 for sooner, later in itertools.pairwise(steps))


def test_the_same_number_means_thicker_wire_in_swg() -> None:
    # From the two tables above: 6 % at 23, the least, to 29 % at 12, the most.
    excess = {n: swg_mm(n) / awg_mm(n) - 1 for n in range(10, 27)}
    assert min(excess, key=excess.__getitem__) == 23
    assert max(excess, key=excess.__getitem__) == 12
    assert round(100 * excess[23]) == 6
    assert round(100 * excess[12]) == 29


@pytest.mark.parametrize("number", [-4, 41, 10**400])
def test_awg_outside_the_table_is_refused(number: int) -> None:
    with pytest.raises(ValueError, match=r"^AWG numbers run from 4/0 to 40; write .* in mm$"):
        awg_mm(number)


@pytest.mark.parametrize("number", [-7, 51, 10**400])
def test_swg_outside_the_table_is_refused(number: int) -> None:
    with pytest.raises(ValueError, match=r"^SWG numbers run from 7/0 to 50; write .* in mm$"):
        swg_mm(number)


@pytest.mark.parametrize(
    ("number", "text"), [(20, "20"), (1, "1"), (0, "0"), (-1, "2/0"), (-3, "4/0"), (-6, "7/0")]
)
def test_gauges_past_nought_are_counted_in_noughts(number: int, text: str) -> None:
    assert gauge_text(number) == text


@pytest.mark.parametrize("number", range(-3, 41))
def test_nearest_awg_finds_every_number_again(number: int) -> None:
    assert nearest_gauges(awg_mm(number))[0] == (number, awg_mm(number))


@pytest.mark.parametrize("number", range(-6, 51))
def test_nearest_swg_finds_every_number_again(number: int) -> None:
    assert nearest_gauges(swg_mm(number))[1] == (number, swg_mm(number))


def test_nearest_gauge_of_metric_wire() -> None:
    # Read off the two tables above.
    assert nearest_gauges(1.2)[0][0] == 17  # 1.1495; 16 is 1.2908
    assert nearest_gauges(1.2)[1][0] == 18  # 1.2192
    assert nearest_gauges(0.8)[0][0] == 20  # 0.8118
    assert nearest_gauges(0.8)[1][0] == 21  # 0.8128
    assert nearest_gauges(1.6)[1] == (16, 1.6256)


def test_nearest_gauge_stops_at_the_ends() -> None:
    assert nearest_gauges(50)[0] == (-3, awg_mm(-3))
    assert nearest_gauges(0.001)[0] == (40, awg_mm(40))
    assert nearest_gauges(50)[1] == (-6, 12.7)
    assert nearest_gauges(0.001)[1] == (50, 0.0254)


# -------------------------------------------------------------------------------------- units


@pytest.mark.parametrize(
    ("number", "unit", "mm"),
    [
        ("1.2", "mm", 1.2),
        ("0.5", "cm", 5.0),
        ("5/16", "in", 7.9375),  # the inch is 25.4 mm exactly (international yard, 1959)
        ("1/8", "inch", 3.175),
        ("2", "Inches", 50.8),
        ("1", "MM", 1.0),
        ("16", "SWG", 1.6256),
        ("18", "swg", 1.2192),
        ("0", "mm", 0.0),
        ("-1", "mm", -1.0),
    ],
)
def test_sizes_come_out_in_mm(number: str, unit: str, mm: float) -> None:
    assert to_mm(Fraction(number), unit) == mm


def test_awg_sizes_come_out_in_mm() -> None:
    assert to_mm(Fraction(20), "Awg") == pytest.approx(0.8118, abs=0.0005)  # ASTM B258


@pytest.mark.parametrize(
    ("number", "unit", "sentence"),
    [
        ("3", "furlong", "'furlong' is not a unit of size; write mm, cm, inch, AWG or SWG"),
        ("3", " ", "a size needs its unit: write mm, cm, inch, AWG or SWG"),
        ("20.5", "awg", "AWG numbers are whole; write a size between two of them in mm"),
        ("41/2", "swg", "SWG numbers are whole; write a size between two of them in mm"),
        ("99", "awg", "AWG numbers run from 4/0 to 40; write the size of this wire in mm"),
        ("1e999", "mm", "this size is far too large for a ring; write it again in mm"),
    ],
)
def test_a_size_that_cannot_be_read_says_what_to_type(
    number: str, unit: str, sentence: str
) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(sentence)}$"):
        to_mm(Fraction(number), unit)


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (1.2, "1.2"),
        (0.8118, "0.81"),
        (5.0, "5"),
        (10.0, "10"),
        (100.0, "100"),
        (0.0, "0"),
        (0.05, "0.05"),
        (0.004, "0"),
        (-0.004, "0"),
        (-1.25, "-1.25"),
        (1.005, "1.01"),
        (3.175, "3.18"),  # 1/8 inch; handbooks print 3.18
        (7.9375, "7.94"),  # 5/16 inch; handbooks print 7.94
        (1.9999, "2"),
    ],
)
def test_mm_are_written_as_a_maker_writes_them(mm: float, text: str) -> None:
    assert text_mm(mm) == text


@given(st.integers(-1_000_000, 1_000_000))
def test_two_decimals_are_kept_as_written(hundredths: int) -> None:
    assert Fraction(text_mm(hundredths / 100)) == Fraction(hundredths, 100)


# ------------------------------------------------------------------------------ one ring


@pytest.mark.parametrize(
    ("sixty_fourths", "words"),
    [(1, "1/64"), (2, "1/32"), (17, "17/64"), (16, "1/4"), (48, "3/4"), (63, "63/64"), (64, "1"),
     (65, "1 1/64"), (72, "1 1/8"), (128, "2"), (160, "2 1/2")],
)  # fmt: skip
def test_inches_are_written_in_the_fewest_parts(sixty_fourths: int, words: str) -> None:
    assert inch_words(sixty_fourths) == words


@pytest.mark.parametrize(
    ("mm", "words"),
    [(1.2, "nearest 17 AWG, 18 SWG"), (12, "nearest 4/0 AWG, 6/0 SWG"),
     (0.05, "nearest 40 AWG, 47 SWG")],
)  # fmt: skip
def test_gauges_are_named_as_one_says_them(mm: float, words: str) -> None:
    """17 AWG is 1.150 mm, 18 SWG 1.219; 4/0 AWG is 11.684, 6/0 SWG 11.786 (7/0 would be 12.7);
    40 AWG is 0.0799, 47 SWG 0.0508."""
    assert gauge_words(mm) == words


def test_wire_of_a_worked_ring() -> None:
    # By hand: ID 5, wire 1.2; pi * 6.2 = 19.4779 mm; with a 0.3 mm blade 19.7779 mm.
    assert wire_per_ring(5, 1.2) == pytest.approx(19.4779, abs=5e-5)
    assert wire_per_ring(5, 1.2, 0.3) == pytest.approx(19.7779, abs=5e-5)


def test_torus_volume_is_the_published_value() -> None:
    # 2 pi^2 R r^2 with R = 4 and r = 1/2 is 19.7392: inside diameter 7, wire 1.
    assert metal_volume_mm3(7, 1) == pytest.approx(19.7392, abs=5e-5)


@pytest.mark.parametrize(("inside", "wire"), [(7.0, 1.0), (5.0, 1.2), (3.0, 1.5), (1.0, 1.0)])
def test_torus_volume_agrees_with_a_sum_of_washers(inside: float, wire: float) -> None:
    # Independent of Pappus: cut the ring flat into washers of height dz and add them up.
    slices, volume = 20_000, 0.0
    centre = (inside + wire) / 2
    for k in range(slices):
        z = ((k + 0.5) / slices - 0.5) * wire
        half = sqrt((wire / 2) ** 2 - z**2)
        volume += pi * ((centre + half) ** 2 - (centre - half) ** 2) * wire / slices
    assert metal_volume_mm3(inside, wire) == pytest.approx(volume, rel=2e-6)


def test_volume_is_wire_length_times_its_section() -> None:
    assert metal_volume_mm3(5, 1.2) == pytest.approx(wire_per_ring(5, 1.2) * pi * 0.6**2)


def test_a_cubic_centimetre_weighs_its_density() -> None:
    assert mass_g(1000, 8.92) == 8.92


# ------------------------------------------------------------- wires through one opening

# Equal circles in a circle. Figures and credits: Fodor, Beitr. Algebra Geom. 44 (2003) 431-440;
# Graham, Lubachevsky, Nurmela, Ostergard, Discrete Math. 181 (1998) 139-154; Kravitz,
# Math. Mag. 40 (1967) 65.
PUBLISHED = {
    1: 1, 2: 2, 3: 2.1547005, 4: 2.4142136, 5: 2.7013016, 6: 3, 7: 3, 8: 3.3047649, 9: 3.6131259,
    10: 3.8130256, 11: 3.9238044, 12: 4.0296019, 13: 4.2360680, 14: 4.3284286, 15: 4.5213570,
    16: 4.6154256, 17: 4.7920337, 18: 4.8637033, 19: 4.8637033, 20: 5.1223207,
}  # fmt: skip

# Proofs: Graham 1968 (5, 6, 7), Pirl 1969 (8, 9, 10), Melissen 1994 (11), Fodor 2000 (12),
# 2003 (13) and 1999 (19). All others above 13 are conjectures.
PROVEN = [*range(14), 19]


@pytest.mark.parametrize(("n", "ratio"), PUBLISHED.items())
def test_packing_ratios_are_the_published_ones(n: int, ratio: float) -> None:
    if n in PROVEN:
        assert PACKING[n].ratio == pytest.approx(ratio, abs=6e-8)
    else:
        assert n not in PACKING


def test_no_wire_one_wire_and_two_wires_are_exact() -> None:
    assert [smallest_ratio(n) for n in (0, 1, 2)] == [0, 1, 2]


def test_closed_forms_give_the_listed_ratios() -> None:
    # In other algebra than the table's own.
    assert smallest_ratio(3) == pytest.approx(1 + 1 / sin(pi / 3), rel=1e-14)
    assert smallest_ratio(4) == pytest.approx(1 + 1 / sin(pi / 4), rel=1e-14)
    assert smallest_ratio(5) == pytest.approx(1 + sqrt(2 + 2 / sqrt(5)), rel=1e-14)
    assert smallest_ratio(9) == pytest.approx(1 + sqrt(4 + 2 * sqrt(2)), rel=1e-14)
    assert smallest_ratio(13) == pytest.approx(1 + 1 / sin(pi / 10), rel=1e-14)
    assert smallest_ratio(19) == pytest.approx(1 + 1 / sin(pi / 12), rel=1e-14)


def test_what_is_proven_is_listed_and_nothing_else() -> None:
    assert list(PACKING) == PROVEN


@pytest.mark.parametrize("n", PROVEN)
def test_a_proven_packing_is_the_floor(n: int) -> None:
    assert smallest_ratio(n) == PACKING[n].ratio


def test_a_conjectured_packing_is_never_the_floor() -> None:
    # By hand: sqrt(17 sqrt(12) / pi) = 4.3296 and for 18 it is 4.4551, more than the 2 + sqrt(5)
    # of 13; for 14 to 16 less. For 20 and 21 the 4.8637 of 19 leads, from 22 on density does.
    assert [smallest_ratio(n) for n in (14, 15, 16)] == [2 + sqrt(5)] * 3
    assert smallest_ratio(17) == pytest.approx(4.3296, abs=1e-4)
    assert smallest_ratio(18) == pytest.approx(4.4551, abs=1e-4)
    assert smallest_ratio(20) == smallest_ratio(21) == smallest_ratio(19)
    assert smallest_ratio(22) == pytest.approx(4.9253, abs=1e-4)
    for n in (14, 15, 16, 17, 18, 20):
        assert smallest_ratio(n) < PUBLISHED[n] - 0.05


def test_the_floor_never_exceeds_the_best_packing_known() -> None:
    for n, known in PUBLISHED.items():
        assert smallest_ratio(n) <= known + 6e-8


def test_the_floor_never_falls_with_more_wires() -> None:
    floors = [smallest_ratio(n) for n in range(500)]
    assert floors == sorted(floors)


def test_fewer_than_no_rings_is_refused() -> None:
    with pytest.raises(ValueError, match="fewer than 0 rings"):
        smallest_ratio(-1)


Place = tuple[float, float]


def ring_of(count: int, radius: float, turn: float = 0.0) -> list[Place]:
    angles = [turn + 2 * pi * k / count for k in range(count)]
    return [(radius * cos(a), radius * sin(a)) for a in angles]


def touching(count: int) -> float:
    """Radius on which `count` circles of radius 1 touch their neighbours."""
    return 1 / sin(pi / count)


# For 11 two circles lie in opposite dents of a ring of nine, each touching two of them.
DENT = touching(9) * cos(pi / 9) - sqrt(3)

# Circles of radius 1, laid out by hand.
LAID_OUT: dict[int, list[Place]] = {
    1: [(0, 0)],
    2: ring_of(2, 1),
    3: ring_of(3, touching(3)),
    4: ring_of(4, touching(4)),
    5: ring_of(5, touching(5)),
    6: ring_of(6, 2),
    7: [(0, 0), *ring_of(6, 2)],
    8: [(0, 0), *ring_of(7, touching(7))],
    9: [(0, 0), *ring_of(8, touching(8))],
    11: ring_of(9, touching(9)) + ring_of(1, DENT, pi) + ring_of(1, DENT, pi / 9),
    13: ring_of(10, touching(10)) + ring_of(3, touching(3), pi / 6),
    19: [(0, 0), *ring_of(6, 2), *ring_of(12, touching(12), pi / 12)],
}


@pytest.mark.parametrize("n", LAID_OUT)
def test_circles_laid_out_by_hand_fit_at_the_listed_ratio(n: int) -> None:
    places = LAID_OUT[n]
    known = PACKING[n].ratio
    assert len(places) == n
    assert all(dist(a, b) >= 2 - 1e-9 for a, b in itertools.combinations(places, 2))
    assert max(hypot(*place) for place in places) + 1 == pytest.approx(known, rel=1e-12)


@pytest.mark.parametrize("n", PROVEN[2:])
def test_listed_ratios_keep_to_two_proven_inequalities(n: int) -> None:
    # From below, so that a ratio set too small is caught. L. Fejes Toth: two or more equal discs
    # fill less than pi / sqrt(12) of a convex region (from memory).
    ratio = PACKING[n].ratio
    assert n / ratio**2 < pi / sqrt(12)
    # Oler, Acta Math. 105 (1961) 19-48 (from memory): points at least 1 apart in a convex region
    # number at most (2 / sqrt 3) area + perimeter / 2 + 1. The centres lie in such a disc.
    reach = (ratio - 1) / 2
    assert n <= 2 / sqrt(3) * pi * reach**2 + pi * reach + 1


@pytest.mark.parametrize("n", range(14, 200))
def test_floors_without_a_proof_of_their_own_leave_room_for_honeycomb_packings(n: int) -> None:
    # An actual packing: the n places of a honeycomb nearest a place, a gap or a bridge. The floor
    # may not exceed what it needs.
    grid = [(2 * (i + j / 2), sqrt(3) * j) for i in range(-20, 21) for j in range(-20, 21)]
    middles: list[Place] = [(0, 0), (1, 0), (1, 1 / sqrt(3))]
    needed = min(sorted(dist(middle, place) for place in grid)[n - 1] + 1 for middle in middles)
    assert smallest_ratio(n) <= needed + 1e-9


# ------------------------------------------------------------------------------ mixed wire


def test_mixed_wire_by_hand() -> None:
    assert mixed_floor([]) == 0
    assert mixed_floor([1.2]) == 1.2
    assert mixed_floor([1.2, 0.8]) == 2.0  # side by side
    assert mixed_floor([0.8, 1.6, 1.2]) == pytest.approx(2.8)  # the two thickest
    assert mixed_floor([1.0] * 9) == pytest.approx(3.0)  # the areas: sqrt 9
    assert mixed_floor([2.0, 1.0, 1.0, 1.0, 1.0, 1.0]) == 3.0  # areas and thickest two agree


wires = st.lists(st.floats(0.2, 4.0), max_size=20)


@given(wires)
def test_mixed_wire_lies_between_the_area_and_laying_all_in_a_row(several: list[float]) -> None:
    least = mixed_floor(several)
    assert least**2 >= sum(d * d for d in several) * (1 - 1e-12)
    assert least <= sum(several) * (1 + 1e-12)


@given(wires, st.floats(0.2, 4.0))
def test_one_more_wire_never_needs_less_room(several: list[float], more: float) -> None:
    assert mixed_floor([*several, more]) >= mixed_floor(several) * (1 - 1e-12)


@pytest.mark.parametrize("n", range(60))
def test_mixed_floor_of_equal_wire_is_no_more_than_the_packing_floor(n: int) -> None:
    assert mixed_floor([1.5] * n) <= 1.5 * smallest_ratio(n) * (1 + 1e-12)


def test_mixed_floor_refuses_no_wire() -> None:
    with pytest.raises(ValueError, match="thicker than 0 mm"):
        mixed_floor([1.2, 0.0])


# -------------------------------------------------------------------------------- start-up


def test_importing_measures_and_metals_stays_light() -> None:
    script = (
        "import sys, ringstep.language.measures, ringstep.shop.metals;"
        "print(sorted({'decimal', 'numpy', 'networkx', 'lark'} & set(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
