"""Where the random search begins: evenly spread layouts, twins side by side, and small kicks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringstep.space.circles import Layout, Shape


def spread_out(shape: Shape, rng: np.random.Generator) -> Layout:
    """Each ring amid those it is linked with, on a random repeat; normals at random.

    Places are where springs along the links would pull them; the repeat is scaled so that linked
    rings lie about one radius apart.
    """
    n, dims = shape.count, shape.dims
    laplace = np.zeros((n, n))
    pull = np.zeros((n, 2))
    for a, b, k in zip(shape.link_a, shape.link_b, shape.link_shift, strict=True):
        laplace[a, a] += 1
        laplace[b, b] += 1
        laplace[a, b] -= 1
        laplace[b, a] -= 1
        pull[a] += k
        pull[b] -= k
    place = np.linalg.lstsq(laplace, pull, rcond=None)[0][:, :dims]
    steps = (place[shape.link_b] - place[shape.link_a] + shape.link_shift[:, :dims])[:, :dims]
    centres = rng.normal(size=(n, 3)) * 0.25
    if dims == 2:
        spread = steps.T @ steps / len(steps) + 1e-9 * np.eye(2)
        # the most even repeat: its metric is the inverse of how links spread over it
        root = np.linalg.cholesky(np.linalg.inv(spread)).T * np.sqrt(0.5) * rng.uniform(0.8, 1.2)
        skew = rng.normal(size=3) * 0.1
        a, b, c = root[0, 0] * (1 + skew[0]), root[0, 1] + skew[1], root[1, 1] * (1 + skew[2])
        repeat = np.array([max(a, 0.5), b, max(c, 0.5)])
        centres[:, 0] += place[:, 0] * repeat[0] + place[:, 1] * repeat[1]
        centres[:, 1] += place[:, 1] * repeat[2]
    else:
        repeat = np.zeros(0)
        centres *= 2
    normals = rng.normal(size=(n, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Layout(centres, normals, repeat)


def side_by_side(
    shape: Shape, single: Layout, group_of: Sequence[int], rng: np.random.Generator
) -> Layout:
    """A start with twins side by side where `single`, a layout of `merged`, has one ring."""
    groups = np.array(group_of)
    normals = single.normals[groups] + rng.normal(size=(shape.count, 3)) * 0.02
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    place = np.zeros(shape.count)
    for group in range(len(single.centres)):
        mine = np.nonzero(groups == group)[0]
        place[mine] = 0.08 * (np.arange(len(mine)) - (len(mine) - 1) / 2)
    centres = single.centres[groups] + place[:, None] * single.normals[groups]
    return Layout(centres, normals, single.repeat.copy())


def kicked(shape: Shape, layout: Layout, rng: np.random.Generator, size: float) -> Layout:
    """The layout after small random moves of every ring and of the repeat."""
    centres = layout.centres + rng.normal(size=layout.centres.shape) * size
    normals = layout.normals + rng.normal(size=layout.normals.shape) * size
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    repeat = layout.repeat.copy()
    if shape.dims == 1:
        repeat[0] *= 1 + rng.normal() * size * 0.5
        if shape.twist:
            repeat[1] += rng.normal() * size
    elif shape.dims == 2:
        repeat = repeat + rng.normal(size=3) * size * 0.5
    return Layout(centres, normals, repeat)
