"""The aspect ratios in which a weave is good to make, exact, as its recipe promises them.

Comes in: promises of AR and sizes in mm. Goes out: exact fractions of the sizes as written, so that
a ring on the end of a range is judged the same way on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Literal

from ringstep.language.measures import text_mm
from ringstep.language.promised import WorkingRange
from ringstep.language.tree import Tree

Verdict = Literal["fits", "too tight", "too loose", "cannot be", "no range"]

_MOST_PLACES = 3
_EVEN = Fraction(1, 10**7)  # what the float of a written size may be off, in 0.01 mm


def exact(mm: float) -> Fraction:
    """A size as its shortest decimal says it: 4.6 mm is 46/10, not the float beside it.

    >>> exact(4.6) / exact(0.8)
    Fraction(23, 4)
    """
    return Fraction(repr(mm))


def text_at_least(mm: float) -> str:
    """A least size in mm, rounded so that what is printed is enough.

    >>> text_at_least(1.226), text_at_least(1.2)
    ('1.23', '1.2')
    """
    return text_mm(ceil(exact(mm) * 100 - _EVEN) / 100)


def text_at_most(mm: float) -> str:
    """A largest size in mm, rounded so that what is printed is not too much.

    >>> text_at_most(1.226), text_at_most(1.2)
    ('1.22', '1.2')
    """
    return text_mm(floor(exact(mm) * 100 + _EVEN) / 100)


def ratio(wire: float, inside: float) -> Fraction:
    """Aspect ratio, inside over wire (mm), exact. Raises ZeroDivisionError for a wire of 0."""
    return exact(inside) / exact(wire)


def rounded(value: Fraction, places: int) -> Fraction:
    """A value to so many decimals, halves up: 5.75 to one decimal is 5.8.

    >>> rounded(Fraction(23, 4), 1), rounded(Fraction(35, 6), 1)
    (Fraction(29, 5), Fraction(29, 5))
    """
    scale = 10**places
    return Fraction(floor(value * scale + Fraction(1, 2)), scale)


def ratio_text(value: Fraction, places: int) -> str:
    """A ratio with so many decimals, halves up.

    >>> ratio_text(Fraction(23, 4), 1), ratio_text(Fraction(35, 6), 2)
    ('5.8', '5.83')
    """
    return f"{float(rounded(value, places)):.{places}f}"


@dataclass(frozen=True, slots=True)
class Range:
    """The aspect ratios in which a weave is good to make, as its recipe states them.

    An end belongs to the range, and a ring's ratio is first rounded (halves up) to as many
    decimals as the range is written with, at least one and at most three, because that is how the
    trade quotes it: of 'AR 5.6 to 5.8' a ring of 1.2/7 mm, 5.833, counts as 5.8 and fits, and one
    of 1.0/5.75 mm, 5.75, counts as 5.8 too. So the range takes in 5.55 up to just under 5.85.

    high: None where only a lower end is known. origin: the recipe's own words, or "".
    variant: the one it holds for, where it is given for one only.
    """

    low: Fraction
    high: Fraction | None
    origin: str
    variant: str | None = None

    @property
    def places(self) -> int:
        """Decimals in which the ends are compared."""
        ends = [e for e in (self.low, self.high) if e is not None]
        return next(
            (n for n in range(1, _MOST_PLACES) if all(e * 10**n == int(e * 10**n) for e in ends)),
            _MOST_PLACES,
        )

    @property
    def from_ratio(self) -> Fraction:
        """The least ratio that still rounds into the range."""
        return rounded(self.low, self.places) - Fraction(1, 2 * 10**self.places)

    @property
    def below_ratio(self) -> Fraction | None:
        """The ratio from which one rounds out of the range; None where there is no upper end."""
        if self.high is None:
            return None
        return rounded(self.high, self.places) + Fraction(1, 2 * 10**self.places)

    def verdict(self, value: Fraction) -> Verdict:
        """Where a ratio lies."""
        if value < self.from_ratio:
            return "too tight"
        if self.below_ratio is not None and value >= self.below_ratio:
            return "too loose"
        return "fits"


def range_for(recipe: Tree, variant: str | None, role: str, index: int) -> Range | None:
    """The range of a ring: one for its own name goes before its role's, that before the variant's
    and that before a plain one.

    variant: the one the piece is made in.
    """

    def nearness(given: WorkingRange) -> int:
        name = given.name
        if given.variant is not None:
            return 2 if given.variant == variant else 0
        if name is None:
            return 1
        if name.role != role or name.index not in (None, index):
            return 0
        return 3 if name.index is None else 4

    best = max(recipe.ranges, key=nearness, default=None)
    if best is None or not nearness(best):
        return None
    return Range(best.low, best.high, best.origin, best.variant)
