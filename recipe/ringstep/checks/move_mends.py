"""Mends for moves, each typed into the recipe and checked before it is offered.

Comes in: a `View` and a `Slip`. Goes out: lines of help; none where nothing tried comes out clean.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ringstep.checks.view import View, read_again
from ringstep.language.findings import Mend, TextEdit
from ringstep.language.parse import HINT_LINE
from ringstep.language.syntax import Block, Step
from ringstep.language.words import listed
from ringstep.weave.lie import Lying, Slip
from ringstep.weave.work import Ring

if TYPE_CHECKING:
    from ringstep.checks.wording import Offer

#: A mend in words, and the text of the recipe with it.
_Mend = tuple[str, list[str]]
#: More mends than this, each as near, say no more than that nothing points to one of them.
_MOST = 2


def tried_mends(view: View, slip: Slip) -> Offer:
    """What to type: only what leaves every move as it should be."""
    from ringstep.checks.wording import Offer  # wanted only where something is wrong

    assert view.lying is not None
    before = _lines(view)
    good = {w: text for w, text in _mends(view, view.lying, slip) if _comes_right(text)}
    mends = tuple(Mend(w, (_change(before, text),)) for w, text in good.items())[:_MOST]
    if len(good) == 1:
        return Offer((f"to mend: {mends[0].says}",), mends)
    help = (f"{'or' if at else 'either'}: {m.says}" for at, m in enumerate(mends))
    return Offer(tuple(help), mends)


def _change(before: list[str], after: list[str]) -> TextEdit:
    """One text made of another, as a change of the lines in which they differ."""
    alike = [a == b for a, b in zip(before, after, strict=False)]
    first = alike.index(False) if False in alike else len(alike)
    room = min(len(before), len(after)) - first
    ends = zip(reversed(before), reversed(after), strict=False)
    same = next((n for n, (a, b) in enumerate(ends) if a != b), room)
    last = min(same, room)
    new = after[first : len(after) - last]
    if first == len(before):  # behind the last line
        column = len(before[-1]) + 1
        return TextEdit(first, column, first, column, "".join(f"\n{x}" for x in new))
    return TextEdit(first + 1, 1, len(before) - last + 1, 1, "".join(f"{x}\n" for x in new))


def roles_phrase(rings: tuple[Ring, ...]) -> str:
    """Rings by their names without numbers: 'S', 'A and B'."""
    return listed(list(dict.fromkeys(r.role for r in rings)))


def last_placing(lying: Lying, slip: Slip, role: str) -> Step:
    """The step that places the last of a slip's rings of a role, at the first place."""
    work = lying.weave.work
    first = min((r for r in slip.rings if r.role == role), key=lambda r: work.placed_by[r])
    beside = [r for r in slip.rings if (r.role, r.row, r.unit) == (role, first.row, first.unit)]
    return work.acts[max(work.placed_by[r] for r in beside)].step


def _comes_right(lines: list[str]) -> bool:
    view = read_again(lines)
    return not view.troubles and view.lying is not None and not view.lying.slips


def _mends(view: View, lying: Lying, slip: Slip) -> Iterator[_Mend]:
    step, block = slip.act.step, slip.act.block
    roles = dict.fromkeys(r.role for r in slip.rings)
    if slip.kind in ("folded already", "spread already"):
        yield f"take step {step.number} out", _without(view, step)
    if slip.kind == "shows nothing" or slip.move == "fold back":
        for role in roles:
            yield _after(view, last_placing(lying, slip, role), f"fold back {role}")
    if slip.kind == "not shown" or slip.move == "spread":
        for other in _hung_on(lying, slip.rings[0]):
            if slip.where is not None:
                yield _after(view, slip.where.steps[-1], f"spread {other.role}")
                continue
            work = lying.weave.work
            home = work.acts[work.placed_by[slip.rings[0]]].block
            if isinstance(home.label, str):  # its rings are met by units of several names
                yield _after(view, home.steps[-1], f"spread {other.role}")
            if not view.weave.layout.flat:
                back = "prev " * (slip.act.unit - other.unit)
                yield _before(view, step, f"spread {back}{other.role}")
    if slip.kind == "shows nothing":
        for rings in dict.fromkeys(f"{p}{r}" for p in ("", "prev ") for r in block.placed):
            lines = _without(view, step)
            lines[step.span.line - 1 : step.span.line - 1] = [f"  spread {rings}"]
            yield f"write 'spread {rings}' in step {step.number} instead", lines
    if slip.kind in ("shows nothing", "not shown"):
        yield from _swapped(view, block, step)
        yield f"take step {step.number} out", _without(view, step)


def _hung_on(lying: Lying, ring: Ring) -> list[Ring]:
    """What a ring hangs on, one ring of each role and unit."""
    return list({(r.role, r.unit): r for r in lying.hangs_on.get(ring, ())}.values())


def _swapped(view: View, block: Block, step: Step) -> Iterator[_Mend]:
    """The step in the place of the one behind it."""
    at = block.steps.index(step)
    for later in block.steps[at + 1 : at + 2]:
        lines, first, second = _lines(view), _chunk(view, step), _chunk(view, later)
        moved = [lines[i] for i in (*second, *first)]
        lines[first.start : second.stop] = moved
        yield f"write step {later.number} before step {step.number}", lines


def _lines(view: View) -> list[str]:
    return list(view.recipe.source.lines)


def _chunk(view: View, step: Step) -> range:
    """The lines of a step, from 0: its own and those of its hints."""
    lines, end = view.recipe.source.plain, step.span.line
    while end < len(lines) and HINT_LINE.match(lines[end]):
        end += 1
    return range(step.span.line - 1, end)


def _without(view: View, step: Step) -> list[str]:
    lines, chunk = _lines(view), _chunk(view, step)
    del lines[chunk.start : chunk.stop]
    return lines


def _after(view: View, step: Step, move: str) -> _Mend:
    lines = _lines(view)
    lines.insert(_chunk(view, step).stop, f"  {move}")
    return f"write '{move}' after step {step.number}", lines


def _before(view: View, step: Step, move: str) -> _Mend:
    lines = _lines(view)
    lines.insert(step.span.line - 1, f"  {move}")
    return f"write '{move}' before step {step.number}", lines
