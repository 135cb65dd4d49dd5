"""What a finished piece shows when one ring was missed, and which step it points to.

Comes in: a checked `View`. Goes out: `Mistake`s. Each item of each list is dropped in turn, and the
links that are gone are taken away at one place only, since a hand slips once; what is then off on
the finished rings is what a student can count. Where two or three different steps would leave the
same trace, all are named; where more would, nothing is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from ringstep.checks.view import View
from ringstep.language.syntax import OPENING, Block, Ref, Step
from ringstep.language.words import listed, plural
from ringstep.paper.sentences import Speaker
from ringstep.weave.phrases import number_word
from ringstep.weave.work import Act, Ring, Work

MOST = 8
#: A trace that more steps than this may have left points nowhere.
_MOST_STEPS = 3


@dataclass(frozen=True, slots=True)
class Mistake:
    """see: what is counted or seen on the piece; cause: the step it points to, what it missed."""

    see: str
    cause: str


#: What is off: (role, the right number, the number there is), with how many rings show it.
_Trace = frozenset[tuple[tuple[str, int, int], int]]


@dataclass(frozen=True, slots=True)
class _Slip:
    """One way to miss something.

    by: which ring of the step missed it, "" for all; missed: what, in words.
    rank: 0 where a whole list item is missed, 1 where only some of its rings or by some rings.
    """

    act: Act
    trace: _Trace
    by: str
    missed: str
    rank: int


def mistakes(view: View) -> tuple[Mistake, ...]:
    """The misses that leave a trace, at most `MOST`, the most general and the surest first."""
    work = view.weave.work
    by_trace: dict[tuple[str, _Trace], list[_Slip]] = {}
    for slip in _all_slips(view):
        kind = slip.act.block.kind
        end = str(kind) if kind in ("start", "finish") else ""
        by_trace.setdefault((end, slip.trace), []).append(slip)
    found: list[tuple[tuple[int, ...], Mistake]] = []
    several = _of_several_numbers(view) if work.layout.rounds else frozenset()
    for (end, trace), slips in by_trace.items():
        if any(role in several for (role, _, _), _ in trace):
            continue  # what is one too few in one place is right in another
        numbers = {s.act.step.number for s in slips}
        places: dict[tuple[object, ...], set[int]] = {}
        for slip in slips:
            places.setdefault(_position(slip.act), set()).add(slip.act.step.number)
        if len(places) > _MOST_STEPS:
            continue
        written = not end and work.layout.written > 2 and not work.layout.repeats
        if written and len(numbers) == 1:
            continue  # the first and the last unit have their own numbers; the others say it all
        order = (2 * bool(end) + min(s.rank for s in slips), len(places), min(numbers), len(found))
        cause = _cause(slips) if len(places) == 1 else _causes(list(places.values()))
        found.append((order, Mistake(_seen(view, trace, end), cause)))
    told = [m for _, m in sorted(found, key=lambda f: f[0])]
    unseen = _unseen(work)
    return (*told[: MOST - len(unseen)], *unseen)


def _of_several_numbers(view: View) -> frozenset[str]:
    """The roles whose finished rings do not all pass through as many rings."""
    totals: dict[str, set[int]] = {}
    for role, _, met in view.weave.neighbourhoods:
        totals.setdefault(role, set()).add(met.total())
    return frozenset(role for role, each in totals.items() if len(each) > 1)


def every_slip_falls_off(view: View) -> bool:
    """True where a ring that misses anything has nothing to hold it, so that every slip shows."""
    linking = any(s.kind in OPENING and s.through for s in view.recipe.every_step())
    return linking and not any(True for _ in _all_slips(view))


def _position(act: Act) -> tuple[object, ...]:
    """The step, or in written-out units what such a step of every unit has in common."""
    if act.block.kind == "unit" and isinstance(act.block.label, int):
        return (tuple(str(i.name) for i in act.step.new), tuple(map(str, act.step.through)))
    return (act.step.number,)


# -- slips and their traces ----------------------------------------------------------------------


def _all_slips(view: View) -> Iterator[_Slip]:
    """The slips of one whole act for each step, of the steady part where it has one there."""
    repeat, speaker = view.weave.repeat, Speaker(view)
    whole: dict[int, list[int]] = {}
    for number, act in enumerate(view.weave.work.acts):
        if act.last and not act.dropped and not act.skipped and act.step.kind in OPENING:
            whole.setdefault(act.step.number, []).append(number)

    def steady(number: int) -> bool:
        act = view.weave.work.acts[number]
        return repeat is not None and all(
            low <= at < low + cycle
            for at, low, cycle in zip((act.row, act.unit), repeat.origin, repeat.cycle, strict=True)
        )

    for numbers in whole.values():
        yield from _slips(view, speaker, next(filter(steady, numbers), numbers[0]))


def _slips(view: View, speaker: Speaker, number: int) -> Iterator[_Slip]:
    work = view.weave.work
    act = work.acts[number]
    named = [act.named_by(ref, work.layout) for ref in act.step.through]
    often = Counter(ring for rings in named for ring in rings)
    for ref, rings in zip(act.step.through, named, strict=True):
        gone = [
            (ring, other)
            for ring in act.movers
            for other in rings
            if often[other] == 1  # what another item names is not missed
            and work.links.get(ring, {}).get(other) == number
        ]
        targets = len({other for _, other in gone})
        told: dict[tuple[_Trace, bool, bool], None] = {}
        for hands, some, lost in _ways(act.movers, targets > 1, gone):
            if lost and not _drops_off(work, number, hands, lost):
                trace = _trace(view, lost)
                if trace is not None:
                    told[(trace, len(hands) < len(act.movers), some)] = None
        for trace, one, some in told:
            by = _one_of(view, act.movers) if one else ""
            words = _missed(speaker, act, ref, 1 if some else targets, targets)
            yield _Slip(act, trace, by, words, int(one or some))


#: A link: the ring of the step, and the one it goes through.
_Link = tuple[Ring, Ring]


def _grouped(links: list[_Link], end: int) -> dict[Ring, list[_Link]]:
    found: dict[Ring, list[_Link]] = {}
    for link in links:
        found.setdefault(link[end], []).append(link)
    return found


def _ways(
    movers: tuple[Ring, ...], several: bool, gone: list[_Link]
) -> Iterator[tuple[tuple[Ring, ...], bool, list[_Link]]]:
    """All rings of a step, and each alone, missing all of the targets, and each alone.

    Goes out: who misses something, whether that is one target of several, and the links lost.
    """
    hands = [(movers, gone)]
    if len(movers) > 1:
        hands += [((ring,), links) for ring, links in _grouped(gone, 0).items()]
    for who, lost in hands:
        yield who, False, lost
        if several:
            for group in _grouped(lost, 1).values():
                yield who, True, group


def _drops_off(work: Work, number: int, hands: tuple[Ring, ...], lost: list[_Link]) -> bool:
    """True where a ring of the step would have nothing to hold it: no one needs to be told."""
    if work.acts[number].held:
        return False
    gone = Counter(ring for ring, _ in lost)
    return any(gone[ring] == len(work.made_by(ring, number)) for ring in hands)


def _trace(view: View, lost: list[_Link]) -> _Trace | None:
    """What is off on the finished rings; None where one of them is never finished."""
    layout = view.weave.work.layout
    off = Counter(r for pair in lost for r in pair)
    ends = layout.kind in ("chain", "sheet") and not layout.block("finish")
    for ring in off:
        if ends and ring.unit > layout.units - layout.reach:
            return None
        if layout.flat and ring.row > layout.rows - layout.row_reach:
            return None
    right = {r: view.weave.met(r).total() for r in off}
    shown = Counter((r.role, right[r], right[r] - count) for r, count in off.items())
    return frozenset(shown.items())


# -- words ---------------------------------------------------------------------------------------


def _missed(speaker: Speaker, act: Act, ref: Ref, missed: int, of: int) -> str:
    words = " ".join(speaker.ref(replace(ref, if_there=False), act)).strip()
    if missed == of:
        return words
    for start in ("both ", f"all {number_word(of)} "):
        words = words.removeprefix(start)
    return f"one of the {number_word(of)} {words}"


def _one_of(view: View, rings: tuple[Ring, ...]) -> str:
    """One ring of a step, not said which: 'one S ring'."""
    parts = view.recipe.part_roles
    roles = list(dict.fromkeys(r.role for r in rings))
    return (
        f"one {roles[0]}{'' if roles[0] in parts else ' ring'}" if len(roles) == 1 else "one ring"
    )


def _seen(view: View, trace: _Trace, end: str) -> str:
    parts = view.recipe.part_roles
    words = []
    for (role, right, there), rings in sorted(trace, key=lambda t: (-t[0][2], t[0][0])):
        who = f"the {role}" if role in parts else f"{number_word(rings)} {role} ring"
        who += "s" if rings > 1 and role not in parts else ""
        verb = "passes" if rings == 1 else "each pass"
        only = f"only {plural(there, 'ring')}" if there else "no ring"
        words.append(f"{who} {verb} through {only} ({right} is right)")
    where = f"at the {end} " if end else ""
    return f"{where}{listed(words)}"


def _steps(numbers: Iterable[int]) -> str:
    """The same step of one unit or of many: 'step 8 (or 14, 20 and so on, by the unit)'."""
    first, *others = sorted(numbers)
    told = [str(n) for n in others]
    if len(told) > 3:
        told = [*told[:2], "so on"]
    return f"step {first}" + (f" (in the other units {listed(told)})" if told else "")


def _causes(places: list[set[int]]) -> str:
    """Steps of which each may have left the trace."""
    told = listed([_steps(numbers) for numbers in sorted(places, key=min)], "or")
    return f"{told} missed a ring; look at {'both' if len(places) == 2 else 'each'}"


def _cause(slips: list[_Slip]) -> str:
    step = _steps({s.act.step.number for s in slips})
    found = list(dict.fromkeys(s.missed for s in slips))
    if len(found) > 3:
        return f"{step} missed some of its rings"
    by = next((s.by for s in slips if s.by), "")
    missed = listed(found, "or")
    return f"{step}: {by} missed {missed}" if by else f"{step} missed {missed}"


def _by_unit(steps: Iterable[tuple[Step, Block]]) -> str:
    """Steps told one by one, but written-out units together."""
    ends: set[int] = set()
    units: set[int] = set()
    for step, block in steps:
        (units if isinstance(block.label, int) else ends).add(step.number)
    told = [str(n) for n in sorted(ends)]
    words = [f"step {listed(told, 'or')}"] if told else []
    return listed(words + ([_steps(units)] if units else []), "or")


def _unseen(work: Work) -> list[Mistake]:
    """Counts are blind to the side of entry and to folds, which make no link; the eye is not."""
    lays = [(a.step, a.block) for a in work.acts if a.owes_lay and a.side]
    folds = [
        (a.step, a.block)
        for a in work.acts
        if a.step.kind == "fold back" and a.block.kind == "unit"
    ]
    ways = (
        (lays, "in one place the rings cross on the other side", "went in from the wrong side"),
        (folds, "rings stand on straight where the others lie folded back", "was left out"),
    )
    return [
        Mistake(f"every count is right, yet {see}", f"{_by_unit(steps)} {slip} there")
        for steps, see, slip in ways
        if steps
    ]
