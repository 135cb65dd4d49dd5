"""Where to begin: layouts built from the steps, evenly spread ones, random ones, and small kicks.

Built from the steps (chains): every ring's plane goes through the chain's axis x, with one roll
per group of rings that lie together. Two such rings of different roll are linked just when their
chords on the axis interleave, and the sign of the link is that of the order along the axis times
that of the sine between the rolls. So the order of placing fixes the signs; a fold reverses it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringstep.space.cell import Cell
from ringstep.space.circles import Floats, Ints, Layout, Shape
from ringstep.space.lays import Term
from ringstep.space.linear import solve
from ringstep.space.units import twins


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """Groups along the axis, from the steps."""

    groups: tuple[tuple[int, ...], ...]
    place: Floats  # (groups,) along the axis
    roll: Floats  # (groups,) radians
    length: float
    margin: float  # how safely the links hold in the plan; below 0 it does not work out


@dataclass(frozen=True, slots=True)
class GroupLink:
    """Group a of a unit and group b of the unit `shift` on; `ahead` says b lies further along."""

    a: int
    b: int
    shift: int
    ahead: bool


def two_coloured(cell: Cell) -> bool:
    """Can two rolls serve, so that linked groups always differ?"""
    groups = twins(cell)
    return max(_colours(groups, cell)) <= 1


def _colours(groups: tuple[tuple[int, ...], ...], cell: Cell) -> list[int]:
    of = {ring: g for g, group in enumerate(groups) for ring in group}
    around: list[set[int]] = [set() for _ in groups]
    for link in cell.links:
        a, b = of[link.a], of[link.b]
        if a != b:
            around[a].add(b)
            around[b].add(a)
    colour = [-1] * len(groups)
    for first in range(len(groups)):
        if colour[first] >= 0:
            continue
        colour[first] = 0
        queue = deque([first])
        while queue:
            g = queue.popleft()
            for h in sorted(around[g]):
                if colour[h] < 0:
                    used = {colour[k] for k in around[h]}
                    colour[h] = min(c for c in range(len(groups) + 1) if c not in used)
                    queue.append(h)
    return colour


def group_links(cell: Cell, groups: tuple[tuple[int, ...], ...]) -> tuple[GroupLink, ...]:
    """Links between groups with their order along the chain: the later placed is ahead.

    A group folded back is behind the one it is folded past.
    """
    of = {ring: g for g, group in enumerate(groups) for ring in group}
    placed = {ring: number for number, step in enumerate(cell.steps) for ring in step.new}
    order = [min(placed.get(r, r) for r in group) for group in groups]
    behind: set[tuple[int, int, int]] = set()
    for folded, other, shift in folds(cell):
        behind.add((of[folded], of[other], shift))
    out: dict[tuple[int, int, int], GroupLink] = {}
    for link in cell.links:
        a, b, k = of[link.a], of[link.b], link.shift[0] if link.shift else 0
        if a > b or (a == b and k < 0):
            a, b, k = b, a, -k
        if a == b and k == 0:
            continue
        ahead = k > 0 or (k == 0 and order[b] > order[a])
        if (b, a, -k) in behind or (a, b, k) in behind:
            ahead = not ahead
        out[a, b, k] = GroupLink(a, b, k, ahead)
    return tuple(out[key] for key in sorted(out))


def folds(cell: Cell) -> tuple[tuple[int, int, int], ...]:
    """(folded ring, ring it is folded back past, shift of that ring), from the steps.

    A folded ring goes back past the latest ring it was put through.
    """
    if cell.dims != 1:
        return ()
    placed = {ring: number for number, step in enumerate(cell.steps) for ring in step.new}
    out = []
    for number, step in enumerate(cell.steps):
        for ring in step.fold:
            own = [s for s in cell.steps[: number + 1] if ring in s.new]
            if not own or not own[-1].through:
                continue
            latest = max(own[-1].through, key=lambda t: (t[1][0], placed.get(t[0], -1)))
            out.append((ring, latest[0], latest[1][0]))
    return tuple(out)


def plan(cell: Cell, margin: float | None = None) -> Plan | None:
    """Places and rolls of a chain's groups, by a small linear programme for the safest margin.

    With a `margin`, that is kept instead and the unit made as short as it allows.
    """
    if cell.dims != 1:
        return None
    groups = twins(cell)
    unit = max(ring.mean_radius for ring in cell.rings)
    radius = [cell.rings[group[0]].mean_radius / unit for group in groups]
    colour = _colours(groups, cell)
    count = max(colour) + 1
    links = group_links(cell, groups)
    joined = {(link.a, link.b, link.shift) for link in links}
    size = len(groups) + 2  # places, length, margin
    rows: list[Floats] = []
    limits: list[float] = []

    def between(a: int, b: int, shift: int, least: float, most: float | None, way: int) -> None:
        row = np.zeros(size)
        row[b] += way
        row[a] -= way
        row[-2] = way * shift
        low = -row
        low[-1] = 1.0
        rows.append(low)
        limits.append(-least)
        if most is not None:
            row[-1] = 1.0
            rows.append(row)
            limits.append(most)

    for link in links:
        way = 1 if link.ahead else -1
        gap, reach = abs(radius[link.a] - radius[link.b]), radius[link.a] + radius[link.b]
        between(link.a, link.b, link.shift, gap, reach, way)
    for a in range(len(groups)):
        for b in range(a, len(groups)):
            for shift in range(-3, 4):
                if (a, b, shift) in joined or (a == b and shift <= 0) or colour[a] == colour[b]:
                    continue
                way = 1 if (shift, b) > (0, a) else -1
                between(a, b, shift, radius[a] + radius[b], None, way)
    box = np.concatenate([np.eye(size), -np.eye(size)])
    top = np.full(2 * size, 20.0)
    top[size - 1] = 1.0
    top[2 * size - 2] = -0.2  # the length is at least this
    cost = np.zeros(size)
    if margin is None:
        cost[-1] = -1.0
    else:
        cost[-2] = 1.0
        top[size - 1], top[2 * size - 1] = margin + 1e-6, -margin
    answer = solve(cost, np.vstack([*rows, box]), np.concatenate([limits, top]))
    if answer is None:
        return None
    place = answer[:-2] - answer[:-2].mean()
    roll = np.array(colour) * np.pi / max(count, 2)
    return Plan(groups, place, roll, float(answer[-2]), float(answer[-1]))


def from_plan(
    shape: Shape,
    made: Plan,
    rng: np.random.Generator,
    loose: float,
    turn: float = 0.0,
    leans: Sequence[int] = (),
) -> Layout:
    """A start from the plan.

    `loose` 0 keeps groups on the axis; up to 1 shakes them more and lets them sit off it.
    `turn` is the twist of a unit, radians. `leans` +1 or -1 says to which side each group's rings
    lean; where it is empty leans are drawn at random.
    """
    n = shape.count
    centres, normals = np.zeros((n, 3)), np.zeros((n, 3))
    along = np.array([1.0, 0.0, 0.0])
    mutual = {
        (a, b)
        for a, b, shift in shape.cell.pairs()
        if not any(shift) and any(a in g and b in g for g in made.groups)
    }
    back = {ring for ring, _, _ in folds(shape.cell)}
    seats = _seats(made, rng) if loose > 0 else np.zeros(len(made.groups))
    for g, group in enumerate(made.groups):
        normal = np.array([0.0, -np.sin(made.roll[g]), np.cos(made.roll[g])])
        other = np.cross(normal, along)
        seat = seats[g]
        lean = np.array([0.25 * leans[g], 0.0]) if leans else rng.normal(size=2) * 0.25
        spread = np.linspace(-1, 1, len(group)) if len(group) > 1 else np.zeros(1)
        # a pair folded back lies outside the pair it comes to lie beside
        half = rng.choice([0.35, 0.5] if group[0] in back else [0.15, 0.25])
        spread = spread * min(half * (len(group) - 1), 0.5)
        crossed = any((a, b) in mutual for a in group for b in group)
        for off, ring in zip(spread, group, strict=True):
            # the partner in a pair is the image under half a turn about the axis
            side = np.sign(off) if len(group) == 2 else 1.0
            tilt = side * lean[0] * along + lean[1] * other
            if crossed:
                # two rings that also link: crossed about an axis they are shifted along
                tilt = tilt + 1.6 * off * other
            centre = made.place[g] * along + (seat + (0.2 if crossed else 1.0) * off) * normal
            if crossed:
                centre = centre + off * along * rng.choice([-0.5, 0.5])
            centres[ring] = centre
            normals[ring] = normal + tilt
    centres += rng.normal(size=(n, 3)) * loose * 0.1
    normals += rng.normal(size=(n, 3)) * loose * 0.2
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return Layout(centres, normals, np.array([made.length, turn]))


def _seats(made: Plan, rng: np.random.Generator) -> Floats:
    """How far off the axis each group sits: not at all, anyhow, or to the two sides in turn."""
    count = len(made.groups)
    way = rng.integers(3)
    if way == 0:
        return np.zeros(count)
    if way == 1:
        return rng.choice([0.0, 0.43, -0.43], size=count)
    rolls = sorted(set(made.roll.tolist()))
    side = dict(zip(rolls, rng.choice([0.43, -0.43], size=len(rolls)), strict=True))
    out = np.zeros(count)
    for g in np.argsort(made.place):
        roll = float(made.roll[g])
        out[g] = side[roll]
        side[roll] = -side[roll]
    return out


def plan_signs(shape: Shape, made: Plan, terms: Sequence[Term], turn: float = 0.0) -> Ints:
    """The signs of the links a plan aims at; 0 where neither plan nor stated lay says."""
    of = {ring: g for g, group in enumerate(made.groups) for ring in group}
    ahead = {(k.a, k.b, k.shift): k.ahead for k in group_links(shape.cell, made.groups)}
    signs = np.zeros(len(shape.link_a), dtype=np.int64)
    for index, (ring_a, ring_b, move) in enumerate(shape.cell.pairs()):
        a, b, shift = of[ring_a], of[ring_b], move[0]
        if a == b:
            signs[index] = shape.cell.links[index].sign
            continue
        if a > b:
            a, b, shift = b, a, -shift
        way = 1 if ahead[a, b, shift] else -1
        # (n_a x n_b) . x for planes rolled by these angles about x, times the way along x
        sine = np.sin(made.roll[b] + shift * turn - made.roll[a])
        signs[index] = way * int(np.sign(np.round(sine, 9)))
    for links, want in terms:
        open_links = [link for link in links if signs[link] == 0]
        if len(open_links) == 1:
            signs[open_links[0]] = want * int(np.prod([signs[k] for k in links if signs[k]]))
    return signs


def spread_out(shape: Shape, rng: np.random.Generator, turn: float = 0.0) -> Layout:
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
    if dims == 1:
        typical = max(float(np.sqrt((steps**2).mean())), 1e-6)
        length = float(np.clip(rng.uniform(0.6, 1.3) / typical, 0.4, 30.0))
        twist = rng.uniform(-np.pi, np.pi) if shape.twist else turn
        repeat = np.array([length, twist])
        centres[:, 0] += place[:, 0] * length
    elif dims == 2:
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
