"""Sizes of wire and rings: gauges, aspect ratio, wire, metal, and the floor on crowding.

In: numbers already read from a recipe. Out: millimetres, cubic millimetres, grams and plain
ratios as floats. Nothing here reads a file, and every function is pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, gcd, hypot, pi, pow, sin, sqrt
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from fractions import Fraction

#: Units of length in mm, as a fraction; the inch is exact (international yard, 1959).
_MM = {"mm": (1, 1), "cm": (10, 1), "in": (127, 5), "inch": (127, 5), "inches": (127, 5)}
AWG_THICKEST, AWG_THINNEST = -3, 40
"""4/0, which counts as -3, to 40."""

# Inches times 10,000, so that the step to millimetres stays exact.
# 10 to 26: Order in Council of 23 August 1883, in force 1 March 1884 (two printed tables agree).
# All others: the same table from memory, compared once with the table of an engineering library.
# 28 is printed as .0148 in most tables and as .0149 in some: 0.0025 mm apart.
_SWG_TEN_THOUSANDTHS = {
    -6: 5000, -5: 4640, -4: 4320, -3: 4000, -2: 3720, -1: 3480,
    0: 3240, 1: 3000, 2: 2760, 3: 2520, 4: 2320, 5: 2120, 6: 1920, 7: 1760, 8: 1600, 9: 1440,
    10: 1280, 11: 1160, 12: 1040, 13: 920, 14: 800, 15: 720, 16: 640, 17: 560, 18: 480, 19: 400,
    20: 360, 21: 320, 22: 280, 23: 240, 24: 220, 25: 200, 26: 180,
    27: 164, 28: 148, 29: 136, 30: 124, 31: 116, 32: 108, 33: 100, 34: 92, 35: 84, 36: 76,
    37: 68, 38: 60, 39: 52, 40: 48, 41: 44, 42: 40, 43: 36, 44: 32, 45: 28, 46: 24, 47: 20,
    48: 16, 49: 12, 50: 10,
}  # fmt: skip


class Packing(NamedTuple):
    """The tightest way there can be to lay equal wires side by side in a round opening.

    ratio: inside diameter of the opening over the diameter of one wire. source: who proved it.
    """

    ratio: float
    source: str


#: Equal circles in a circle, by how many, where nothing tighter can exist. Proofs as credited in
#: Fodor, Beitr. Algebra Geom. 44 (2003) 431-440, and in the survey of Graham, Lubachevsky, Nurmela
#: and Ostergard, Discrete Math. 181 (1998) 139-154. The figures for 10 and 12 have no short closed
#: form; their next digit rounds down, so the value here never exceeds the true one.
PACKING = {
    0: Packing(0.0, "trivial"),
    1: Packing(1.0, "trivial"),
    2: Packing(2.0, "trivial"),
    3: Packing(1 + 2 / sqrt(3), "trivial"),
    4: Packing(1 + sqrt(2), "trivial"),
    5: Packing(1 + 1 / sin(pi / 5), "Graham 1968"),
    6: Packing(3.0, "Graham 1968"),
    7: Packing(3.0, "Graham 1968"),
    8: Packing(1 + 1 / sin(pi / 7), "Pirl 1969"),
    9: Packing(1 + 1 / sin(pi / 8), "Pirl 1969"),
    10: Packing(3.8130256, "Pirl 1969"),
    11: Packing(1 + 1 / sin(pi / 9), "Melissen 1994"),
    12: Packing(4.0296019, "Fodor 2000"),
    13: Packing(2 + sqrt(5), "Fodor 2003"),
    19: Packing(1 + sqrt(2) + sqrt(6), "Fodor 1999"),
}


def gauge_text(number: int) -> str:
    """Write a gauge number as the trade does: 20, 0, then 2/0 for -1, 3/0 for -2 and so on."""
    return str(number) if number >= 0 else f"{1 - number}/0"


def awg_mm(number: int) -> float:
    """Wire diameter in mm of an American Wire Gauge number; 2/0, 3/0, 4/0 count as -1, -2, -3.

    Source: the formula of ASTM B258, 0.127 mm * 92 ** ((36 - n) / 39).
    Raises ValueError outside 4/0 to 40.
    """
    if not AWG_THICKEST <= number <= AWG_THINNEST:
        raise ValueError("AWG numbers run from 4/0 to 40; write the size of this wire in mm")
    return 0.127 * pow(92, (36 - number) / 39)


def swg_mm(number: int) -> float:
    """Wire diameter in mm of a British Standard Wire Gauge number; 2/0 to 7/0 count as -1 to -6.

    Source: the table of the Order in Council of 23 August 1883, inches times 25.4; numbers other
    than 10 to 26 are from memory.
    Raises ValueError outside 7/0 to 50.
    """
    if number not in _SWG_TEN_THOUSANDTHS:
        raise ValueError("SWG numbers run from 7/0 to 50; write the size of this wire in mm")
    return _SWG_TEN_THOUSANDTHS[number] * 254 / 100_000


def to_mm(number: Fraction, unit: str) -> float:
    """A size in mm from a number and its unit: mm, cm, in, inch, inches, AWG or SWG, any case.

    Zero and negative lengths are turned over as they are: a check reports them.
    Raises ValueError for an unknown unit, a gauge that is not a whole number or not in the
    table, and a length too large to work with.
    """
    kind = unit.strip().lower()
    if kind in ("awg", "swg"):
        if number.denominator != 1:
            raise ValueError(
                f"{kind.upper()} numbers are whole; write a size between two of them in mm"
            )
        return awg_mm(number.numerator) if kind == "awg" else swg_mm(number.numerator)
    if not kind:
        raise ValueError("a size needs its unit: write mm, cm, inch, AWG or SWG")
    if kind not in _MM:
        raise ValueError(f"'{unit.strip()}' is not a unit of size; write mm, cm, inch, AWG or SWG")
    try:
        return float(number * _MM[kind][0] / _MM[kind][1])
    except OverflowError:
        raise ValueError("this size is far too large for a ring; write it again in mm") from None


def nearest_gauges(mm: float) -> tuple[tuple[int, float], tuple[int, float]]:
    """The American and the British wire gauge number closest in mm to a diameter, each with its mm.

    Past either end of a gauge this is the end itself, so compare the mm given back.
    """
    american = ((n, awg_mm(n)) for n in range(AWG_THICKEST, AWG_THINNEST + 1))
    british = ((n, swg_mm(n)) for n in _SWG_TEN_THOUSANDTHS)

    def away(gauge: tuple[int, float]) -> float:
        return abs(gauge[1] - mm)

    return min(american, key=away), min(british, key=away)


def gauge_words(mm: float) -> str:
    """The nearest gauges as one says it.

    >>> gauge_words(1.2)
    'nearest 17 AWG, 18 SWG'
    """
    american, british = nearest_gauges(mm)
    return f"nearest {gauge_text(american[0])} AWG, {gauge_text(british[0])} SWG"


def inch_words(sixty_fourths: int) -> str:
    """64ths of an inch as the trade writes them.

    >>> inch_words(17), inch_words(16), inch_words(72)
    ('17/64', '1/4', '1 1/8')
    """
    whole, rest = divmod(sixty_fourths, 64)
    shared = gcd(rest, 64)
    part = f"{rest // shared}/{64 // shared}" if rest else ""
    return " ".join(x for x in (str(whole) if whole else "", part) if x)


def wire_per_ring(inside: float, wire: float, saw_cut: float = 0.0) -> float:
    """Length of wire in mm that one ring takes: pi (inside + wire), plus the saw cut if any.

    This is the length along the middle of the wire; the rise of the coil (less than 1 % for
    rings cut from a close coil of aspect ratio 2 or more) is left out.
    """
    return pi * (inside + wire) + saw_cut


def metal_volume_mm3(inside: float, wire: float) -> float:
    """Metal in one closed ring of round wire, mm3.

    Source: Pappus' second theorem, volume of a torus 2 pi^2 R r^2, where R is the radius of the
    circle along the middle of the wire and r half the wire.
    """
    return 2 * pi**2 * (inside + wire) / 2 * (wire / 2) ** 2


def mass_g(volume_mm3: float, g_per_cm3: float) -> float:
    """Mass in grams of a volume in mm3 at a density in g/cm3."""
    return volume_mm3 * g_per_cm3 / 1000


def smallest_ratio(n: int) -> float:
    """Aspect ratio that a ring crossed by n rings of the same wire cannot go below.

    A floor, far below comfort in a crowded weave. Where the tightest packing is proven it is that
    packing. Elsewhere the best packing known could yet be beaten, so the floor is the larger of
    the last proven ratio below n and the bound from density: two or more equal discs in a convex
    region fill less than pi / sqrt(12) of it (L. Fejes Toth; from memory), which makes the ratio
    more than sqrt(n sqrt(12) / pi). Raises ValueError for n below 0.
    """
    if n < 0:
        raise ValueError("a ring cannot be crossed by fewer than 0 rings")
    if n in PACKING:
        return PACKING[n].ratio
    last_proven = PACKING[max(k for k in PACKING if k < n)]
    return max(last_proven.ratio, sqrt(n * sqrt(12) / pi))


def mixed_floor(wires: Sequence[float]) -> float:
    """Least inside diameter in mm of a ring crossed by wires of these diameters in mm.

    A weak bound: the larger of the area bound, sqrt(sum of d^2), as if wires could fill the
    opening without gaps, and the two thickest wires side by side. Real rings need more, and for
    equal wires `smallest_ratio` says more. One wire needs its own diameter, none needs 0.
    Raises ValueError for a wire not thicker than 0 mm.
    """
    if not all(d > 0 for d in wires):
        raise ValueError("every wire must be thicker than 0 mm; write its diameter")
    return max(hypot(*wires), sum(sorted(wires)[-2:]))


def text_mm(x: float) -> str:
    """A size as a maker writes it: two decimals at most, no trailing zeros, halves away from 0.

    >>> text_mm(1.2), text_mm(0.8118), text_mm(5.0), text_mm(3.175)
    ('1.2', '0.81', '5', '3.18')
    """
    # 3.175 (1/8 inch) is stored a hair low: the tiny addition lets a written half round up.
    hundredths = floor(abs(x) * 100 + 0.5 + 1e-9)
    text = f"{hundredths // 100}.{hundredths % 100:02d}".rstrip("0").rstrip(".")
    return f"-{text}" if x < 0 and hundredths else text
