"""Circles in space: where the copies lie, which pairs are linked, how near they come.

Several layouts of one cell are looked at together: the arrays of one are too small for numpy to be
quick.

Lengths are in units of the largest mean radius of the cell. A layout is moved by a vector of
5 numbers a ring (3 shifts of the centre, 2 turns about axes across the normal) followed by the
numbers of the repeat: (length, twist) for a chain, (a, b, c) for a sheet whose units lie
(a, 0, 0) and (b, c, 0) apart, nothing for a single piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ringstep.space.cell import Cell
from ringstep.space.near import Circles, Floats, Ints, across, cross, link_sign, near_places, turned

Bools = NDArray[np.bool_]
Hands = tuple[Floats, Floats, Floats, Floats]  # pushes on i and j, torques on i and j; (t, 3)

SAMPLES = 72  # angles looked at round a ring while searching
FINE = 216  # the same when a result is measured


@dataclass(frozen=True, slots=True, eq=False)
class Symmetry:
    """Rings that are images of others, see `symmetry`.

    source: (n,) the ring each ring is the image of, itself for a free one. matrix: (n, 3) the
    diagonal. ahead: (n,) shares of the unit's length.
    """

    source: Ints
    matrix: Floats
    ahead: Floats

    @property
    def free(self) -> Ints:
        """The rings that move freely."""
        return np.nonzero(self.source == np.arange(len(self.source)))[0]


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """What does not move: sizes and wanted links of a cell, scaled to the largest radius."""

    cell: Cell
    unit: float  # mm of one length unit
    radii: Floats  # (n,)
    wires: Floats  # (n,) the recipe's own wire
    dims: int
    twist: bool  # may a chain turn about its length from unit to unit
    link_a: Ints  # (links,)
    link_b: Ints
    link_shift: Ints  # (links, 2), padded with 0
    samples: int = SAMPLES
    symmetry: Symmetry | None = None  # imposed on a chain's unit

    @property
    def count(self) -> int:
        """Number of rings in the unit."""
        return len(self.radii)

    @property
    def variables(self) -> int:
        """How many numbers move a layout."""
        return 5 * self.count + (0, 2, 3)[self.dims]


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where the rings of one unit lie, and how the unit repeats; several have one axis more."""

    centres: Floats  # (n, 3)
    normals: Floats  # (n, 3) unit vectors
    repeat: Floats  # () | (length, twist) | (a, b, c)

    def at(self, some: Ints | int | None) -> Layout:
        """Some of several, or one; with None several, of one."""
        return Layout(self.centres[some], self.normals[some], self.repeat[some])

    @property
    def several(self) -> Layout:
        """As several, even if it is one."""
        return self if self.centres.ndim == 3 else self.at(None)


def stacked(layouts: Sequence[Layout]) -> Layout:
    """Several layouts of one cell as one."""
    return Layout(*(np.stack([getattr(x, f) for x in layouts]) for f in Layout.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Pairs of rings worth looking at in one layout or several: ring i of the unit and a copy of j.

    One row each.
    """

    of: Ints  # which layout
    i: Ints
    j: Ints
    shift: Ints  # (p, 2)
    link: Ints  # index into the cell's links, -1 where none is wanted
    apart: Floats  # (p, 3) centre of the copy of j, less that of i
    normal_i: Floats  # (p, 3)
    normal_j: Floats  # (p, 3) of the copy
    centre_j: Floats  # (p, 3)

    @property
    def wanted(self) -> Bools:
        """Should they be linked?"""
        out: Bools = self.link >= 0
        return out

    def only(self, keep: Bools | Ints) -> Pairs:
        """Those rows alone."""
        some = keep if keep.dtype != np.bool_ else np.flatnonzero(keep)
        return Pairs(*(getattr(self, name).take(some, 0) for name in self.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Touches:
    """Places where the rings of a pair come near: one row each."""

    pair: Ints
    gap: Floats  # distance of the centre lines
    along: Floats  # (t, 3) unit vector from ring i to ring j
    lever_i: Floats  # (t, 3) from the centre to the place
    lever_j: Floats

    def only(self, keep: Bools) -> Touches:
        """Those rows alone."""
        some = np.flatnonzero(keep)
        return Touches(*(getattr(self, name).take(some, 0) for name in self.__slots__))


def shape_of(cell: Cell, twist: bool = False) -> Shape:
    """Scale a cell so that its largest mean radius is 1."""
    unit = max(ring.mean_radius for ring in cell.rings)
    keys = cell.pairs()
    shifts = np.zeros((len(keys), 2), dtype=np.int64)
    for row, (_, _, shift) in enumerate(keys):
        shifts[row, : len(shift)] = shift
    return Shape(
        cell=cell,
        unit=unit,
        radii=np.array([ring.mean_radius / unit for ring in cell.rings]),
        wires=np.array([ring.wire / unit for ring in cell.rings]),
        dims=cell.dims,
        twist=twist and cell.dims == 1,
        link_a=np.array([a for a, _, _ in keys], dtype=np.int64),
        link_b=np.array([b for _, b, _ in keys], dtype=np.int64),
        link_shift=shifts,
    )


def copy_offset(repeat: Floats, shift: Ints) -> tuple[Floats, Floats]:
    """Translation (..., 3) and turn about x (...) of the copies `shift` (p, 2) units on.

    repeat: of one layout, or of several with one axis more before the last: (b, 1, 2).
    """
    many, down, along = repeat.shape[-1], shift[:, 0], shift[:, 1]
    move = np.zeros((*np.broadcast_shapes(repeat.shape[:-1], down.shape), 3))
    turn = np.zeros(move.shape[:-1])
    if many == 2:
        move[..., 0] = down * repeat[..., 0]
        turn = down * repeat[..., 1]
    elif many == 3:
        move[..., 0] = down * repeat[..., 0] + along * repeat[..., 1]
        move[..., 1] = along * repeat[..., 2]
    return move, turn


def shifts_within(layout: Layout, far: float) -> Ints:
    """All shifts whose copies can come within `far` of the unit's own rings, centre to centre."""
    repeat = layout.repeat
    if len(repeat) == 0:
        return np.zeros((1, 2), dtype=np.int64)
    spread = np.ptp(layout.centres, axis=0)
    if len(repeat) == 2:
        top = min(120, int((spread[0] + far) / max(abs(repeat[0]), 1e-3)))
        k = np.arange(-top, top + 1)
        return np.stack([k, np.zeros_like(k)], axis=1)
    rows = min(30, int((spread[1] + far) / max(abs(repeat[2]), 1e-3)))
    out = []
    for r in range(-rows, rows + 1):
        middle = -r * repeat[1] / repeat[0]
        half = (spread[0] + far) / max(abs(repeat[0]), 1e-3)
        low, high = int(np.ceil(middle - half)), int(np.floor(middle + half))
        low, high = max(low, -100), min(high, 100)
        if high >= low:
            k = np.arange(low, high + 1)
            out.append(np.stack([k, np.full_like(k, r)], axis=1))
    return np.concatenate(out)


def each_once(count: int, shifts: Ints) -> Bools:
    """Which pairs (shifts, count, count) stand for themselves, and not for the same seen from the
    other ring: ring i of the unit and ring j of the unit so many shifts on."""
    index = np.arange(count)
    later = (shifts[:, 0] > 0) | ((shifts[:, 0] == 0) & (shifts[:, 1] > 0))
    own = (index[:, None] == index[None, :])[None] & later[:, None, None]
    first: Bools = (index[:, None] < index[None, :])[None] | own
    return first


def near_pairs(shape: Shape, layout: Layout, reach: float | Floats) -> Pairs:
    """Every pair whose wires' centre lines may come within `reach`, and every wanted link.

    reach: one, or one for each of several layouts.
    """
    n, many = shape.count, layout.several
    reaches = np.broadcast_to(reach, len(many.centres))
    far = 2 * float(shape.radii.max()) + reaches
    each = [shifts_within(many.at(at), float(far[at])) for at in range(len(far))]
    shifts = each[0] if len(each) == 1 else np.unique(np.concatenate(each), axis=0)
    known = (shifts[:, None, :] == shape.link_shift).all(axis=2)
    if not known.any(axis=0).all():
        shifts = np.unique(np.concatenate([shifts, shape.link_shift]), axis=0)
        known = (shifts[:, None, :] == shape.link_shift).all(axis=2)
    link = np.full((len(shifts), n, n), -1)
    link[known.argmax(axis=0), shape.link_a, shape.link_b] = np.arange(len(shape.link_a))
    move, turn = copy_offset(many.repeat[:, None, :], shifts)
    copies = turned(many.centres[:, None], turn[:, :, None]) + move[:, :, None, :]
    apart = copies[:, :, None, :, :] - many.centres[:, None, :, None, :]
    limit = (shape.radii[:, None] + shape.radii) + reaches[:, None, None, None]
    close = np.einsum("bkijx,bkijx->bkij", apart, apart) <= limit * limit
    of, k, i, j = np.nonzero((close & each_once(n, shifts)) | (link >= 0))
    return Pairs(
        of,
        i,
        j,
        shifts[k],
        link[k, i, j],
        apart[of, k, i, j],
        many.normals[of, i],
        turned(many.normals[of, j], turn[of, k]),
        copies[of, k, j],
    )


def links_of(shape: Shape, layout: Layout) -> Pairs:
    """The wanted links of one layout, in their order."""
    i, j, shift = shape.link_a, shape.link_b, shape.link_shift
    none = np.zeros_like(i)
    return placed(layout, Pairs(none, i, j, shift, np.arange(len(i)), *[np.zeros((0, 3))] * 4))


def placed(layout: Layout, pairs: Pairs) -> Pairs:
    """The same pairs where the rings of one layout lie."""
    move, turn = copy_offset(layout.repeat, pairs.shift)
    centre_j = turned(layout.centres[pairs.j], turn) + move
    return replace(
        pairs,
        apart=centre_j - layout.centres[pairs.i],
        normal_i=layout.normals[pairs.i],
        normal_j=turned(layout.normals[pairs.j], turn),
        centre_j=centre_j,
    )


def linking(shape: Shape, pairs: Pairs) -> Ints:
    """Linking number of each pair: 0 unlinked, else +1 or -1; see `link_sign`."""
    ri, rj = shape.radii[pairs.i], shape.radii[pairs.j]
    none = np.zeros_like(pairs.apart)
    return link_sign(none, pairs.normal_i, ri, pairs.apart, pairs.normal_j, rj)


def as_wanted(shape: Shape, pairs: Pairs) -> Bools:
    """Is each pair linked where it should be, and apart where not?"""
    out: Bools = (linking(shape, pairs) != 0) == pairs.wanted
    return out


def touches(
    shape: Shape,
    pairs: Pairs,
    samples_within: float | Floats | None = None,
    reach: Floats | None = None,
    samples: int | None = None,
) -> Touches:
    """Local minima of the distance of each pair; with `samples_within` also plain samples.

    Each pair is looked at from both of its circles, since samples on one alone can miss a place.
    Plain samples no farther than the pair's nearest place plus `samples_within` keep nearly
    parallel rings honest, whose nearest place jumps from one side to the other. reach: (p,) how far
    away a place may be that is looked for.
    """
    some = np.arange(len(pairs.i))
    if samples_within is not None:
        samples_within = np.broadcast_to(samples_within, some.shape)
    if reach is not None:
        some = np.flatnonzero(_low(shape, pairs) <= reach)
        pairs, reach = pairs.only(some), np.tile(reach[some], 2)
    i, apart = pairs.i, pairs.apart
    ni, nj, ri, rj = pairs.normal_i, pairs.normal_j, shape.radii[i], shape.radii[pairs.j]
    both = Circles(
        np.concatenate([-apart, apart]),
        np.concatenate([ni, nj]),
        np.concatenate([nj, ni]),
        np.concatenate([ri, rj]),
        np.concatenate([rj, ri]),
    )
    if samples_within is not None:
        samples_within = np.tile(samples_within[some], 2)
    pair, own, other = near_places(both, samples or shape.samples, samples_within, reach)
    from_i = pair < len(i)
    pair = np.where(from_i, pair, pair - len(i))
    lever_i = np.where(from_i[:, None], own, other)
    lever_j = np.where(from_i[:, None], other, own)
    line = apart[pair] + lever_j - lever_i
    gap = np.linalg.norm(line, axis=1)
    return Touches(some[pair], gap, line / np.maximum(gap, 1e-12)[:, None], lever_i, lever_j)


def _low(shape: Shape, pairs: Pairs) -> Floats:
    """(p,) how far at least each ring of a pair stays from the plane of the other."""
    apart, ni, nj = pairs.apart, pairs.normal_i, pairs.normal_j
    leans = np.sqrt(np.maximum(1.0 - np.einsum("px,px->p", ni, nj) ** 2, 0.0))
    over_j = np.abs(np.einsum("px,px->p", apart, nj)) - leans * shape.radii[pairs.i]
    over_i = np.abs(np.einsum("px,px->p", apart, ni)) - leans * shape.radii[pairs.j]
    far: Floats = np.maximum(over_i, over_j)
    return far


def slopes(shape: Shape, layout: Layout, pairs: Pairs, t: Touches) -> Floats:
    """How each gap grows with each variable, shape (touches, variables).

    With e the unit vector between the nearest places: -e at c_i, +e at c_j, -(r_i x e) and
    +(r_j x e) for the turns, shift times e for the repeat; copies are turned back.
    """
    return assemble(shape, layout, pairs, t.pair, hands(t))


def hands(t: Touches, way: Floats | float = 1.0) -> Hands:
    """What draws the rings of each place apart (way 1) or together (-1)."""
    along = t.along * (way if isinstance(way, float) else way[:, None])
    return -along, along, -cross(t.lever_i, along), cross(t.lever_j, along)


def assemble(shape: Shape, layout: Layout, pairs: Pairs, pair: Ints, by: Hands) -> Floats:
    """Rows of derivatives from forces and torques on the two rings of each row's pair."""
    (push_i, push_j, torque_i, torque_j), many = by, layout.several
    of, i, j, n = pairs.of[pair], pairs.i[pair], pairs.j[pair], shape.count
    shift, centre_j = pairs.shift[pair].astype(np.float64), pairs.centre_j[pair]
    bases = np.stack(across(many.normals), axis=-2)
    out = np.zeros((len(i), shape.variables))
    # a copy's force acts on its ring turned back by the twist from unit to unit
    turn = shift[:, 0] * many.repeat[of, 1] if shape.dims == 1 else np.zeros(len(i))
    back_push, back_torque = turned(push_j, -turn), turned(torque_j, -turn)
    each = np.arange(len(i))
    for axis in range(3):
        out[each, 3 * i + axis] += push_i[:, axis]
        out[each, 3 * j + axis] += back_push[:, axis]
    for side in range(2):
        base_i, base_j = bases[of, i, side], bases[of, j, side]
        out[each, 3 * n + 2 * i + side] += np.einsum("tx,tx->t", torque_i, base_i)
        out[each, 3 * n + 2 * j + side] += np.einsum("tx,tx->t", back_torque, base_j)
    if shape.dims == 1:
        out[:, 5 * n] = shift[:, 0] * push_j[:, 0]
        if shape.twist:
            spin = cross(centre_j, push_j)[:, 0] + torque_j[:, 0]
            out[:, 5 * n + 1] = shift[:, 0] * spin
    elif shape.dims == 2:
        out[:, 5 * n] = shift[:, 0] * push_j[:, 0]
        out[:, 5 * n + 1] = shift[:, 1] * push_j[:, 0]
        out[:, 5 * n + 2] = shift[:, 1] * push_j[:, 1]
    return out


def moved(shape: Shape, layout: Layout, step: Floats) -> Layout:
    """The layout, or several, after a step of the variables of each."""
    n = shape.count
    u, v = across(layout.normals)
    turn = step[..., 3 * n : 5 * n].reshape(*step.shape[:-1], n, 2)
    axis = u * turn[..., :1] + v * turn[..., 1:]
    angle = np.linalg.norm(axis, axis=-1, keepdims=True)
    sine = np.where(angle > 1e-12, np.sin(angle) / np.maximum(angle, 1e-12), 1.0)
    normals = np.cos(angle) * layout.normals + sine * cross(axis, layout.normals)
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    shift = step[..., : 3 * n].reshape(*step.shape[:-1], n, 3)
    return Layout(layout.centres + shift, normals, layout.repeat + step[..., 5 * n :])
