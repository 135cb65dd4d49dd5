"""Which weaves can be made of the rings in a drawer.

Every recipe is held against every ring, as its largest linked one; where it takes rings of other
sizes beside that, the best ones in the drawer are chosen. The rule, in this order:

- cannot: a wire finds no room by the packing of circles, a ring that lies around others does not
  slip over them, rings told apart by their wire alone do not differ so; or rings lie below the
  smallest sizes found by computation even if their wire is 0.05 mm thinner than its label and,
  where a range is stated, even rounded as that range asks.
- a range that the recipe states decides: inside it a ring fits, below it is tight, above it loose.
- else the computed sizes decide: a ring fits where it goes together even if its wire is 0.05 mm
  thicker than its label, and is tight where that decides. From the AR at which folds no longer lock
  a chain it is loose; where no such AR was computed there is no upper bound. A smaller ring that is
  wider against the larger one than in any proportion computed is loose, if it goes at all.
- not known: nothing is stated and nothing, or no such proportion, was computed.

Where rings of two sizes are linked they are held against pairs computed in several proportions,
and a ring that is wider or of thinner wire than one that goes together goes together too. Pairs
that are neither sure to go nor sure to jam are tight within one step of the proportions computed,
0.87 of the size, and not known beyond it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import hypot, log
from typing import Literal

from ringstep.language.measures import text_mm
from ringstep.language.typed_size import Measure
from ringstep.language.words import listed, plural
from ringstep.shop.computed import Point
from ringstep.shop.drawer_words import LOOSE, computed_words, off_label
from ringstep.shop.fitting import Crowd, floor_of
from ringstep.shop.list_words import metal_name
from ringstep.shop.needs import Need, Weaving
from ringstep.shop.tables import StockRing
from ringstep.weave.working_range import exact, ratio, ratio_text, rounded

Answer = Literal["fits", "tight", "loose", "not known", "cannot"]
#: Best first.
ANSWERS: tuple[Answer, ...] = ("fits", "tight", "loose", "not known", "cannot")
_SLACK = 1e-9
_NEAR = 0.2  # sizes and wires within some 20 % of one another are near enough for another metal
_NO_RANGE = "no range is stated, and none was computed yet"


@dataclass(frozen=True, slots=True)
class Said:
    """An answer with its reason. rule: the same without what differs from ring to ring."""

    answer: Answer
    why: str
    rule: str

    @property
    def rank(self) -> int:
        """Better is less."""
        return ANSWERS.index(self.answer)


_UNKNOWN = Said("not known", _NO_RANGE, _NO_RANGE)


@dataclass(frozen=True, slots=True)
class Held:
    """One recipe held against one ring of the drawer.

    chosen: for each need its rings, one for each look of them; empty where none would do.
    pieces, units: how many the rings in the drawer make; None where it does not say how many there
    are, or the recipe does not say how many it takes. short: what is missing for one piece.
    """

    weaving: Weaving
    ring: StockRing
    said: Said
    chosen: tuple[tuple[StockRing, ...], ...] = ()
    pieces: int | None = None
    units: int | None = None
    short: str = ""

    @property
    def aspect(self) -> Fraction:
        """Exact aspect ratio of the ring."""
        return ratio(self.ring.wire.mm, self.ring.inside.mm)


def hold(weaving: Weaving, drawer: Sequence[StockRing]) -> tuple[Held, ...]:
    """A recipe held against every ring of a drawer.

    What a ring is by the label of its gauge is told where that makes another answer.
    """
    found = []
    for ring in drawer:
        held = _held(weaving, ring, drawer)
        if ring.wire.sold_as is not None and ring.wire.sold_as < ring.inside.mm:
            mm = ring.wire.sold_as
            sold = replace(ring, wire=Measure(f"{text_mm(mm)} mm", mm))
            other = _held(weaving, sold, [sold if r is ring else r for r in drawer])
            if other.said.answer != held.said.answer:
                label = f"; {other.said.answer} if its wire is {text_mm(mm)} mm, as it is sold"
                why, rule = held.said.why + label, held.said.rule + label
                held = replace(held, said=replace(held.said, why=why, rule=rule))
        found.append(held)
    return tuple(found)


def _held(weaving: Weaving, ring: StockRing, drawer: Sequence[StockRing]) -> Held:
    """The same against one ring, the others chosen beside it."""
    rings = [ring]
    said = judged(weaving, rings)
    for number in range(1, len(weaving.needs)):
        if said.answer == "cannot":
            return Held(weaving, ring, said)
        tried = [(judged(weaving, [*rings, other]), other) for other in drawer]
        best = min(tried, key=lambda t: _liking(weaving, number, ring, *t))
        if best[0].answer == "cannot":
            label = weaving.needs[number].label
            why = f"no ring in the drawer goes as {label} with it: {best[0].why}"
            rule = f"no ring in the drawer goes as {label} with it"
            return Held(weaving, ring, Said("cannot", why, rule))
        said = best[0]
        rings.append(best[1])
    if said.answer == "cannot":
        return Held(weaving, ring, said)
    chosen = tuple(
        _of_looks(need, one, drawer) for need, one in zip(weaving.needs, rings, strict=True)
    )
    return Held(weaving, ring, said, chosen, *_counted(weaving, chosen))


def _liking(
    weaving: Weaving, number: int, first: StockRing, said: Said, ring: StockRing
) -> tuple[object, ...]:
    """Least for the ring that one would take: the best answer, enough of it for a piece, another
    one than the first ring, near the recipe's proportions, the first ring's metal where the recipe
    has one metal for both or else the recipe's, nearest to its proportions."""
    need, lead = weaving.needs[number], weaving.needs[0]
    grown = (first.wire.mm + first.inside.mm) / (lead.wire + lead.inside)
    mean = (ring.wire.mm + ring.inside.mm) / (need.wire + need.inside) / grown
    wire = ring.wire.mm / need.wire / grown
    short = ring.count is not None and ring.count < sum(look.piece for look in need.looks)
    metals = {look.material for look in need.looks}
    if metals == {look.material for look in lead.looks}:
        metals = {metal_name(first.material)}
    return (
        said.rank,
        short,
        ring is first,
        round(hypot(log(mean), log(wire)) / _NEAR),
        metal_name(ring.material) not in metals,
        hypot(log(mean), log(wire)),
        ring.name,
    )


def _of_looks(need: Need, ring: StockRing, drawer: Sequence[StockRing]) -> tuple[StockRing, ...]:
    """For each look of a need a ring of that size: of its metal and colour where there is one."""
    size = ring.wire.mm, ring.inside.mm
    alike = [ring, *(r for r in drawer if (r.wire.mm, r.inside.mm) == size and r is not ring)]
    found = []
    for look in need.looks:
        alone = len(need.looks) == 1
        right = [
            r
            for r in alike
            if metal_name(r.material) == look.material
            and (not look.colour or r.colour.casefold() == look.colour)
        ]
        found.append(ring if alone or not right else right[0])
    return tuple(found)


def _counted(
    weaving: Weaving, chosen: tuple[tuple[StockRing, ...], ...]
) -> tuple[int | None, int | None, str]:
    """How many pieces and units the chosen rings make, and what is missing for one piece."""
    pieces: dict[str, int] = {}
    units: dict[str, Fraction] = {}
    there: dict[str, int | None] = {}
    for need, rings in zip(weaving.needs, chosen, strict=True):
        for look, ring in zip(need.looks, rings, strict=True):
            pieces[ring.name] = pieces.get(ring.name, 0) + look.piece
            units[ring.name] = units.get(ring.name, Fraction(0)) + look.unit
            there[ring.name] = ring.count
    counts = {name: n for name, n in there.items() if n is not None}
    if len(counts) < len(there):
        return None, None, ""
    many = few = None
    short = ""
    if weaving.counted:
        many = min((counts[n] // takes for n, takes in pieces.items() if takes), default=None)
        lack = {n: takes - counts[n] for n, takes in pieces.items() if counts[n] < takes}
        short = listed([f"{more:,} {n}" for n, more in lack.items()])
    if weaving.repeats:
        # What begins and ends a piece, and edges that lack rings, are left out for a sheet.
        of_ends = {
            n: max(0, pieces[n] - int(share * weaving.units)) if weaving.units else 0
            for n, share in units.items()
        }
        found = [
            max(0, int((counts[n] - of_ends[n]) / share)) for n, share in units.items() if share
        ]
        few = min(found, default=None)
    return many, few, short


# -- one choice of rings ---------------------------------------------------------------------------


def judged(weaving: Weaving, rings: Sequence[StockRing]) -> Said:
    """The answer for the first needs of a recipe, a ring for each; what is not chosen yet is not
    asked for."""
    found = [*_barred(weaving, rings), *_stated(weaving, rings), *_computed(weaving, rings)]
    open_ = Said("fits", "", "") if len(rings) < len(weaving.needs) else _UNKNOWN
    return max(found, key=lambda said: said.rank, default=open_)


def _barred(weaving: Weaving, rings: Sequence[StockRing]) -> Iterator[Said]:
    """What finds no room, whatever else is said."""
    for need, ring in zip(weaving.needs, rings, strict=False):
        for role, through in need.crowds:
            wires = [rings[n].wire.mm for n, many in through if n < len(rings) for _ in range(many)]
            own = sum(w == ring.wire.mm for w in wires)
            others = tuple(w for w in wires if w != ring.wire.mm)
            if not wires:
                continue
            floor = floor_of(Crowd(role, own, others), ring.wire.mm)
            if ring.inside.mm < floor.inside * (1 - _SLACK):
                many = plural(floor.rings, "ring")
                why = f"{many} go through a finished {role}, and their wires need an inside of"
                least = f"{text_mm(floor.inside)} mm at least"
                yield Said(
                    "cannot",
                    f"{why} {least}; {ring.name} has {ring.inside.words}",
                    f"{many} go through a finished {role}, and their wires find no room in it",
                )
        if need.around and need.around.inner < len(rings):
            yield from _around(weaving, need, ring, rings)
    yield from _by_wire_alone(weaving, rings)


def _by_wire_alone(weaving: Weaving, rings: Sequence[StockRing]) -> Iterator[Said]:
    """Rings that the recipe tells apart by their wire alone must differ in it the same way."""
    chosen = list(zip(weaving.needs, rings, strict=False))
    for (thin, one), (thick, other) in pairwise(chosen):
        alike = abs(thin.wire + thin.inside - thick.wire - thick.inside) < _SLACK
        if alike and thin.wire < thick.wire and one.wire.mm >= other.wire.mm:
            rule = f"{thick.label} must be of thicker wire than {thin.label}"
            why = f"{rule}; {one.name} has {one.wire.words} and {other.name} {other.wire.words}"
            yield Said("cannot", why, rule)


def _around(
    weaving: Weaving, need: Need, ring: StockRing, rings: Sequence[StockRing]
) -> Iterator[Said]:
    """A ring that lies around others must slip over them, and not over those that they hang on."""
    around = need.around
    assert around is not None
    inner = rings[around.inner]
    wire, outside = inner.wire.mm, inner.inside.mm + 2 * inner.wire.mm
    through = hypot(outside - wire, (around.many - 1) * wire) + wire
    label, held = need.label, weaving.needs[around.inner].label
    if ring.inside.mm <= through:
        yield Said(
            "cannot",
            f"{label} must slip over {held}, {text_mm(through)} mm across, and {ring.name} has an"
            f" inside of {ring.inside.words}",
            f"{label} does not slip over {held}",
        )
    for number in around.past:
        if number < len(rings):
            other = rings[number].inside.mm + 2 * rings[number].wire.mm
            if ring.inside.mm >= other:
                past = weaving.needs[number].label
                yield Said(
                    "cannot",
                    f"{label} would slip off over {past}, {text_mm(other)} mm across: {ring.name}"
                    f" has an inside of {ring.inside.words}",
                    f"{label} would slip off over {past}",
                )


def _stated(weaving: Weaving, rings: Sequence[StockRing]) -> Iterator[Said]:
    """What the ranges say that the recipe states."""
    for need, ring in zip(weaving.needs, rings, strict=False):
        if need.span is None:
            continue
        verdict = need.span.verdict(ratio(ring.wire.mm, ring.inside.mm))
        origin = f" ({need.span.origin})" if need.span.origin else ""
        low = ratio_text(need.span.low, need.span.places)
        high = need.span.high
        top = "" if high is None else ratio_text(high, need.span.places)
        if verdict == "too tight":
            yield Said("tight", f"under AR {low}{origin}", f"under AR {low}{origin}")
        elif verdict == "too loose":
            yield Said("loose", f"over AR {top}{origin}", f"over AR {top}{origin}")
        else:
            words = f"AR {low} to {top}" if top else f"AR from {low}"
            yield Said("fits", f"good at {words}{origin}", f"good at {words}{origin}")


def _computed(weaving: Weaving, rings: Sequence[StockRing]) -> Iterator[Said]:
    """What the computed sizes say; nothing of rings that were not laid out."""
    pairs = [(n, r) for n, r in zip(weaving.needs, rings, strict=False) if n.linked is not None]
    if not pairs:
        return
    stated = all(need.span for need, _ in pairs)
    computed = weaving.computed
    if computed is None:
        if not stated:
            yield _UNKNOWN
        return
    ranks = len(computed.points[0])
    if len(pairs) < ranks:  # the others are not chosen yet
        return

    def rings_of(times: int) -> Point:
        mm = [(r.wire.mm + times * off_label(r.wire.mm), r.inside.mm) for _, r in pairs]
        return tuple((wire + inside, wire) for wire, inside in mm)

    if computed.barred(rings_of(-1)) and not _counts_as_least(weaving, pairs):
        yield Said("cannot", *computed_words(weaving, pairs, "under"))
        return
    if stated:
        return
    lead = pairs[0][1]
    aspect = lead.inside.mm / lead.wire.mm
    loose = computed.loose_from
    goes = computed.goes(rings_of(1))
    if computed.beyond(rings_of(0)):
        small = pairs[-1][0].label
        words = f"{small} larger beside {pairs[0][0].label} than in any pair of sizes computed"
        yield Said("loose" if goes else "not known", words, words)
    elif not goes:
        near = len(pairs) == 1 or computed.near(rings_of(0))
        how: Answer = "tight" if near else "not known"
        yield Said(how, *computed_words(weaving, pairs, how))
    elif loose is not None and aspect >= loose:
        yield Said("loose", *(f"from AR {loose:.2f} {LOOSE[computed.why]} (computed)",) * 2)
    else:
        yield Said("fits", *computed_words(weaving, pairs, "over"))


def _counts_as_least(weaving: Weaving, pairs: Sequence[tuple[Need, StockRing]]) -> bool:
    """True where a range is stated for the one size of ring, and the ring, rounded as that range
    asks, is no smaller than the least computed: so `sizes --wire` takes it as well."""
    (need, ring), computed = pairs[0], weaving.computed
    if len(pairs) > 1 or need.span is None or computed is None:
        return False
    places = need.span.places
    aspect = ratio(ring.wire.mm, ring.inside.mm)
    return rounded(aspect, places) >= rounded(exact(computed.least), places)
