"""Units (or rows) in stretches: as long as the same blocks take turns, one stretch.

Comes in: blocks that take turns, and how many places they fill. Goes out: the `Stretch`es, one
behind the other.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from ringstep.language.syntax import Block


@dataclass(frozen=True)
class Stretch:
    """Units (or rows) one behind the other, in which the same blocks take turns.

    blocks: one round of turns; none for the units of a row, which all work the block of the row.
    first: the number of its first place in the piece; count: how many places are laid out.
    turn: which of the blocks stands first. goes_round: True where the blocks repeat, so that the
    stretch has an endless pattern. fixed: True for a place with a section of its
    own number that follows its siblings.
    cut: how many places of the piece are left out behind place `behind` (from 0), which the
    `cycle` places before that stand for. strand: the name of the strand it is; "" of none.
    """

    blocks: tuple[Block, ...]
    first: int
    count: int
    turn: int = 0
    goes_round: bool = True
    fixed: bool = False
    cut: int = 0
    behind: int = 0
    cycle: int = 1
    strand: str = ""

    def __hash__(self) -> int:
        """Of its place alone: it is looked up for every ring, and its blocks hold every step."""
        return hash((self.first, self.count, self.turn, self.strand))

    def block(self, at: int) -> Block | None:
        """The block of its place `at`, counted from 0."""
        return self.blocks[(self.turn + at) % len(self.blocks)] if self.blocks else None

    def number(self, at: int) -> int:
        """The number in the whole piece of its place `at`."""
        return self.first + at + (self.cut if at >= self.behind else 0)

    def stands_for(self, at: int) -> int:
        """How many places of the piece its place `at` stands for."""
        inner = self.cut and self.behind - self.cycle <= at < self.behind
        return 1 + self.cut // self.cycle if inner else 1

    def numbers(self, at: int) -> range:
        """The numbers of all the places of the piece that its place `at` stands for."""
        number = self.number(at)
        return range(number, number + self.cut * (self.stands_for(at) > 1) + 1, self.cycle)

    def shortened(self, lead: int, cycle: int, tail: int, step: int = 1) -> Stretch:
        """The stretch with whole cycles left out, `lead` and `tail` places and a cycle kept.

        step: so many cycles are left out at a time.
        """
        room, leap = lead + cycle + tail, cycle * step
        cut = (self.count - room) // leap * leap if self.count > room + leap else 0
        if not cut or not self.goes_round:
            return self
        behind = lead + cycle
        return replace(self, count=self.count - cut, cut=cut, behind=behind, cycle=cycle)


def stretches(
    blocks: tuple[Block, ...], places: int, first: int = 1, fixed: dict[int, Block] | None = None
) -> tuple[Stretch, ...]:
    """Places from number `first` on, filled by blocks that take turns; `fixed` ones stand aside.

    A list with unequal runs that comes out even with the piece is a plan of it, worked once.
    """
    if len(blocks) == places and is_plan(blocks):
        return in_runs([(block, 1) for block in blocks], first, fixed)
    whole = Stretch(blocks, first, places, goes_round=bool(blocks))
    return tuple(_around([whole] if places else [], fixed or {}))


def in_runs(
    runs: Iterable[tuple[Block, int]], first: int = 1, fixed: dict[int, Block] | None = None
) -> tuple[Stretch, ...]:
    """Runs of one block each, worked one after the other: each is a stretch."""
    found, at = [], first
    for block, same in groupby(runs, lambda run: run[0]):
        if count := sum(count for _, count in same):
            found.append(Stretch((block,), at, count, goes_round=count > 1))
            at += count
    return tuple(_around(found, fixed or {}))


def is_plan(blocks: tuple[Block, ...]) -> bool:
    """True for a list of turns with unequal runs, such as twelve of one block, one of another."""
    runs = [(block, len(list(same))) for block, same in groupby(blocks)]
    often = Counter(str(block) for block, _ in runs)
    return len({count for _, count in runs}) > 1 or len(set(often.values())) > 1


def _around(whole: Iterable[Stretch], fixed: dict[int, Block]) -> Iterator[Stretch]:
    """Stretches with the places taken out that have a section of their own number."""
    for stretch in whole:
        start, end = stretch.first, stretch.first + stretch.count
        for number in sorted(n for n in fixed if start <= n < end):
            if number > start:
                yield _part(stretch, start, number)
            block = fixed[number]
            if block.differs == "also":
                yield replace(_part(stretch, number, number + 1), goes_round=False, fixed=True)
            else:
                own = block.differs == "instead"
                yield Stretch((block,), number, 1, goes_round=False, fixed=not own)
            start = number + 1
        if start < end:
            yield _part(stretch, start, end) if start > stretch.first else stretch


def _part(stretch: Stretch, start: int, end: int) -> Stretch:
    turn = (stretch.turn + start - stretch.first) % (len(stretch.blocks) or 1)
    return replace(stretch, first=start, count=end - start, turn=turn)


def spot(stretches: tuple[Stretch, ...], begins: list[int], at: int) -> tuple[Stretch, int] | None:
    """The stretch in which a place stands, counted from 1, and where in it; None for no place.

    begins: the first place of each stretch, and the one behind the last.
    """
    if not 1 <= at < begins[-1]:
        return None
    which = bisect_right(begins, at) - 1
    return stretches[which], at - begins[which]
