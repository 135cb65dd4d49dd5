"""Which mandrel to buy, and what ring each gives, also with wire that is off its size.

Comes in: a wire, what springs back, and the insides wanted. Goes out: `Wound` rings, and a `Choice`
of mandrels in usual steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from ringstep.language.measures import inch_words, text_mm
from ringstep.language.typed_size import Measure
from ringstep.shop.fitting import Openings
from ringstep.shop.mandrel import NoRing, Spool, inside_of, mandrel_for
from ringstep.weave.working_range import exact

_INCH = Fraction(127, 5)
#: The steps in which round bar and drills are sold, the finest first, with how a size is written.
#: Common practice, no source.
_STEPS = (
    tuple(Fraction(n, 4) for n in (1, 2, 4, 10, 20)),
    tuple(_INCH * n / 64 for n in (1, 2, 4, 8, 16)),
)
#: So many mandrels of one kind of steps are named at most; where there are more, a coarser step is
#: taken. Of a range without an upper end the first few are.
_MOST_NAMED, _FIRST_FEW = 8, 4


@dataclass(frozen=True, slots=True)
class Wire:
    """Wire to wind. size: as typed; off: how many mm it may be off either way, 0 if not said."""

    size: Measure
    off: float = 0.0


@dataclass(frozen=True, slots=True)
class Wound:
    """What one mandrel gives.

    coil: inside in mm once the coil is let go. inside: of the ring sawn and closed again. ratio:
    its AR. band: least and greatest AR over the tolerance of the wire, None where none is said.
    """

    spool: Spool
    mandrel: Measure
    coil: float
    inside: float
    ratio: Fraction
    band: tuple[Fraction, Fraction] | None


def wound(mandrel: Measure, wire: Wire, spool: Spool, saw: float) -> Wound:
    """The ring that comes off a mandrel. saw: mm. Raises `NoRing`."""

    def ratio_of(mm: float) -> Fraction:
        return exact(inside_of(mandrel.mm, mm, spool, saw)) / exact(mm)

    mm = wire.size.mm
    ends = sorted((ratio_of(mm + wire.off), ratio_of(mm - wire.off))) if wire.off else []
    return Wound(
        spool,
        mandrel,
        inside_of(mandrel.mm, mm, spool),
        inside_of(mandrel.mm, mm, spool, saw),
        ratio_of(mm),
        (ends[0], ends[1]) if ends else None,
    )


@dataclass(frozen=True, slots=True)
class Choice:
    """Mandrels for one spool.

    exact: from and to just under which mm they go, the end None where the range has none. steps:
    in which steps they are named. mandrels: those that give what is wanted, or of steps of which
    none does the nearest on both sides.
    """

    spool: Spool
    exact: Openings
    steps: tuple[str, ...]
    mandrels: tuple[Measure, ...]


def mandrels_for(wanted: Openings, wire: float, spool: Spool, saw: float) -> Choice:
    """The mandrels in usual steps that give a ring whose inside lies in `wanted`.

    wire, saw: mm. One inside is wanted where `below` is `low`. Raises `NoRing`.
    """
    low = mandrel_for(wanted.low, wire, spool, saw)
    below = None if wanted.below is None else mandrel_for(wanted.below, wire, spool, saw)
    if (low if below is None else below) <= 0:
        raise NoRing(
            f"a ring of {text_mm(wanted.below or wanted.low)} mm inside is too narrow to be wound"
            f" of {text_mm(wire)} mm wire ({spool.words}); take thinner wire"
        )
    span = Openings(max(low, 0.0), below)
    told, found = [], []
    for sizes in _STEPS:
        step, numbers = _multiples(span, sizes)
        told.append(_words(step))
        found += [_measure(step * n) for n in numbers if n > 0]
    return Choice(spool, span, tuple(told), tuple(sorted(found, key=lambda one: one.mm)))


def _multiples(span: Openings, sizes: tuple[Fraction, ...]) -> tuple[Fraction, range]:
    """The finest step of which no more than a few multiples lie in a span, and those."""
    finest = sizes[0]
    if span.below is None:
        first = ceil(exact(span.low) / finest)
        return finest, range(first, first + _FIRST_FEW)
    for step in sizes:
        found = span.steps(step)
        if found and (found[1] - found[0] < _MOST_NAMED or step == sizes[-1]):
            return step, range(found[0], min(found[1], found[0] + _MOST_NAMED - 1) + 1)
    above = ceil(exact(span.low) / finest)
    return finest, range(above - 1, above + 1)


def _words(mm: Fraction) -> str:
    """A step or a size as the trade writes it: '0.25 mm', '13/64 in'."""
    in_mm = (mm * 4).denominator == 1
    return f"{text_mm(float(mm))} mm" if in_mm else f"{inch_words(int(mm / _INCH * 64))} in"


def _measure(mm: Fraction) -> Measure:
    return Measure(_words(mm), float(mm))
