"""Which rings fit a weave: its working range of aspect ratios, and the floor under it.

Comes in: a `View` and sizes in mm. Goes out: frozen facts, worded by the outputs. Ratios are exact
fractions of the sizes as written (`weave.working_range`).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from ringstep.checks.rules.crowding import crowds
from ringstep.checks.view import View
from ringstep.language.measures import PACKING, mixed_floor, smallest_ratio, text_mm
from ringstep.language.syntax import RingKind, Size
from ringstep.language.typed_size import BadSize, Measure, read_size
from ringstep.language.words import listed
from ringstep.shop.mandrel import TYPICAL, NoRing, inside_of, typical_of
from ringstep.weave.working_range import Range, Verdict, exact, range_for, ratio, rounded

#: What wire commonly is thicker than its label. Common practice, no source; measure your own.
THICKER_MM = 0.05

#: Sizes closer than this (mm) are one size; it absorbs the rounding of a float, nothing else.
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Floor:
    """What a ring's opening can never be less than.

    inside: mm. rings: how many rings go through a finished ring of `role`, with these `wires` in
    mm, each told once. reason: why, with the source of the bound.
    """

    inside: float
    rings: int
    role: str
    wires: tuple[float, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Crowd:
    """The rings through a finished ring: `own` of its own kind, `others` by their wires in mm."""

    role: str
    own: int
    others: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RingUse:
    """One kind of ring of a recipe with the range that holds for it.

    name: the kind as the recipe lists it; roles: the rings it is used for.
    wire, inside: its sizes in mm. known: in words, the range known from elsewhere where the recipe
    states none.
    """

    name: str
    roles: tuple[str, ...]
    kind: RingKind
    wire: float
    inside: float
    range: Range | None
    crowds: tuple[Crowd, ...]
    known: str = ""

    @property
    def own(self) -> tuple[Measure, Measure]:
        """Its wire and its inside as the recipe writes them."""
        return (
            _as_written(self.kind.wire, self.wire, wire=True),
            _as_written(self.kind.inside, self.inside, wire=False),
        )

    @property
    def own_ratio(self) -> Fraction:
        """Its aspect ratio as the recipe has it, exact."""
        return ratio(self.wire, self.inside)

    @property
    def label(self) -> str:
        """The kind as spoken of: 'core', or 'all rings (M, S)'."""
        if self.roles == (self.name,):
            return self.name
        if self.kind.along:
            return f"{listed(self.roles)}, {self.kind.along}"
        name = "all rings" if self.name.casefold() == "all" else self.name
        return f"{name} ({', '.join(self.roles)})"

    @property
    def alone(self) -> bool:
        """True where only rings of this kind go through its rings, so that its floor is an AR."""
        return not any(c.others for c in self.crowds)

    def floor(self, wire: float | None = None) -> Floor | None:
        """The tightest of the floors of its rings, for another wire (mm) if one is given.

        The other kinds keep the wire that the recipe gives them. None where nothing goes through.
        """
        own = self.wire if wire is None else wire
        floors = [floor_of(c, own) for c in self.crowds if c.own or c.others]
        return max(floors, key=lambda f: f.inside, default=None)

    def verdict(self, wire: float, inside: float) -> Verdict:
        """Whether a ring (mm) can be, and whether it lies in the working range."""
        least = self.floor(wire)
        if inside <= wire or (least and inside < least.inside * (1 - _SLACK)):
            return "cannot be"
        return self.range.verdict(ratio(wire, inside)) if self.range else "no range"


def _as_written(size: Size | None, mm: float, *, wire: bool) -> Measure:
    try:
        return read_size(size.text if size else "", wire=wire)
    except BadSize:
        return Measure(f"{mm:g} mm", mm)


def floor_of(crowd: Crowd, own: float) -> Floor:
    """Packing of equal circles where all wires are equal, else the weak bound for mixed wire."""
    wires = [own] * crowd.own + list(crowd.others)
    n, kinds = len(wires), tuple(sorted(set(wires)))
    if max(wires) - min(wires) > _SLACK:
        reason = "the two thickest side by side, or the areas of all; a weak bound"
        return Floor(mixed_floor(wires), n, crowd.role, kinds, reason)
    if n in PACKING:
        source = PACKING[n].source
        cited = "" if source == "trivial" else f", {source}"
        reason = f"the tightest packing of {n} equal circles in a circle{cited}"
    else:
        reason = f"a bound, since the tightest packing of {n} equal circles is not proven"
    return Floor(smallest_ratio(n) * wires[0], n, crowd.role, kinds[:1], reason)


def ring_uses(view: View) -> tuple[RingUse, ...]:
    """Every ring kind of a clean recipe, one entry for each range that holds for its rings."""
    parts = view.recipe.part_roles
    met = crowds(view)
    groups: dict[tuple[int, Range | None], list[tuple[str, int]]] = {}
    kinds: dict[int, RingKind] = {}
    chosen = view.chosen.name if view.chosen else None
    for role, indexes in view.weave.names.items():
        for index in indexes if role not in parts else ():
            for kind in view.recipe.kinds_of(role, index):
                kinds[kind.span.line] = kind
                key = (kind.span.line, range_for(view.recipe, chosen, role, index))
                groups.setdefault(key, []).append((role, index))
    found = []
    for (line, span), rings in sorted(groups.items(), key=lambda g: g[0][0]):
        kind = kinds[line]
        wire, inside = kind.mm
        if wire is None or inside is None:
            continue
        crowded, place = [], kind.along.first if kind.along else 1
        for role, index in rings:
            own, others = 0, []
            for (other, number), count in met.get((role, index), {}).items():
                met_kind = None if other in parts else view.recipe.kind_of(other, number, place)
                if met_kind is None:
                    continue
                if met_kind.span.line == line:
                    own += count
                elif thick := met_kind.mm[0]:
                    others += [thick] * count
            crowded.append(Crowd(role, own, tuple(others)))
        roles = tuple(dict.fromkeys(view.weave.bought_name(*ring) for ring in rings))
        found.append(RingUse(kind.words, roles, kind, wire, inside, span, tuple(crowded)))
    return tuple(found)


# -- judging rings -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Judged:
    """One ring held against one kind of the recipe.

    name, what: what to call the ring, and what else is known of it.
    wire, inside: as typed, with `sold_as` in place of a gauge's own mm where that is judged.
    ratio: exact; counts_as: rounded as its range asks, else to one decimal.
    """

    name: str
    what: str
    wire: Measure
    inside: Measure
    sold_as: float | None
    ratio: Fraction
    counts_as: Fraction
    verdict: Verdict

    @property
    def wire_mm(self) -> float:
        """The wire that was judged, mm."""
        return self.wire.mm if self.sold_as is None else self.sold_as


def judge(
    use: RingUse | None, name: str, what: str, wire: Measure, inside: Measure
) -> tuple[Judged, ...]:
    """A ring judged by its wire's mm, and once more as sold where that makes a difference.

    It does where the ratio then counts as another one, or the verdict changes: 14 AWG is 1.628 mm,
    sold as 1.6 mm. `use` None: nothing to judge by.
    """
    places = use.range.places if use and use.range else 1

    def judged(mm: float, sold_as: float | None) -> Judged:
        value = ratio(mm, inside.mm)
        if use:
            verdict = use.verdict(mm, inside.mm)
        else:
            verdict = "no range" if inside.mm > mm else "cannot be"
        return Judged(name, what, wire, inside, sold_as, value, rounded(value, places), verdict)

    first = judged(wire.mm, None)
    if wire.sold_as is None:
        return (first,)
    sold = judged(wire.sold_as, wire.sold_as)
    same = (sold.counts_as, sold.verdict) == (first.counts_as, first.verdict)
    return (first,) if same else (first, sold)


# -- sizes to look for ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Openings:
    """The inside diameters in mm that suit a wire: from `low` to just under `below`.

    below: None where the range has no upper end.
    """

    low: float
    below: float | None

    def steps(self, step: Fraction) -> tuple[int, int] | None:
        """First and last multiple of a step (mm) among them; None where there is none or no end."""
        if self.below is None:
            return None
        first = ceil(exact(self.low) / step)
        last = ceil(exact(self.below) / step) - 1
        return (first, last) if first <= last else None


def openings(use: RingUse, wire: float) -> Openings | None:
    """The inside diameters that suit a wire (mm) in a range; None where no range is given.

    The floor counts too: where it lies above the low end it takes its place.
    """
    if use.range is None:
        return None
    low = float(use.range.from_ratio * exact(wire))
    least = use.floor(wire)
    if least and least.inside > low:
        low = least.inside
    top = use.range.below_ratio
    return Openings(low, None if top is None else float(top * exact(wire)))


def wires(use: RingUse, inside: float) -> tuple[float | None, float] | None:
    """The wire in mm that suits an opening (mm): from just over the first to the second.

    The first is None where the range has no upper end. None where no range is given.
    """
    if use.range is None:
        return None
    top = use.range.below_ratio
    thin = None if top is None else float(exact(inside) / top)
    return thin, float(exact(inside) / use.range.from_ratio)


@dataclass(frozen=True, slots=True)
class Change:
    """What a small change of size does. words: the change; wire, inside: mm after it."""

    words: str
    wire: float
    inside: float

    @property
    def ratio(self) -> Fraction:
        """The aspect ratio after the change."""
        return ratio(self.wire, self.inside)


def small_changes(wire: float, inside: float, metal: str = "") -> tuple[Change, ...]:
    """A ring (mm) that springs open off a mandrel as wide as it, and one of thicker wire.

    By what is typical of its metal, each temper where none is named; of no metal the softest and
    the springiest there is. How a metal springs of which nothing is known is left out.
    """
    springy = sorted(TYPICAL, key=lambda one: one.yields)
    known = (springy[0], springy[-1])
    changes = []
    with suppress(NoRing):
        for one in typical_of(metal) if metal else known:
            words = f"wound on {text_mm(inside)} mm: {one.words} springs open"
            changes.append(Change(words, wire, inside_of(inside, wire, one)))
    thick = float(exact(wire) + exact(THICKER_MM))
    return (*changes, Change(f"wire {THICKER_MM} mm thicker than its label", thick, inside))


def most_rings(value: Fraction) -> int | None:
    """How many rings of its own wire may cross a ring of this ratio at most; None for 20 and more.

    By the floor of `smallest_ratio`; how many can be woven in comfort is far less.
    """
    counts: Iterator[int] = (n for n in range(20, -1, -1) if smallest_ratio(n) <= value + _SLACK)
    best = next(counts, 0)
    return best if best < 20 else None
