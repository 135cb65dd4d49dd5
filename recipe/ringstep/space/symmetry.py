"""A symmetry imposed on the rings of a chain's unit: some rings are images of others.

A ring's image is its centre and normal times a diagonal matrix of ones and minus ones, moved along
the chain by a share of the unit's length: diag(1, -1, -1) is a half turn about the chain,
diag(1, 1, -1) with half a length a glide mirror. Only the rings that are no images move freely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ringstep.space.cell import Cell, Shift, canonical
from ringstep.space.circles import Layout, Shape, Symmetry
from ringstep.space.near import Floats, across
from ringstep.space.units import twins

_HALF_TURN = (1.0, -1.0, -1.0)
_MIRROR = (1.0, 1.0, -1.0)


def imposed(shape: Shape, layout: Layout) -> Layout:
    """The layout, or several, with every image put where its source says."""
    s = shape.symmetry
    if s is None:
        return layout
    centres = layout.centres[..., s.source, :] * s.matrix
    centres[..., 0] += s.ahead * layout.repeat[..., :1]
    return Layout(centres, layout.normals[..., s.source, :] * s.matrix, layout.repeat)


def spread(shape: Shape, layout: Layout) -> Floats:
    """How moves of the free rings and the repeat move all of them, (variables, free variables).

    A turn w of a source turns its image by det(A) A w. Of several layouts: one axis more.
    """
    s, before = shape.symmetry, layout.centres.shape[:-2]
    if s is None:
        return np.tile(np.eye(shape.variables), (*before, 1, 1))
    n, free = shape.count, s.free
    column = np.zeros(n, dtype=np.int64)
    column[free] = np.arange(len(free))
    repeat = shape.variables - 5 * n
    out = np.zeros((*before, shape.variables, 5 * len(free) + repeat))
    base = np.stack(across(layout.normals), axis=-2)  # (n, 2, 3)
    ring, at = np.arange(n), column[s.source]
    for axis in range(3):
        out[..., 3 * ring + axis, 3 * at + axis] = s.matrix[:, axis]
    over = s.matrix * np.prod(s.matrix, axis=1, keepdims=True)
    turned = base[..., s.source, :, :] * over[:, None, :]
    part = np.einsum("...ax,...bx->...ab", base, turned)
    for a in range(2):
        for b in range(2):
            out[..., 3 * n + 2 * ring + a, 3 * len(free) + 2 * at + b] = part[..., a, b]
    last = np.arange(repeat)
    out[..., 5 * n + last, 5 * len(free) + last] = 1.0
    out[..., 3 * ring, 5 * len(free)] += s.ahead
    return out


def of_twins(cell: Cell) -> Symmetry:
    """Rings that pass through the same others are half-turn images, unless some are linked.

    Where no two rings of such a pair pass through one another, a half turn about the chain takes
    the whole piece into itself.
    """
    n = len(cell.rings)
    source, matrix = np.arange(n), np.ones((n, 3))
    linked = set(cell.pairs())
    groups = twins(cell)
    if not any((a, b, (0,)) in linked for group in groups for a in group for b in group):
        for group in groups:
            for one, other in zip(group[: len(group) // 2], reversed(group), strict=False):
                source[other], matrix[other] = one, _HALF_TURN
    return Symmetry(source, matrix, np.zeros(n))


def with_glide(cell: Cell, base: Symmetry) -> Symmetry | None:
    """The second half of the unit as the first mirrored and moved on; None if links forbid it.

    The rings of the second half must follow in the order of the first.
    """
    n = len(cell.rings)
    half = n // 2
    if n % 2:
        return None

    def moved(ring: int, shift: Shift) -> tuple[int, Shift]:
        return (ring + half, shift) if ring < half else (ring - half, (shift[0] + 1,))

    links = set(cell.pairs())
    for a, b, shift in links:
        (c, one), (d, other) = moved(a, (0,)), moved(b, shift)
        if canonical(c, d, (other[0] - one[0],)) not in links:
            return None
    if any(cell.rings[r].aspect != cell.rings[r + half].aspect for r in range(half)):
        return None
    first = np.arange(n) % half
    if np.any(base.source[first] >= half):
        return None
    matrix = base.matrix[first].copy()
    matrix[half:] *= _MIRROR
    ahead = np.where(np.arange(n) < half, 0.0, 0.5)
    return Symmetry(base.source[first], matrix, ahead)


def mirrored_lays(sides: Sequence[str | None]) -> bool:
    """Is every lay of the first half of the steps the other one in the second half?"""
    half = len(sides) // 2
    pairs = list(zip(sides[:half], sides[half:], strict=False))
    other = {"front": "back", "back": "front", None: None}
    return len(sides) == 2 * half and any(sides) and all(other[a] == b for a, b in pairs)


def under(shape: Shape, symmetry: Symmetry) -> Shape:
    """The shape with a symmetry imposed."""
    return replace(shape, symmetry=symmetry)
