"""From a cell to a fit: many starts, the best made tight, hopped about, measured and sorted.

In: `Cell`. Out: `Fit`. The same cell, seed and effort give the same fit; breaking off
(KeyboardInterrupt) gives the best so far.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from ringstep.space import bounds, lays, starts, units
from ringstep.space.cell import Cell, CellError
from ringstep.space.circles import Ints, Layout, Shape, shape_of
from ringstep.space.measure import form_of, spectrum
from ringstep.space.relax import read_links, settle
from ringstep.space.result import Fit, Form, Pose, Turn
from ringstep.space.tighten import thicken

Progress = Callable[[str, int, int, float], None]

# effort: starts a variant, hops a kept form, forms kept for hopping, forms told
_EFFORT = ((20, 0, 1, 2), (32, 24, 2, 3), (100, 120, 3, 4), (300, 500, 4, 6))
_COARSE = (30, 1e-3)


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to repeat: a multiple of the unit, and how it turns about a chain."""

    cell: Cell
    multiple: units.Multiple
    free_twist: bool
    turn: float  # radians a unit where the twist is not free

    @property
    def turn_name(self) -> Turn:
        """As a form tells it."""
        return "free" if self.free_twist else "half" if self.turn else "none"


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A layout reached, with its class."""

    layout: Layout
    room: float
    signs: Ints
    kind: tuple[int, ...]
    said: bool
    folded: bool

    @property
    def rank(self) -> tuple[bool, bool, float]:
        """Better is greater."""
        return self.said, self.folded, self.room


@dataclass(slots=True, eq=False)
class _Search:
    variant: Variant
    shape: Shape
    rng: np.random.Generator
    tell: Callable[[str, int, int], None]
    terms: tuple[lays.Term, ...] = ()
    pool: list[Found] = field(default_factory=list)

    def add(self, start: Layout, signs: Ints | None, rounds: int, finest: float) -> Found | None:
        """Settle and thicken a start and keep what comes out."""
        thin = settle(self.shape, start, signs)
        if thin is None and signs is not None:
            thin = settle(self.shape, start)
        if thin is None:
            return None
        return self.keep(thin, rounds, finest)

    def keep(self, layout: Layout, rounds: int, finest: float) -> Found | None:
        """Thicken a layout whose links are right and keep it."""
        tight = thicken(self.shape, layout, rounds, finest)
        if tight.room <= 0:
            return None
        cell = self.shape.cell
        signs = read_links(self.shape, tight.layout).signs
        seen = [int(s) for s in signs]
        mirror = lays.normal_signs(cell, [-s for s in seen])
        kind = min(lays.normal_signs(cell, seen), mirror)
        said = lays.as_stated(cell, self.terms, seen)
        found = Found(
            tight.layout, tight.room, signs, kind, said, folds_kept(self.shape, tight.layout)
        )
        for k, other in enumerate(self.pool):
            if other.kind == kind and same(self.shape, other, found):
                if found.rank > other.rank:
                    self.pool[k] = found
                return found
        self.pool.append(found)
        return found

    def begin(self, count: int) -> None:
        """All starts of this variant."""
        cell, turn = self.shape.cell, self.variant.turn
        plans: list[starts.Plan] = []
        made = None if self.variant.free_twist else starts.plan(cell)
        if made is not None and made.margin > -0.3:
            plans.append(made)
            snug = starts.plan(cell, 0.3 * made.margin) if made.margin > 0 else None
            if snug is not None:
                plans.append(snug)
        tried = 0
        pairs = units.merged(cell) if cell.dims == 2 else (cell, ())
        single = shape_of(pairs[0]) if len(pairs[0].rings) < len(cell.rings) else None
        for k in range(count):
            self.tell("starts", k, count)
            if single is not None and k % 4 != 3:
                thin = settle(single, starts.spread_out(single, self.rng, turn))
                if thin is not None:
                    start = starts.side_by_side(self.shape, thin, pairs[1], self.rng)
                    self.add(start, None, *_COARSE)
            elif plans and k % 4 != 3:
                made = plans[tried % len(plans)]
                groups = len(made.groups)
                bits = tried // len(plans)
                tried += 1
                leans: tuple[int, ...] = ()
                loose = 0.0
                if bits < min(2**groups, 4):
                    leans = tuple(1 if bits >> g & 1 else -1 for g in range(groups))
                else:
                    loose = float(self.rng.choice([0.3, 1.0]))
                start = starts.from_plan(self.shape, made, self.rng, loose, turn, leans)
                signs = starts.plan_signs(self.shape, made, self.terms, turn)
                self.add(start, signs, *_COARSE)
            else:
                self.add(starts.spread_out(self.shape, self.rng, turn), None, *_COARSE)

    def hop(self, found: Found, count: int) -> Found:
        """Small kicks from a good layout, its signs kept, moving on where it gets better."""
        best = found
        for k in range(count):
            self.tell("hops", k, count)
            size = float(self.rng.choice([0.04, 0.1, 0.2]))
            start = starts.kicked(self.shape, best.layout, self.rng, size)
            thin = settle(self.shape, start, best.signs)
            if thin is None:
                continue
            new = self.keep(thin, *_COARSE)
            if new is None or (new.said, new.folded) < (best.said, best.folded):
                continue
            if new.room > best.room * 0.998:
                new = self.keep(new.layout, 120, 1e-5) or new
            if new.room > best.room * (1 + 1e-5):
                best = new
        return best


def folds_kept(shape: Shape, layout: Layout) -> bool:
    """Is every ring that the steps fold back behind the ring it was put through?"""
    x, length = layout.centres[:, 0], layout.repeat[0] if shape.dims == 1 else 0.0
    return all(
        x[ring] < x[other] + shift * length for ring, other, shift in starts.folds(shape.cell)
    )


def same(shape: Shape, one: Found, other: Found) -> bool:
    """The same form: equal room and equal distances between centres, within a little."""
    if abs(one.room - other.room) > 4e-3 * one.room:
        return False
    return bool(
        np.abs(spectrum(shape, one.layout) - spectrum(shape, other.layout)).max(initial=0) < 0.06
    )


def variants(cell: Cell) -> tuple[tuple[Variant, ...], tuple[str, ...]]:
    """The ways to repeat worth trying, the simplest first, and what is to be told about them."""
    notes: list[str] = []
    base = units.Multiple()
    own = units.linked_to_own_copy(cell)
    if own:
        names = sorted({cell.rings[a].name for a, b, _ in cell.pairs() if a == b})
        notes.append(
            f"{', '.join(names)}: linked with its own copy in another unit, so the two cannot lie "
            "parallel"
        )
        out = []
        freeing = units.multiple_that_frees(cell)
        if freeing is not None:
            out.append(Variant(units.multiplied(cell, freeing), freeing, False, 0.0))
        if cell.dims == 1:
            out.append(Variant(cell, base, True, 0.0))
        return tuple(out), tuple(notes)
    if cell.dims == 1:
        double = units.Multiple(2)
        if not starts.two_coloured(cell):
            twice = units.multiplied(cell, double)
            if starts.two_coloured(twice):
                return (Variant(twice, double, False, 0.0),), ()
        return (Variant(cell, base, False, 0.0), Variant(cell, base, False, np.pi)), ()
    return (Variant(cell, base, False, 0.0),), ()


def fit(
    cell: Cell,
    *,
    seed: int = 0,
    effort: int = 1,
    progress: Progress | None = None,
    turns: bool = True,
) -> Fit:
    """Lay out a cell's rings.

    `effort` 0 (a few seconds) to 3 (many minutes) sets how many starts and hops are made.
    `progress` is told the stage, how far it is, out of how many, and the smallest aspect ratio of
    the first ring so far (0 where none). `turns` False tries no turn of the unit about a chain.
    A fit without forms means nothing was found. Raises ValueError for an effort outside 0 to 3,
    CellError for rings that links alone do not hold together.
    """
    if not units.hangs_together(cell):
        raise CellError(
            "links alone do not join every ring and every unit, so the rings cannot be laid out"
        )
    if not 0 <= effort < len(_EFFORT):
        raise ValueError(f"effort is 0 to {len(_EFFORT) - 1}, not {effort}")
    starts_each, hops, kept, told = _EFFORT[effort]
    choices, notes = variants(cell)
    if not turns:
        choices = tuple(v for v in choices if not v.free_twist and v.turn == 0) or choices[:1]
    searches: list[_Search] = []
    best_room = [0.0]

    def tell(stage: str, done: int, total: int) -> None:
        for search in searches:
            best_room[0] = max([best_room[0], *(f.room for f in search.pool if f.said)])
        if progress is not None:
            ring = cell.rings[0]
            least = 2 * ring.mean_radius / ring.wire / best_room[0] - 1 if best_room[0] else 0.0
            progress(stage, done, total, least)

    finished = True
    for number, choice in enumerate(choices):
        shape = shape_of(choice.cell, choice.free_twist)
        rng = np.random.default_rng([seed, number])
        search = _Search(choice, shape, rng, tell)
        search.terms = lays.stated_terms(choice.cell)
        searches.append(search)
    try:
        for search in searches:
            search.begin(starts_each)
        if hops:
            for search, found in _finalists(searches, kept):
                sharper = search.keep(found.layout, 120, 1e-5) or found
                search.hop(sharper, hops)
    except KeyboardInterrupt:
        finished = False
    forms, whole = _told(searches, told if finished else 1, progress, 2 * effort)
    floors = [bounds.packing_floor(cell, k) for k in range(len(cell.rings))]
    return Fit(
        cell=cell,
        forms=forms,
        bounds=tuple(f[0] for f in floors),
        bounds_by_area=tuple(f[1] for f in floors),
        notes=notes,
        seed=seed,
        effort=effort,
        finished=finished and whole,
    )


def _every(searches: list[_Search]) -> list[tuple[_Search, Found]]:
    """All layouts of all variants, best first; a turn of the unit must earn its place."""

    def rank(pair: tuple[_Search, Found]) -> tuple[bool, bool, float]:
        search, found = pair
        plain = search.variant.turn_name == "none"
        return found.said, found.folded, found.room * (1.02 if plain else 1.0)

    every = [(search, found) for search in searches for found in search.pool]
    return sorted(every, key=rank, reverse=True)


def _finalists(searches: list[_Search], most: int) -> list[tuple[_Search, Found]]:
    """The layouts worth hopping from: the best, with one of another variant among them."""
    every = _every(searches)
    chosen = every[:most]
    others = [pair for pair in every if chosen and pair[0] is not chosen[0][0]]
    if most > 1 and others and all(pair[0] is chosen[0][0] for pair in chosen):
        chosen[-1] = others[0]
    return chosen


def _told(
    searches: list[_Search], most: int, progress: Progress | None, tries: int
) -> tuple[tuple[Form, ...], bool]:
    """The best forms measured, each once, and whether that went through unbroken."""
    forms: list[Form] = []
    taken: list[tuple[_Search, Found]] = []
    for search, found in _every(searches):
        alike = [other for s, other in taken if _alike(search, found, s, other)]
        crowd = [1 for s, other in taken if s is search and other.kind == found.kind]
        if alike or len(crowd) >= 2:
            continue
        taken.append((search, found))
        multiple, dims = search.variant.multiple, search.shape.dims
        per = (multiple.across, multiple.along)[:dims]
        turn = search.variant.turn_name
        about = (search.shape, found.layout, per, multiple.slip, turn, found.said, found.folded)
        try:
            if progress is not None:
                progress("measuring", len(forms), most, 0.0)
            forms.append(form_of(*about, tries, search.rng))
        except KeyboardInterrupt:
            if not forms:
                forms.append(form_of(*about, 0, search.rng, quick=True))
            return tuple(forms), False
        if any(_same_piece(forms[-1], other) for other in forms[:-1]):
            forms.pop()
        if len(forms) >= most or len(taken) >= most + 2:
            break
    return tuple(forms), True


def _same_piece(one: Form, other: Form) -> bool:
    """Equal room and equal pulled length a ring: one piece seen from two ends, or laid twice."""
    if one.as_said != other.as_said or abs(one.room / other.room - 1) > 2e-3:
        return False
    if one.stretched is None or other.stretched is None:
        return one.stretched is other.stretched

    def size(form: Form, pose: Pose) -> float:
        extent = pose.repeat[0] * (pose.repeat[2] if len(pose.repeat) == 3 else 1.0)
        return extent / len(form.cell.rings)

    return abs(size(one, one.stretched) / size(other, other.stretched) - 1) < 0.015


def _alike(one: _Search, found: Found, other: _Search, known: Found) -> bool:
    """The same rings at the same distances, seen from another end or over another multiple."""
    if found.said != known.said or abs(found.room / known.room - 1) > 0.01:
        return False
    a, b = spectrum(one.shape, found.layout), spectrum(other.shape, known.layout)
    a, b = np.repeat(a, len(b)), np.repeat(b, len(a))
    return bool(np.abs(a - b).max(initial=0) < 0.1) or found.kind == known.kind
