"""Longer searches than the tests have time for, and how the time grows; run by hand.

python tests/fit/search_long.py 2 "Persian 6-in-1" Byzantine
python tests/fit/search_long.py growth
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2] / "recipe"), str(Path(__file__).parent)]

import cells  # noqa: E402
import fitted  # noqa: E402

from ringstep.space import regular, units  # noqa: E402
from ringstep.space.fit import fit  # noqa: E402
from ringstep.space.recheck import recheck  # noqa: E402
from ringstep.space.result import Fit, Form, Pose  # noqa: E402
from ringstep.space.search import search  # noqa: E402
from ringstep.space.second import Second  # noqa: E402


def size(form: Form, pose: Pose | None) -> str:
    """Length of a unit, or sides of a laid-out sheet unit, over the first ring's inside."""
    if pose is None:
        return "-"
    inside = form.cell.rings[0].inside
    if form.cell.dims == 1:
        return f"{form.length(pose) / inside:.3f}"
    sides = fitted.footprint(pose)
    assert sides is not None
    return f"{sides[0] / inside:.3f}x{sides[1] / inside:.3f}@{sides[2]:.0f}"


def show(name: str, result: Fit, seconds: float) -> None:
    """One line a form."""
    print(f"{name}: {seconds:.1f} s, floor {result.bounds[0]:.3f}", *result.notes, sep="; ")
    for form in result.forms:
        least = sorted({round(form.smallest(k), 3) for k in range(len(result.cell.rings))})
        poses = (form.tight, form.shown, form.stretched, form.pushed)
        right = all(recheck(p, form.cell).right(1e-5) for p in poses if p is not None)
        words = ["as said" if form.as_said else "other", f"units {form.units}", f"turn {form.turn}"]
        words += [f"AR {least}", "fits" if form.fits else f"drawn with wires x {form.at_room:.3f}"]
        words += [f"length {size(form, form.stretched)} / {size(form, form.pushed)}"]
        words += ["" if form.folds_kept else "fold lost", "" if right else "RECHECK FAILED"]
        print("   ", ", ".join(w for w in words if w), flush=True)


def growth() -> None:
    """Time of a search, as it grows with the rings of a unit."""
    for count in (1, 2, 3):
        cell = units.multiplied(cells.persian_6(), units.Multiple(count))
        begun = time.process_time()
        with Second() as second:
            search(regular.ways(cell), 0, 40, 0, second)
        print(f"{len(cell.rings)} rings: {time.process_time() - begun:.1f} s for 40 starts")


def main() -> None:
    """See the module's own text."""
    if sys.argv[1:2] == ["growth"]:
        growth()
        return
    effort = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    for name in sys.argv[2:] or cells.ALL:
        begun = time.monotonic()
        result = fit(cells.ALL[name](), effort=effort)
        show(name, result, time.monotonic() - begun)


if __name__ == "__main__":
    main()
