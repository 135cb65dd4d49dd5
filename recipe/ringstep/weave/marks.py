"""Short marks: of a weave by its links and lay, and of the very text of a recipe.

Comes in: a `Weave` or a `Source`. Goes out: a few letters and figures, the same on every machine.
The mark of a weave is that of its endless piece: neither names, order of steps, first unit nor how
many times over a unit is written change it. Every ring is put where it is the mean of those that it
is linked with (the equilibrium placement by which crystal nets are told apart), exactly, in whole
numbers modulo a prime; rings are then told from one another by the ways to their neighbours, those
of their neighbours, and so on.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations
from math import gcd

from ringstep.language.source import Source
from ringstep.weave.net import Net, mirrored, net_of
from ringstep.weave.piece import Weave
from ringstep.weave.repeats import repeating
from ringstep.weave.ring_graph import Repeat, Shift
from ringstep.weave.work import Ring

#: Letters and figures that are not mistaken for one another.
_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_PRIME = (1 << 61) - 1
#: Rounds in which rings are told apart by their neighbours; far more than any unit needs.
_ROUNDS = 12
#: More rings than these in a cycle, or in a piece that does not repeat, get no mark.
MOST_RINGS, MOST_FINITE = 120, 400


@dataclass(frozen=True, slots=True)
class WeaveMark:
    """links: of the links alone; lay, mirror: of the lay and of its mirror image, "" where the
    weave leaves no choice of lay."""

    links: str
    lay: str = ""
    mirror: str = ""

    def __str__(self) -> str:
        return f"{self.links}-{self.lay}" if self.lay else self.links

    @property
    def words(self) -> str:
        """The mark, and that of the mirror image where it is another."""
        if self.lay == self.mirror:
            return str(self)
        return f"{self}, mirror image {self.links}-{self.mirror}"


def _digest(*parts: object) -> str:
    return hashlib.sha256("\x1f".join(map(str, parts)).encode()).hexdigest()


def _short(digest: str, signs: int) -> str:
    """The first signs of a digest, in fours: '7F3K-Q2MX'."""
    number = int(digest[:30], 16)
    found = "".join(_SIGNS[number >> 5 * at & 31] for at in range(signs))
    return "-".join(found[at : at + 4] for at in range(0, signs, 4))


def text_mark(source: Source) -> str:
    """The mark of a text, whatever its line ends; one letter changed, and it is another."""
    return _short(_digest("text", *source.lines), 8)


def weave_mark(weave: Weave) -> WeaveMark | None:
    """The mark of a weave; None where it is too large for one, or places no ring that repeats."""
    weave = repeating(weave)
    repeat = weave.repeat
    if repeat is None:
        links = weave.work.links
        met = {ring: list(others) for ring, others in links.items()}
        return WeaveMark(_short(_finite(met), 8)) if 0 < len(links) <= MOST_FINITE else None
    if not 0 < len(repeat.classes) <= MOST_RINGS:
        return None
    net = cycle_of(repeat)
    links_mark = _short(cycle_digest(repeat), 8)
    if not any(a.owes_lay or a.toward or len(a.stops) > 1 for a in repeat.acts):
        return WeaveMark(links_mark)
    fronts = any(side for side, _, _ in net.lays)
    ways = _ways(net)
    lays = [[*map(str, lies)] for lies in net.lays]
    other = [[*map(str, mirrored(lies, fronts))] for lies in net.lays]
    return WeaveMark(
        links_mark, *(_short(_coloured(net, ways, each, stops=True), 4) for each in (lays, other))
    )


def made_mark(weave: Weave, told: Callable[[str, int], str]) -> str:
    """The mark of a weave in which it counts as well which rings are folded back, and what is told
    of each ring by its role and number; "" where there is none.
    """
    weave = repeating(weave)
    mark, repeat = weave_mark(weave), weave.repeat
    if mark is None:
        return ""
    if repeat is None:
        met = {ring: list(others) for ring, others in weave.work.links.items()}
        words = {ring: told(ring.role, ring.index) for ring in met}
        return f"{mark.links}-{_short(_finite(met, words), 8)}"
    back = {
        repeat.class_of(*ring)
        for act in repeat.acts
        if act.step.kind == "fold back"
        for ring in act.handled
    }
    said = [[told(c.role, c.index), str(c in back)] for c in repeat.classes]
    net = cycle_of(repeat)
    ways = _ways(net)
    if net.flat:
        ways, turns = _angles(net, ways)
        found = _coloured(net, ways, [[*a, *b] for a, b in zip(said, turns, strict=True)])
    else:
        other = [{to: (0, -way[1] % _PRIME) for to, way in each.items()} for each in ways]
        found = min(_coloured(net, ways, said), _coloured(net, other, said))
    lay = min(mark.lay, mark.mirror)
    return "-".join(part for part in (mark.links, lay, _short(found, 8)) if part)


def cycle_of(repeat: Repeat) -> Net:
    """One cycle of a pattern as a net."""
    return net_of(repeat, ((1, 0), (0, 1)), dict.fromkeys(repeat.classes, 0))


def cycle_digest(repeat: Repeat) -> str:
    """What the links of a pattern come to, and into how many pieces it falls; "" where its cycle is
    too long."""
    if len(repeat.classes) > MOST_RINGS:
        return ""
    return _digest(links_digest(cycle_of(repeat)), repeat.strands())


def links_digest(net: Net) -> str:
    """What the links of an endless piece come to, from whichever end it is looked at."""
    ways = _ways(net)
    plain = [[""]] * len(net.near)
    if net.flat:
        return _coloured(net, *_angles(net, ways))
    back = [{to: (0, -way[1] % _PRIME) for to, way in each.items()} for each in ways]
    return min(_coloured(net, ways, plain), _coloured(net, back, plain))


#: For each ring the way to each of its neighbours, in rings of the piece, modulo the prime.
_Ways = list[dict[tuple[int, Shift], Shift]]


def _ways(net: Net) -> _Ways:
    """How far each neighbour stands from a ring, every ring put at the mean of its neighbours."""
    size = len(net.near)
    at = _placed(net)
    return [
        {
            (j, s): (
                (at[j][0] + s[0] - at[i][0]) * size % _PRIME,
                (at[j][1] + s[1] - at[i][1]) * size % _PRIME,
            )
            for j, s in near
        }
        for i, near in enumerate(net.near)
    ]


def _placed(net: Net) -> list[Shift]:
    """The equilibrium placement, one ring of each part that hangs together at nought."""
    size = len(net.near)
    rows = []
    rooted: set[int] = set()
    for start in range(size):
        if start not in rooted:
            part, edge = {start}, [start]
            while edge:
                new = {j for i in edge for j, _ in net.near[i]} - part
                part |= new
                edge = list(new)
            rooted |= part
            rows.append([int(j == start) for j in range(size)] + [0, 0])
            rows += [_balance(net, i) for i in sorted(part - {start})]
    for column in range(size):
        pivot = next((k for k in range(column, size) if rows[k][column]), None)
        if pivot is None:
            return [(0, 0)] * size  # a chance in as many as the prime has values
        rows[column], rows[pivot] = rows[pivot], rows[column]
        inverse = pow(rows[column][column], -1, _PRIME)
        rows[column] = [x * inverse % _PRIME for x in rows[column]]
        for k in range(size):
            if k != column and (times := rows[k][column]):
                rows[k] = [
                    (x - times * y) % _PRIME for x, y in zip(rows[k], rows[column], strict=True)
                ]
    return [(row[-2], row[-1]) for row in rows]


def _balance(net: Net, ring: int) -> list[int]:
    """That a ring stands at the mean of its neighbours, as a row of numbers."""
    row = [0] * len(net.near) + [0, 0]
    for other, (down, along) in net.near[ring]:
        row[ring] += 1
        row[other] -= 1
        row[-2] += down
        row[-1] += along
    return [x % _PRIME for x in row]


def _angles(net: Net, ways: _Ways) -> tuple[_Ways, list[list[str]]]:
    """Of a sheet what no other choice of its rows and units changes: the lengths of the ways, in
    place of these, and of each ring the angles between its ways. Both are measured by the mean of
    all ways of the sheet itself."""
    every = [way for each in ways for way in each.values()]
    over = pow(len(net.near), -1, _PRIME)
    a, b, c = (
        sum(way[x] * way[y] for way in every) * over % _PRIME for x, y in ((0, 0), (0, 1), (1, 1))
    )
    area = (a * c - b * b) % _PRIME
    # A sheet that lacks a direction has no area; then no lengths are told.
    under = pow(area, -1, _PRIME) if area else 0

    def product(one: Shift, other: Shift) -> int:
        return (
            (c * one[0] * other[0] - b * (one[0] * other[1] + one[1] * other[0]))
            + a * one[1] * other[1]
        ) * under % _PRIME  # fmt: skip

    lengths = [{to: (product(way, way), 0) for to, way in each.items()} for each in ways]
    turns = [sorted(str(product(x, y)) for x, y in combinations(each.values(), 2)) for each in ways]
    return lengths, turns


def _coloured(net: Net, ways: _Ways, first: list[list[str]], stops: bool = False) -> str:
    """What the rings of a cycle come to, each told by its neighbours again and again.

    first: what is said of each ring. stops: whether it counts which are gone through at one place.
    """
    colours = [_digest("ring", *words) for words in first]
    for _ in range(_ROUNDS):
        fresh = []
        for i, own in enumerate(colours):
            seen = {to: f"{way[0]},{way[1]},{colours[to[0]]}" for to, way in ways[i].items()}
            places: dict[int, list[str]] = {}
            for to, nth in net.stops[i].items() if stops else ():
                if to in seen:
                    places.setdefault(nth, []).append(seen[to])
            together = sorted(_digest("place", *sorted(each)) for each in places.values())
            fresh.append(_digest(own, *sorted(seen.values()), "|", *together))
        colours = fresh
    return _digest("sheet" if net.flat else "chain", *_shares(colours))


def _shares(colours: Iterable[str]) -> list[str]:
    """Which colours there are, in which shares: a unit written twice over is the same."""
    counts = Counter(colours)
    whole = gcd(*counts.values())
    return [f"{colour}*{n // whole}" for colour, n in sorted(counts.items())]


def _finite(met: dict[Ring, list[Ring]], words: dict[Ring, str] | None = None) -> str:
    """What the rings of a piece that does not repeat come to, each told by how many stand how far
    from it, by what is said of it, and by its neighbours again and again."""
    colours = {
        ring: _digest(*_distances(met, ring), *([words[ring]] if words else [])) for ring in met
    }
    for _ in range(_ROUNDS):
        colours = {
            ring: _digest(colours[ring], *sorted(colours[other] for other in others))
            for ring, others in met.items()
        }
    return _digest("piece", *sorted(colours.values()))


def _distances(met: dict[Ring, list[Ring]], ring: Ring) -> list[int]:
    """How many rings stand one, two, three … links away."""
    seen, edge, found = {ring}, [ring], []
    while edge:
        beyond = {other for one in edge for other in met[one]} - seen
        seen |= beyond
        edge = list(beyond)
        found.append(len(edge))
    return found
