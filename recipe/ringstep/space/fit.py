"""From a cell to a fit: a chain by its symmetry (see `regular`), a sheet as it is worked.

A single piece, or a sheet whose steps cannot be carried out, is searched for: of many starts the
best are made tight, hopped about, measured and sorted.
In: `Cell`. Out: `Fit`. The same cell, seed and effort give the same fit; breaking off
(KeyboardInterrupt) gives the best so far.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from ringstep.space import bounds, hang, lays, regular, starts, units
from ringstep.space.cell import Cell, CellError
from ringstep.space.circles import Layout, Shape, shape_of
from ringstep.space.measure import form_of, spectrum
from ringstep.space.near import Ints
from ringstep.space.relax import read_links, settle
from ringstep.space.result import Fit, Form, Pose
from ringstep.space.search import search
from ringstep.space.second import Second
from ringstep.space.tighten import Tight, thicken

Progress = Callable[[str, int, int, float], None]
Tell = Callable[[str, int, int, float], None]  # stage, done, of how many, room
Worked = Callable[[Shape, units.Multiple, int], Tight | None]  # unit, multiple, seed

# of a sheet or a single piece: starts, hops a kept form, forms kept for hopping, forms told
_EFFORT = ((20, 0, 1, 2), (32, 24, 2, 3), (100, 120, 3, 4), (300, 500, 4, 6))
_CHAIN_EFFORT = ((160, 4), (320, 8), (1000, 40), (4000, 200))  # most starts, hops
_COARSE = (30, 1e-3)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A layout reached, with its class."""

    layout: Layout
    room: float
    signs: Ints
    kind: tuple[int, ...]
    said: bool

    @property
    def rank(self) -> tuple[bool, float]:
        """Better is greater."""
        return self.said, self.room


@dataclass(slots=True, eq=False)
class _Search:
    shape: Shape
    rng: np.random.Generator
    tell: Tell
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
        found = Found(tight.layout, tight.room, signs, kind, said)
        for k, other in enumerate(self.pool):
            if other.kind == kind and same(self.shape, other, found):
                if found.rank > other.rank:
                    self.pool[k] = found
                return found
        self.pool.append(found)
        return found

    def best(self) -> list[Found]:
        """All layouts, best first."""
        return sorted(self.pool, key=lambda f: f.rank, reverse=True)

    def room(self) -> float:
        """The most room of a layout that lies as the steps say, 0 where there is none."""
        return max([f.room for f in self.pool if f.said], default=0.0)

    def begin(self, count: int) -> None:
        """All starts."""
        cell = self.shape.cell
        pairs = units.merged(cell) if cell.dims == 2 else (cell, ())
        single = shape_of(pairs[0]) if len(pairs[0].rings) < len(cell.rings) else None
        for k in range(count):
            self.tell("starts", k, count, self.room())
            if single is not None and k % 4 != 3:
                thin = settle(single, starts.spread_out(single, self.rng))
                if thin is not None:
                    start = starts.side_by_side(self.shape, thin, pairs[1], self.rng)
                    self.add(start, None, *_COARSE)
            else:
                self.add(starts.spread_out(self.shape, self.rng), None, *_COARSE)

    def hop(self, found: Found, count: int) -> Found:
        """Small kicks from a good layout, its signs kept, moving on where it gets better."""
        best = found
        for k in range(count):
            self.tell("hops", k, count, self.room())
            size = float(self.rng.choice([0.04, 0.1, 0.2]))
            start = starts.kicked(self.shape, best.layout, self.rng, size)
            thin = settle(self.shape, start, best.signs)
            if thin is None:
                continue
            new = self.keep(thin, *_COARSE)
            if new is None or new.said < best.said:
                continue
            if new.room > best.room * 0.998:
                new = self.keep(new.layout, 120, 1e-5) or new
            if new.room > best.room * (1 + 1e-5):
                best = new
        return best


def same(shape: Shape, one: Found, other: Found) -> bool:
    """The same form: equal room and equal distances between centres, within a little."""
    if abs(one.room - other.room) > 4e-3 * one.room:
        return False
    return bool(
        np.abs(spectrum(shape, one.layout) - spectrum(shape, other.layout)).max(initial=0) < 0.06
    )


def fit(
    cell: Cell,
    *,
    seed: int = 0,
    effort: int = 1,
    progress: Progress | None = None,
    worked: Worked | None = None,
    push: bool = True,
    second: Second | None = None,
) -> Fit:
    """Lay out a cell's rings; `worked` carries a sheet's steps out and gives its unit.

    Without `push` a chain's least length is not looked for. second: where there is one already.

    `effort` 0 (a few seconds) to 3 (many minutes) sets how many starts and hops are made.
    `progress` is told the stage, how far it is, out of how many, and the smallest aspect ratio of
    the first ring so far (0 where none). A fit without forms means nothing was found. Raises
    ValueError for an effort outside 0 to 3, CellError for rings that links alone do not hold
    together.
    """
    if not units.hangs_together(cell):
        raise CellError(
            "links alone do not join every ring and every unit, so the rings cannot be laid out"
        )
    if not 0 <= effort < len(_EFFORT):
        raise ValueError(f"effort is 0 to {len(_EFFORT) - 1}, not {effort}")

    def tell(stage: str, done: int, total: int, room: float) -> None:
        if progress is not None:
            ring = cell.rings[0]
            least = 2 * ring.mean_radius / ring.wire / room - 1 if room else 0.0
            progress(stage, done, total, least)

    work = partial(_chain, push=push, second=second) if cell.dims == 1 else _searched
    found = None
    if worked is not None and cell.dims == 2:
        found = _as_worked(cell, seed, worked, tell)
    forms, finished = found or work(cell, seed, effort, tell)
    floors = [bounds.packing_floor(cell, k) for k in range(len(cell.rings))]
    return Fit(
        cell=cell,
        forms=forms,
        bounds=tuple(f[0] for f in floors),
        bounds_by_area=tuple(f[1] for f in floors),
        notes=_notes(cell),
        seed=seed,
        effort=effort,
        finished=finished,
    )


def _notes(cell: Cell) -> tuple[str, ...]:
    """What is told of rings that are linked with their own copies."""
    names = sorted({cell.rings[a].name for a, b, _ in cell.pairs() if a == b})
    if not names:
        return ()
    return (
        f"{', '.join(names)}: linked with its own copy in another unit, so the two cannot lie"
        " parallel",
    )


def _chain(
    cell: Cell, seed: int, effort: int, tell: Tell, push: bool, second: Second | None
) -> tuple[tuple[Form, ...], bool]:
    """The form of a chain."""
    most, hops = _CHAIN_EFFORT[effort]
    with nullcontext(second) if second else Second() as second:
        best, whole = search(regular.ways(cell), seed, most, hops, second, tell)
        if best is None:
            return (), whole
        try:
            tell("measuring", 0, 1, 0.0)
            return (hang.form_of(best, second, whole, push),), whole
        except KeyboardInterrupt:
            return (hang.form_of(best, second, False),), False


def _as_worked(
    cell: Cell, seed: int, worked: Worked, tell: Tell
) -> tuple[tuple[Form, ...], bool] | None:
    """The one form of a sheet that comes of its steps; None where they cannot be carried out."""
    multiple = units.multiple_that_frees(cell)
    if multiple is None:
        return None
    several = units.multiplied(cell, multiple)
    shape = shape_of(several)
    tell("working", 0, 0, 0.0)
    got = worked(shape, multiple, seed)
    if got is None:
        return None
    tell("measuring", 0, 0, got.room)
    seen = [int(s) for s in read_links(shape, got.layout).signs]
    said = lays.as_stated(several, lays.stated_terms(several), seen)
    per = (multiple.across, multiple.along)
    rng = np.random.default_rng([seed, 0])
    return (form_of(shape, got.layout, per, multiple.slip, said, 0, rng),), True


def _searched(cell: Cell, seed: int, effort: int, tell: Tell) -> tuple[tuple[Form, ...], bool]:
    """The forms of a sheet or a single piece, best first; none where no multiple can be laid."""
    starts_made, hops, kept, told = _EFFORT[effort]
    multiple = units.multiple_that_frees(cell)
    if multiple is None:
        return (), True
    several = units.multiplied(cell, multiple)
    search = _Search(shape_of(several), np.random.default_rng([seed, 0]), tell)
    search.terms = lays.stated_terms(several)
    finished = True
    try:
        search.begin(starts_made)
        for found in search.best()[:kept] if hops else ():
            search.hop(search.keep(found.layout, 120, 1e-5) or found, hops)
    except KeyboardInterrupt:
        finished = False
    forms, whole = _told(search, multiple, told if finished else 1, 2 * effort)
    return forms, finished and whole


def _told(
    search: _Search, multiple: units.Multiple, most: int, tries: int
) -> tuple[tuple[Form, ...], bool]:
    """The best forms measured, each once, and whether that went through unbroken."""
    forms: list[Form] = []
    taken: list[Found] = []
    per = (multiple.across, multiple.along)[: search.shape.dims]
    for found in search.best():
        if any(_alike(search.shape, found, other) for other in taken):
            continue
        if sum(other.kind == found.kind for other in taken) >= 2:
            continue
        taken.append(found)
        about = (search.shape, found.layout, per, multiple.slip, found.said)
        try:
            search.tell("measuring", len(forms), most, 0.0)
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


def _alike(shape: Shape, found: Found, known: Found) -> bool:
    """The same rings at the same distances, seen from another end."""
    if found.said != known.said or abs(found.room / known.room - 1) > 0.01:
        return False
    apart = np.abs(spectrum(shape, found.layout) - spectrum(shape, known.layout))
    return bool(apart.max(initial=0) < 0.1) or found.kind == known.kind
