"""What a finished piece shows when one ring was missed, and which step it points to.

Comes in: a checked `View`. Goes out: `Mistake`s. Each item of each list is dropped in turn, as the
checker itself drops it, and the links that are gone are taken away at one place only, since a hand
slips once; what is then off on the finished rings is what a student can count. Where two different
steps would leave the same trace, nothing is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from recipe.edits import Edit, apply
from recipe.outputs.sentences import Speaker
from recipe.phrases import number_word
from recipe.steps import Act, Ring, Work, carry_out
from recipe.syntax import OPENING, Block, Ref, Step
from recipe.view import View
from recipe.words import listed, plural

MOST = 8


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
    """The misses that leave a trace of their own, at most `MOST`, the most general first."""
    work = _roomy(view)
    by_trace: dict[tuple[str, _Trace], list[_Slip]] = {}
    for slip in _all_slips(view, work):
        kind = slip.act.block.kind
        end = str(kind) if kind in ("start", "finish") else ""
        by_trace.setdefault((end, slip.trace), []).append(slip)
    found: list[tuple[tuple[int, int, int], Mistake]] = []
    for (end, trace), slips in by_trace.items():
        numbers = {s.act.step.number for s in slips}
        if len({_position(s.act) for s in slips}) > 1 or len({s.missed for s in slips}) > 3:
            continue
        written = not end and work.layout.written > 2 and not work.layout.repeats
        if written and len(numbers) == 1:
            continue  # the first and the last unit have their own numbers; the others say it all
        order = (2 * bool(end) + min(s.rank for s in slips), min(numbers))
        found.append(((*order, len(found)), Mistake(_seen(view, trace, end), _cause(slips))))
    told = [m for _, m in sorted(found, key=lambda f: f[0])]
    unseen = [*_lay_mistakes(work), *_fold_mistakes(work)]
    return (*told[: MOST - len(unseen)], *unseen)


def every_slip_falls_off(view: View) -> bool:
    """True where a ring that misses anything has nothing to hold it, so that every slip shows."""
    work = _roomy(view)
    linking = any(s.kind in OPENING and s.through for s in view.recipe.steps())
    return linking and not any(True for _ in _all_slips(view, work))


def _roomy(view: View) -> Work:
    """The work in a window whose steady places are finished on every side."""
    layout = view.model.layout.steady()
    rows = layout.rows + (layout.row_reach * layout.row_cycle if layout.flat else 0)
    return carry_out(replace(layout, rows=rows), view.chosen)


def _all_slips(view: View, work: Work) -> Iterator[_Slip]:
    speaker = Speaker(view, work)
    for act in _told_acts(view, work):
        yield from _slips(view, work, speaker, act)


def _position(act: Act) -> tuple[object, ...]:
    """The step, or in written-out units what such a step of every unit has in common."""
    if act.block.kind == "unit" and isinstance(act.block.label, int):
        return (tuple(str(i.name) for i in act.step.new), tuple(map(str, act.step.through)))
    return (act.step.number,)


def _told_acts(view: View, work: Work) -> Iterator[Act]:
    """One whole act for each step, in the middle of the steady part where it has one."""
    repeat = view.model.repeat
    best: dict[int, tuple[bool, Act]] = {}
    for act in work.acts:
        if act.dropped or act.skipped or act.step.kind not in OPENING:
            continue
        steady = repeat is not None and all(
            low <= at < low + cycle
            for at, low, cycle in zip((act.row, act.unit), repeat.origin, repeat.cycle, strict=True)
        )
        old = best.get(act.step.number)
        if old is None or (steady and not old[0]):
            best[act.step.number] = (steady, act)
    yield from (act for _, act in best.values())


# -- slips and their traces ----------------------------------------------------------------------


def _slips(view: View, work: Work, speaker: Speaker, act: Act) -> Iterator[_Slip]:
    number = next(i for i, a in enumerate(work.acts) if a is act)
    movers = act.handled if act.step.kind == "reopen" else act.new
    for ref in act.step.through:
        without = apply(view.recipe, Edit("remove", act.step, ref=ref))
        bare = carry_out(replace(work.layout, recipe=without), view.chosen)
        gone = [
            (ring, other)
            for ring in movers
            for other, made in work.links.get(ring, {}).items()
            if made == number and other not in bare.links.get(ring, {})
        ]
        targets = list(dict.fromkeys(other for _, other in gone))
        for hands in [movers, *((m,) for m in movers)] if len(movers) > 1 else [movers]:
            for missed in [targets, *([t] for t in targets)] if len(targets) > 1 else [targets]:
                lost = [(a, b) for a, b in gone if a in hands and b in missed]
                if not lost or _drops_off(work, number, hands, lost):
                    continue
                trace = _trace(work, lost)
                if trace is not None:
                    part = len(hands) < len(movers) or len(missed) < len(targets)
                    by = _one_of(view, movers) if len(hands) < len(movers) else ""
                    words = _missed(speaker, act, ref, len(missed), len(targets))
                    yield _Slip(act, trace, by, words, int(part))


def _drops_off(
    work: Work, number: int, hands: tuple[Ring, ...], lost: list[tuple[Ring, Ring]]
) -> bool:
    """True where a ring of the step would have nothing to hold it: no one needs to be told."""
    for ring in hands:
        have = work.meets_after(ring, number)
        if have == sum(a == ring for a, _ in lost) and not work.acts[number].held:
            return True
    return False


def _trace(work: Work, lost: list[tuple[Ring, Ring]]) -> _Trace | None:
    """What is off on the finished rings; None where one of them is never finished."""
    layout = work.layout
    off = Counter(r for pair in lost for r in pair)
    for ring in off:
        ends = layout.kind in ("chain", "sheet") and not layout.block("finish")
        if ends and ring.unit > layout.units - layout.reach:
            return None
        if layout.flat and ring.row > layout.rows - layout.row_reach:
            return None
    shown = Counter(
        (r.role, len(work.links[r]), len(work.links[r]) - count) for r, count in off.items()
    )
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
    parts = {p.name.role for p in view.recipe.parts}
    roles = list(dict.fromkeys(r.role for r in rings))
    return (
        f"one {roles[0]}{'' if roles[0] in parts else ' ring'}" if len(roles) == 1 else "one ring"
    )


def _seen(view: View, trace: _Trace, end: str) -> str:
    parts = {p.name.role for p in view.recipe.parts}
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


def _cause(slips: list[_Slip]) -> str:
    step = _steps({s.act.step.number for s in slips})
    by = next((s.by for s in slips if s.by), "")
    missed = listed(list(dict.fromkeys(s.missed for s in slips)), "or")
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


def _lay_mistakes(work: Work) -> list[Mistake]:
    """Counts are blind to the side of entry; the eye is not."""
    steps = [(a.step, a.block) for a in work.acts if a.owes_lay and a.side]
    if not steps:
        return []
    see = "every count is right, yet in one place the rings cross on the other side"
    return [Mistake(see, f"{_by_unit(steps)} went in from the wrong side there")]


def _fold_mistakes(work: Work) -> list[Mistake]:
    """Folding makes no link, so no count shows that it was left out."""
    steps = [
        (a.step, a.block)
        for a in work.acts
        if a.step.kind == "fold back" and a.block.kind == "unit"
    ]
    if not steps:
        return []
    see = "every count is right, yet rings stand on straight where the others lie folded back"
    return [Mistake(see, f"{_by_unit(steps)} was left out there")]
