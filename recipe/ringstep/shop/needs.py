"""What a recipe needs of rings, size by size: for which rings, how many, and what they must pass.

Comes in: a clean `View`, and what was computed of it. Goes out: a frozen `Weaving`, against which
the rings of a drawer are held.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from ringstep.checks.rules.crowding import crowds
from ringstep.checks.view import View
from ringstep.language.source import Refused
from ringstep.language.words import listed
from ringstep.shop.computed import Computed, linked_sizes
from ringstep.shop.list_words import metal_name
from ringstep.weave.working_range import Range, range_for

Name = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Around:
    """A need whose rings lie around others: `many` rings of need `inner` at once, and must not slip
    over those of the needs `past`, which hold them there."""

    inner: int
    many: int
    past: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """Rings of one size and look: material, colour, and how many one piece and one unit take."""

    material: str
    colour: str
    roles: tuple[str, ...]
    piece: int
    unit: Fraction


@dataclass(frozen=True, slots=True)
class Need:
    """The rings of one size of a recipe.

    wire, inside: in mm as the recipe has it. linked: its place among the sizes that were laid out,
    largest first; None where its rings were not. span: the range stated for its rings.
    crowds: for a finished ring of a role, how many rings of each need go through it.
    """

    wire: float
    inside: float
    looks: tuple[Look, ...]
    linked: int | None
    span: Range | None
    crowds: tuple[tuple[str, tuple[tuple[int, int], ...]], ...]
    around: Around | None

    @property
    def roles(self) -> tuple[str, ...]:
        """The rings it is used for."""
        return tuple(dict.fromkeys(role for look in self.looks for role in look.roles))

    @property
    def label(self) -> str:
        """The same as spoken of: 'across and down'."""
        return listed(self.roles)


@dataclass(frozen=True, slots=True)
class Weaving:
    """One recipe to hold rings against.

    name: as one asks for it, variant: as it is made, "" where that is no question, others: as it
    could be made instead; needs: the size of the largest linked ring first. computed: at which
    sizes its linked rings just go together. by: the shipped recipe whose range holds, "" for its
    own. counted: whether it is known how many rings a piece takes. repeats: whether units follow
    one another, and units: how many of them a piece has. hint: how a range can be had.
    """

    name: str
    title: str
    needs: tuple[Need, ...]
    computed: Computed | None
    by: str
    counted: bool
    repeats: bool
    units: int
    hint: str = ""
    variant: str = ""
    others: tuple[str, ...] = ()


def weaving_of(
    name: str,
    view: View,
    computed: Computed | None,
    like: View | None = None,
    hint: str = "",
) -> Weaving:
    """A recipe as what it needs of rings.

    like: the shipped recipe with the same links, whose stated range holds where it has none.
    hint: how a range can be had where none is known.
    Raises `Refused` where a ring has no size, or several.
    """
    if any(kind.along for kind in view.recipe.rings):
        raise Refused("its rings change size along the piece; name it alone beside --stock")
    sizes = _sizes(view)
    if none := [r for r, i in _rings(view) if not any((r, i) in rings for rings in sizes.values())]:
        raise Refused(f"the size of {listed([*dict.fromkeys(none)])} is not known")
    ranks = {size: at for at, size in enumerate(linked_sizes(view))}
    order = sorted(sizes, key=lambda s: (ranks.get(s, len(ranks)), -sum(s), s))
    at = {ring: order.index(size) for size, rings in sizes.items() for ring in rings}
    spans = [_span(view, sizes[size]) for size in order]
    own = any(spans)
    if like is not None and not own:
        theirs = linked_sizes(like)
        given = {rank: _span(like, rings) for rank, rings in enumerate(theirs.values())}
        spans = [given.get(ranks.get(size, -1)) for size in order]
    looks = _looks(view, at)
    needs = tuple(
        Need(
            *size,
            tuple(looks[number]),
            ranks.get(size),
            spans[number],
            _crowds(view, at, number),
            _around(view, at, number),
        )
        for number, size in enumerate(order)
    )
    title = view.recipe.title or name
    same = like is not None and like.recipe.source.lines == view.recipe.source.lines
    by = "" if like is None or own or same else like.recipe.source.name
    repeats = view.weave.repeat is not None
    layout = view.weave.layout
    units = layout.units * (layout.rows if layout.flat else 1)
    made = view.chosen.name if view.chosen else ""
    others = tuple(v.name for v in view.recipe.variants if v.name != made)
    known = layout.known
    return Weaving(name, title, needs, computed, by, known, repeats, units, hint, made, others)


def _rings(view: View) -> list[Name]:
    """All rings by role and number, parts left out."""
    parts = view.recipe.part_roles
    names = view.weave.names.items()
    return [(role, index) for role, indexes in names if role not in parts for index in indexes]


def _sizes(view: View) -> dict[tuple[float, float], list[Name]]:
    """All rings by role and number under their wire and inside in mm."""
    found: dict[tuple[float, float], list[Name]] = {}
    for ring in _rings(view):
        for kind in view.recipe.kinds_of(*ring):
            wire, inside = kind.mm
            if wire and inside:
                found.setdefault((wire, inside), []).append(ring)
    return found


def _span(view: View, rings: list[Name]) -> Range | None:
    """The range stated for any of these rings."""
    chosen = view.chosen.name if view.chosen else None
    found = (range_for(view.recipe, chosen, *ring) for ring in rings)
    return next((span for span in found if span), None)


def _looks(view: View, at: dict[Name, int]) -> list[list[Look]]:
    """For each need its rings by material and colour, counted."""
    units: Counter[Name] = Counter()
    repeat = view.weave.repeat
    if repeat is not None:
        units.update((c.role, c.index) for c in repeat.classes)
    places = repeat.cycle[0] * repeat.cycle[1] if repeat is not None else 1
    found: list[dict[tuple[str, str], list[tuple[str, int, Fraction]]]]
    found = [{} for _ in range(max(at.values(), default=-1) + 1)]
    for lot in view.weave.lots:
        ring = lot.role, lot.index
        if ring not in at or lot.kind is None:
            continue
        look = metal_name(lot.kind.material), lot.kind.colour.casefold()
        name = view.weave.bought_name(*ring)
        share = Fraction(units[ring], places)
        found[at[ring]].setdefault(look, []).append((name, lot.opened + lot.closed, share))
    return [
        [
            Look(
                *look,
                tuple(dict.fromkeys(name for name, _, _ in rings)),
                sum(n for _, n, _ in rings),
                sum((share for _, _, share in rings), Fraction(0)),
            )
            for look, rings in looks.items()
        ]
        for looks in found
    ]


def _crowds(
    view: View, at: dict[Name, int], number: int
) -> tuple[tuple[str, tuple[tuple[int, int], ...]], ...]:
    """How many rings of each need go through the rings of one, role by role."""
    found: dict[tuple[str, tuple[tuple[int, int], ...]], None] = {}
    for ring, met in crowds(view).items():
        if at.get(ring) != number:
            continue
        through: Counter[int] = Counter()
        for other, count in met.items():
            if other in at:
                through[at[other]] += count
        if through:
            found[ring[0], tuple(sorted(through.items()))] = None
    return tuple(found)


def _around(view: View, at: dict[Name, int], number: int) -> Around | None:
    """What the rings of a need lie around, where they do."""
    work = view.weave.work
    for act in work.acts:
        if not act.step.around or not any(at.get((r.role, r.index)) == number for r in act.new):
            continue
        inner = [at[r.role, r.index] for r in act.held if (r.role, r.index) in at]
        if not inner:
            continue
        past = {
            at[o.role, o.index]
            for ring in act.held
            for o in work.links.get(ring, ())
            if (o.role, o.index) in at
        }
        return Around(inner[0], len(inner), tuple(sorted(past - {inner[0]})))
    return None
