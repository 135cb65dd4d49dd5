"""How the rings lie while a piece grows: hanging, folded back, shown, locked, spread, tied, held.

Comes in: a `Weave`. Goes out: `Lying`, how every ring lies when the work ends, and a `Slip` for
each move that is made twice, shows nothing, comes too late or seems to be forgotten. A ring placed
through others *hangs* on them. Folded back it is *folded*; *shown* once something it hangs on was
spread; *locked* once another ring went through it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from ringstep.language.syntax import Block, Hand
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

Way = Literal["hangs", "folded", "shown", "locked"]
Move = Literal["fold back", "spread"]
SlipKind = Literal[
    "folded already", "spread already", "shows nothing", "not shown", "forgotten", "other side"
]
#: Steps that bind rings, and the steps that undo them.
UNDOES = {"untie": "tie", "let go": "hold"}
#: Steps that change how rings lie, or bind them.
_LYING = frozenset({"fold back", "spread", *UNDOES, *UNDOES.values()})


@dataclass(frozen=True)
class Slip:
    """A move too many, too late, or forgotten.

    act: where it is met first. rings: those it leaves lying otherwise than they should.
    move, where: for a forgotten one, its kind, and the section in which it is missing.
    """

    kind: SlipKind
    act: Act
    rings: tuple[Ring, ...]
    move: Move | None = None
    where: Block | None = None


@dataclass(frozen=True)
class Lying:
    """How the rings of a weave lie when the work ends.

    ways: of every ring that does not simply hang. hangs_on: what each ring was placed through.
    bound: ties and holds never undone. unbound: the acts that undo what was not done.
    """

    weave: Weave
    ways: dict[Ring, Way]
    hangs_on: dict[Ring, list[Ring]]
    bound: tuple[Act, ...]
    unbound: tuple[Act, ...]
    slips: tuple[Slip, ...]


@dataclass(frozen=True)
class _Sight:
    """One act as it found its rings.

    lies: each ring it goes through or moves, whether it is folded and whether it is spread;
    folded only of rings that hang on something. odd: what is wrong, with the rings that lie
    otherwise than they should; fine: the rings that lie as they should.
    """

    act: Act
    lies: dict[Ring, tuple[bool | None, bool]]
    odd: SlipKind | None = None
    rings: tuple[Ring, ...] = ()
    fine: tuple[Ring, ...] = ()


@dataclass
class _Hand:
    """The work in hand, followed act by act. folding: the roles that the recipe folds."""

    folding: frozenset[str]
    ways: dict[Ring, Way] = field(default_factory=dict)
    spread: set[Ring] = field(default_factory=set)
    hangs_on: dict[Ring, list[Ring]] = field(default_factory=lambda: defaultdict(list))
    hanging: dict[Ring, list[Ring]] = field(default_factory=lambda: defaultdict(list))
    toward: dict[Ring, Hand] = field(default_factory=dict)
    bound: dict[tuple[str, Ring], Act] = field(default_factory=dict)
    unbound: list[Act] = field(default_factory=list)

    def way(self, ring: Ring) -> Way:
        return self.ways.get(ring, "hangs")

    def see(self, act: Act) -> _Sight:
        """What an act finds, and what it changes."""
        lies = {
            r: (self.way(r) != "hangs" if self.hangs_on.get(r) else None, r in self.spread)
            for r in (*act.through, *act.handled)
        }
        odd: SlipKind | None = None
        rings: tuple[Ring, ...] = ()
        fine: tuple[Ring, ...] = ()
        kind = act.step.kind
        if kind == "fold back":
            rings = tuple(r for r in act.handled if self.way(r) != "hangs")
            odd = "folded already" if rings else None
            if not rings and (rings := self._other_side(act)):
                odd = "other side"
            self.ways.update(dict.fromkeys(act.handled, "folded"))
        elif kind == "spread" and act.handled:
            odd, rings, fine = self._spread(act)
        elif kind == "tighten":
            self.spread -= set(act.handled or self.spread)
        elif kind == "take out":
            for bind in UNDOES.values():
                self._unbind(bind, act)
        elif kind in UNDOES.values():
            self.bound.update({(kind, r): act for r in act.handled})
        elif kind in UNDOES and not self._unbind(UNDOES[kind], act):
            self.unbound.append(act)
        self.toward.update(zip(act.new, act.toward, strict=False))  # none where no side is said
        if act.through:
            fine = tuple(r for r in act.through if self.way(r) == "shown")
            rings = tuple(r for r in act.through if self.way(r) == "folded")
            if rings and act.block.kind != "finish":
                odd = "not shown"
            self.ways.update(dict.fromkeys((*fine, *rings), "locked"))
            for ring in act.movers:
                self.hangs_on[ring] += act.through
                for other in act.through:
                    self.hanging[other].append(ring)
        return _Sight(act, lies, odd, rings if odd else (), fine)

    def _other_side(self, act: Act) -> tuple[Ring, ...]:
        """Rings that were laid to another side than they are folded to."""
        said = act.step.toward
        if said is not None and said.value == "each side":
            sides = {self.toward.get(r) for r in act.handled}
            return act.handled if len(act.handled) > 1 and sides in ({"left"}, {"right"}) else ()
        pairs = zip(act.handled, act.toward, strict=False)
        return tuple(r for r, hand in pairs if self.toward.get(r, hand) != hand)

    def _spread(self, act: Act) -> tuple[SlipKind | None, tuple[Ring, ...], tuple[Ring, ...]]:
        already = all(r in self.spread for r in act.handled)
        self.spread.update(act.handled)
        hanging = tuple(dict.fromkeys(x for r in act.handled for x in self.hanging.get(r, ())))
        shown = tuple(r for r in hanging if self.way(r) == "folded")
        self.ways.update(dict.fromkeys(shown, "shown"))
        if already:
            return "spread already", act.handled, ()
        if not shown and self.folding:
            idle = tuple(r for r in hanging if self.way(r) == "hangs" and r.role in self.folding)
            return "shows nothing", idle or hanging or act.handled, ()
        return None, (), shown

    def _unbind(self, kind: str, act: Act) -> bool:
        ends = [self.bound.pop((kind, r), None) for r in act.handled]
        return any(begun is not None for begun in ends)


def follow(weave: Weave) -> Lying:
    """Follow how the rings lie from the first act to the last."""
    acts = weave.work.acts
    if not {s.kind for s in weave.recipe.steps()} & _LYING:
        return Lying(weave, {}, {}, (), (), ())  # every ring simply hangs
    folds = (s for s in weave.recipe.steps() if s.kind == "fold back")
    hand = _Hand(frozenset(ref.name.role for step in folds for ref in step.refs))
    sights = []
    begun: dict[str, tuple[dict[Ring, Way], set[Ring]]] = {}
    strands = weave.work.layout.strands
    for act in (a for a in acts if not a.skipped):
        name = strands.name_of(act.unit) if strands else ""
        if name and name not in begun:
            # Every strand finds the start as it was left when the first of them was begun.
            ways, spread = next(iter(begun.values()), (dict(hand.ways), set(hand.spread)))
            begun[name] = dict(ways), set(spread)
            hand.ways.update(ways)
            hand.spread = set(spread)
        sights.append(hand.see(act))
    still = tuple(dict.fromkeys(hand.bound.values()))
    turn = {id(act): at for at, act in enumerate(acts)}
    found = sorted(_slips(weave, sights), key=lambda s: turn[id(s.act)])
    return Lying(
        weave, hand.ways, dict(hand.hangs_on), still, tuple(hand.unbound), tuple(_once(found))
    )


def _once(slips: list[Slip]) -> Iterator[Slip]:
    """The slips without those that follow from one told before, about the same rings."""
    told: set[Ring] = set()
    for slip in slips:
        if told.isdisjoint(slip.rings):
            yield slip
        told.update(slip.rings)


def _alike(sights: list[_Sight]) -> dict[tuple[object, ...], list[_Sight]]:
    """Sights of the same step at one place after the other; units written out count as one."""
    groups: dict[tuple[object, ...], list[_Sight]] = defaultdict(list)
    nth: dict[tuple[object, ...], int] = defaultdict(int)
    for sight in sights:
        act, step = sight.act, sight.act.step
        label = None if isinstance(act.block.label, int) else act.block.label
        new = tuple((r.role, r.index) for r in act.new)
        lists = tuple(map(str, (*step.refs, *step.through)))
        key = (act.block.kind, label, step.kind, new, lists)
        nth[key, act.row, act.unit] += 1
        groups[*key, nth[key, act.row, act.unit]].append(sight)
    return groups


def _slips(weave: Weave, sights: list[_Sight]) -> Iterator[Slip]:
    for group in _alike(sights).values():
        odd = [s for s in group if s.odd]
        if odd:
            yield from _odd(weave, odd, [s for s in group if not s.odd])
        elif group[0].act.block.kind == "unit":
            yield from _otherwise(weave, group)


def _odd(weave: Weave, odd: list[_Sight], fine: list[_Sight]) -> Iterator[Slip]:
    """What is wrong with a step: everywhere, or only where start or unit forgot a move."""
    first = odd[0]
    assert first.odd is not None
    rings = tuple(dict.fromkeys(r for s in odd for r in s.rings))
    well = tuple(dict.fromkeys(r for s in fine for r in s.fine))
    if first.odd in ("shows nothing", "not shown") and well:
        at_start = {_of_start(weave, r) for r in rings}, {_of_start(weave, r) for r in well}
        if at_start in (({True}, {False}), ({False}, {True})):
            move: Move = "fold back" if first.odd == "shows nothing" else "spread"
            yield Slip("forgotten", first.act, rings, move, _home(weave, rings[0]))
            return
    yield Slip(first.odd, first.act, rings)


def _otherwise(weave: Weave, group: list[_Sight]) -> Iterator[Slip]:
    """A step of the unit that finds the rings of the start lying otherwise than later ones."""
    layout = weave.work.layout
    seen: dict[tuple[object, ...], dict[bool, dict[Ring, tuple[bool | None, bool]]]] = {}
    for sight in group:
        for ring, lies in sight.lies.items():
            key = (ring.role, ring.index, layout.apart(sight.act.unit, ring.unit))
            by_home = seen.setdefault(key, {True: {}, False: {}})
            by_home[_of_start(weave, ring)][ring] = lies
    moves: tuple[Move, Move] = ("fold back", "spread")
    found: dict[tuple[Move, str], list[Ring]] = {}
    for by_home in seen.values():
        for at, move in enumerate(moves):
            begin, later = ({lies[at] for lies in by_home[home].values()} for home in (True, False))
            if (begin, later) in (({False}, {True}), ({True}, {False})):
                lacking = by_home[begin == {False}]
                found.setdefault((move, next(iter(lacking)).role), []).extend(lacking)
    for (move, _), rings in found.items():
        act = next(s.act for s in group if rings[0] in s.lies)
        yield Slip("forgotten", act, tuple(rings), move, _home(weave, rings[0]))


def _home(weave: Weave, ring: Ring) -> Block:
    return weave.work.acts[weave.work.placed_by[ring]].block


def _of_start(weave: Weave, ring: Ring) -> bool:
    return _home(weave, ring).kind == "start"
