"""Counting rings by their weight: what a bag weighs, and how many rings a scale tells apart.

Comes in: a `KitLine` and what a scale reads. Goes out: a frozen `Weighing`, or None where the metal
is not known. Weights are those of closed round rings of the sizes written.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil

from ringstep.language.measures import metal_volume_mm3
from ringstep.shop.kit import KitLine


@dataclass(frozen=True, slots=True)
class Weighing:
    """one, bag: grams of a ring, and of the rings of a kit. reads: what the scale shows of the bag.

    apart: counts that differ by so many rings or more never read alike. off: rings by which the
    weight misleads for each percent that the wire is thicker than written.
    """

    one: float
    bag: float
    reads: Decimal
    apart: int
    off: float


def weighing(line: KitLine, scale: Decimal) -> Weighing | None:
    """What a bag of one product weighs. scale: grams of the smallest step that it shows."""
    if line.grams is None or not line.in_kit:
        return None
    one = line.grams / line.in_kit
    steps = (Decimal(line.grams) / scale).quantize(Decimal(1), ROUND_HALF_UP)
    thick = metal_volume_mm3(line.inside, line.wire * 1.01)
    more = thick / metal_volume_mm3(line.inside, line.wire) - 1
    apart = ceil(Fraction(scale) / Fraction(one))
    return Weighing(one, line.grams, steps * scale, apart, more * line.in_kit)
