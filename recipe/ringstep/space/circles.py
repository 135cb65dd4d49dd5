"""Circles in space: where the copies lie, which pairs are linked, how near they come.

Lengths are in units of the largest mean radius of the cell. A layout is moved by a vector of
5 numbers a ring (3 shifts of the centre, 2 turns about axes across the normal) followed by the
numbers of the repeat: (length, twist) for a chain, (a, b, c) for a sheet whose units lie
(a, 0, 0) and (b, c, 0) apart, nothing for a single piece.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringstep.space.cell import Cell
from ringstep.space.near import Circles, Floats, Ints, across, cross, link_sign, near_places, turned

Bools = NDArray[np.bool_]

SAMPLES = 72  # angles looked at round a ring while searching
FINE = 216  # the same when a result is measured
_KEY_SPAN = 256  # shifts from -128 to 127 fit one key


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
    link_key: Ints  # (links,) sorted
    link_order: Ints  # position in the cell's list of each sorted key
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

    def at(self, some: Ints | int) -> Layout:
        """Some of several, or one."""
        return Layout(self.centres[some], self.normals[some], self.repeat[some])


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Pairs of rings worth looking at: ring i of the unit and a copy of ring j."""

    i: Ints
    j: Ints
    shift: Ints  # (p, 2)
    wanted: Bools  # should be linked
    link: Ints  # index into the cell's links, -1 where not wanted
    apart: Floats  # (p, 3) centre of the copy of j, less that of i
    normal_j: Floats  # (p, 3) normal of the copy
    centre_j: Floats  # (p, 3)


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
        return Touches(
            self.pair[keep],
            self.gap[keep],
            self.along[keep],
            self.lever_i[keep],
            self.lever_j[keep],
        )


def shape_of(cell: Cell, twist: bool = False) -> Shape:
    """Scale a cell so that its largest mean radius is 1."""
    unit = max(ring.mean_radius for ring in cell.rings)
    keys = cell.pairs()
    shifts = np.zeros((len(keys), 2), dtype=np.int64)
    for row, (_, _, shift) in enumerate(keys):
        shifts[row, : len(shift)] = shift
    link_a = np.array([a for a, _, _ in keys], dtype=np.int64)
    link_b = np.array([b for _, b, _ in keys], dtype=np.int64)
    code = encode(link_a, link_b, shifts, len(cell.rings))
    order = np.argsort(code)
    return Shape(
        cell=cell,
        unit=unit,
        radii=np.array([ring.mean_radius / unit for ring in cell.rings]),
        wires=np.array([ring.wire / unit for ring in cell.rings]),
        dims=cell.dims,
        twist=twist and cell.dims == 1,
        link_a=link_a,
        link_b=link_b,
        link_shift=shifts,
        link_key=code[order],
        link_order=order,
    )


def encode(i: Ints, j: Ints, shift: Ints, count: int) -> Ints:
    half = _KEY_SPAN // 2
    first = (i * count + j) * _KEY_SPAN + shift[:, 0] + half
    return first * _KEY_SPAN + shift[:, 1] + half


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
    return np.concatenate(out) if out else np.zeros((1, 2), dtype=np.int64)


def each_once(count: int, shifts: Ints) -> Bools:
    """Which pairs (shifts, count, count) stand for themselves, and not for the same seen from the
    other ring: ring i of the unit and ring j of the unit so many shifts on."""
    index = np.arange(count)
    later = (shifts[:, 0] > 0) | ((shifts[:, 0] == 0) & (shifts[:, 1] > 0))
    own = (index[:, None] == index[None, :])[None] & later[:, None, None]
    first: Bools = (index[:, None] < index[None, :])[None] | own
    return first


def near_pairs(shape: Shape, layout: Layout, reach: float) -> Pairs:
    """Every pair whose wires' centre lines may come within `reach`, and every wanted link."""
    n = shape.count
    shifts = shifts_within(layout, 2 * float(shape.radii.max()) + reach)
    move, turn = copy_offset(layout.repeat, shifts)
    copies = turned(layout.centres[None, :, :], turn[:, None]) + move[:, None, :]
    apart = copies[:, None, :, :] - layout.centres[None, :, None, :]
    limit = shape.radii[:, None] + shape.radii[None, :] + reach
    close = np.einsum("kijx,kijx->kij", apart, apart) <= limit * limit
    k, i, j = np.nonzero(close & each_once(n, shifts))
    code = encode(i, j, shifts[k], n)
    known = (shape.link_key[:, None] == code).any(axis=1)
    missing = shape.link_order[~known]
    i = np.concatenate([i, shape.link_a[missing]])
    j = np.concatenate([j, shape.link_b[missing]])
    shift = np.concatenate([shifts[k], shape.link_shift[missing]])
    return pairs_at(shape, layout, i, j, shift)


def pairs_at(shape: Shape, layout: Layout, i: Ints, j: Ints, shift: Ints) -> Pairs:
    """The named pairs, placed."""
    code = encode(i, j, shift, shape.count)
    if len(shape.link_key):
        spot = np.minimum(np.searchsorted(shape.link_key, code), len(shape.link_key) - 1)
        wanted = shape.link_key[spot] == code
        link = np.where(wanted, shape.link_order[spot], -1)
    else:
        wanted = np.zeros(len(code), dtype=bool)
        link = np.full(len(code), -1)
    move, turn = copy_offset(layout.repeat, shift)
    centre_j = turned(layout.centres[j], turn) + move
    return Pairs(
        i=i,
        j=j,
        shift=shift,
        wanted=wanted,
        link=link,
        apart=centre_j - layout.centres[i],
        normal_j=turned(layout.normals[j], turn),
        centre_j=centre_j,
    )


def linking(shape: Shape, layout: Layout, pairs: Pairs) -> Ints:
    """Linking number of each pair: 0 unlinked, else +1 or -1; see `link_sign`."""
    i, j = pairs.i, pairs.j
    return link_sign(
        layout.centres[i],
        layout.normals[i],
        shape.radii[i],
        pairs.centre_j,
        pairs.normal_j,
        shape.radii[j],
    )


def touches(shape: Shape, layout: Layout, pairs: Pairs, samples_within: float = -1.0) -> Touches:
    """Local minima of the distance of each pair; with `samples_within` also plain samples.

    Each pair is looked at from both of its circles, since samples on one alone can miss a place.
    Plain samples no farther than the pair's nearest place plus `samples_within` keep nearly
    parallel rings honest, whose nearest place jumps from one side to the other.
    """
    i, j, apart = pairs.i, pairs.j, pairs.apart
    ni, nj, ri, rj = layout.normals[i], pairs.normal_j, shape.radii[i], shape.radii[j]
    both = Circles(
        np.concatenate([-apart, apart]),
        np.concatenate([ni, nj]),
        np.concatenate([nj, ni]),
        np.concatenate([ri, rj]),
        np.concatenate([rj, ri]),
    )
    pair, own, other = near_places(both, shape.samples, samples_within)
    from_i = pair < len(i)
    pair = np.where(from_i, pair, pair - len(i))
    lever_i = np.where(from_i[:, None], own, other)
    lever_j = np.where(from_i[:, None], other, own)
    line = apart[pair] + lever_j - lever_i
    gap = np.linalg.norm(line, axis=1)
    return Touches(pair, gap, line / np.maximum(gap, 1e-12)[:, None], lever_i, lever_j)


def slopes(shape: Shape, layout: Layout, pairs: Pairs, t: Touches) -> Floats:
    """How each gap grows with each variable, shape (touches, variables).

    With e the unit vector between the nearest places: -e at c_i, +e at c_j, -(r_i x e) and
    +(r_j x e) for the turns, shift times e for the repeat; copies are turned back.
    """
    torque_i, torque_j = -cross(t.lever_i, t.along), cross(t.lever_j, t.along)
    return assemble(shape, layout, pairs, t.pair, -t.along, t.along, torque_i, torque_j)


def assemble(
    shape: Shape,
    layout: Layout,
    pairs: Pairs,
    row_pair: Ints,
    push_i: Floats,
    push_j: Floats,
    torque_i: Floats,
    torque_j: Floats,
) -> Floats:
    """Rows of derivatives from forces and torques on the two rings of each row's pair."""
    i, j = pairs.i[row_pair], pairs.j[row_pair]
    bases = np.stack(across(layout.normals), axis=1)
    twist = layout.repeat[1] if shape.dims == 1 else 0.0
    return derivatives(
        shape,
        (i, j, pairs.shift[row_pair].astype(np.float64)),
        (bases[i], bases[j]),
        pairs.centre_j[row_pair],
        np.broadcast_to(twist, len(i)),
        (push_i, push_j, torque_i, torque_j),
    )


def derivatives(
    shape: Shape,
    pairs: tuple[Ints, Ints, Floats],
    bases: tuple[Floats, Floats],
    centre_j: Floats,
    twist: Floats,
    hands: tuple[Floats, Floats, Floats, Floats],
) -> Floats:
    """The same, all given for each row: rings i and j and the shift of j's copy, two vectors across
    each ring's normal (t, 2, 3), the copy's centre, the turn from unit to unit, and the forces on i
    and j, then the torques.
    """
    (i, j, shift), (push_i, push_j, torque_i, torque_j) = pairs, hands
    n = shape.count
    out = np.zeros((len(i), shape.variables))
    # a copy's force acts on its ring turned back by the twist
    turn = shift[:, 0] * twist
    back_push, back_torque = turned(push_j, -turn), turned(torque_j, -turn)
    each = np.arange(len(i))
    for axis in range(3):
        out[each, 3 * i + axis] += push_i[:, axis]
        out[each, 3 * j + axis] += back_push[:, axis]
    for side in range(2):
        out[each, 3 * n + 2 * i + side] += np.einsum("tx,tx->t", torque_i, bases[0][:, side])
        out[each, 3 * n + 2 * j + side] += np.einsum("tx,tx->t", back_torque, bases[1][:, side])
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
