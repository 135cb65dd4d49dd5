"""Speed as ratios, each measured side by side in one run: `python tests/benchmark.py`.

Prints one line a measurement and ends with 1 where a ratio is above its limit. Seconds are printed
for interest only; they belong to the machine.
"""

from __future__ import annotations

import compileall
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "recipe"))


def _seconds(run: Callable[[], object]) -> float:
    begin = time.perf_counter()
    run()
    return time.perf_counter() - begin


def side_by_side(
    one: Callable[[], object], other: Callable[[], object], rounds: int, limit: float = 0.0
) -> tuple[float, float]:
    """Median seconds of two things run in turn, so that both feel the same load.

    Measured up to three times where the ratio is above a limit: a load that comes and goes may
    fall on one of the two, slow code is slow every time.
    """
    for _ in range(3 if limit else 1):
        firsts, seconds = [], []
        for _ in range(rounds):
            firsts.append(_seconds(one))
            seconds.append(_seconds(other))
        if median(firsts) <= limit * median(seconds):
            break
    return median(firsts), median(seconds)


def _process(*words: str) -> Callable[[], object]:
    def run() -> object:
        return subprocess.run(
            [sys.executable, *words], check=True, stdout=subprocess.DEVNULL, cwd=ROOT
        )

    return run


def _told(name: str, top: float, bottom: float, limit: float | None) -> bool:
    ratio = top / bottom
    fine = limit is None or ratio <= limit
    words = f"(limit {limit})" if limit else ""
    verdict = "" if fine else "   TOO SLOW"
    print(f"{name:<62} {ratio:6.2f} {words}  [{top:.3f} s : {bottom:.3f} s]{verdict}")
    return fine


def check_against_imports() -> bool:
    """A whole `ringstep check` against the bare import of what it stands on."""
    chain = str(ROOT / "library" / "persian_6.weave")
    check = _process("-m", "ringstep", "check", chain)
    floor = _process("-c", "import lark, networkx")
    check()
    floor()
    return _told(
        "check of a chain : python -c 'import lark, networkx'",
        *side_by_side(check, floor, 21, 1.75),
        1.75,
    )


def _with_units(name: str, units: int, rows: int | None = None) -> Callable[[], object]:
    from ringstep.checks.pipeline import findings_of
    from ringstep.checks.view import View
    from ringstep.language.parse import parse
    from ringstep.language.shipped import shipped_weaves
    from ringstep.language.source import source_from_bytes

    recipe, troubles = parse(source_from_bytes(shipped_weaves()[name].read_bytes(), name))
    assert recipe.piece is not None
    piece = replace(recipe.piece, units=units, rows=rows or recipe.piece.rows)
    recipe = replace(recipe, piece=piece)

    def run() -> object:
        for _ in range(20):
            findings = findings_of(View(recipe, troubles))
        assert not [f for f in findings if f.severity == "error"]
        return None

    return run


def check_of_many_units() -> bool:
    """10 million units cost what 10 cost; a sheet of 3,000 × 4,000 what one of 30 × 40 costs."""
    few, many = _with_units("persian_6", 10), _with_units("persian_6", 10_000_000)
    fine = _told("check of 10 million units : of 10 units", *side_by_side(many, few, 9, 1.1), 1.1)
    small = _with_units("european_4", 40, 30)
    large = _with_units("european_4", 4000, 3000)
    fine &= _told(
        "check of a sheet 3,000 × 4,000 : of 30 × 40", *side_by_side(large, small, 9, 1.1), 1.1
    )
    peaks = []
    for run in (large, small):
        tracemalloc.start()
        run()
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    print(f"{'memory of the same two checks':<62} {peaks[0] / peaks[1]:6.2f} (limit 1.1)")
    return fine and peaks[0] <= 1.1 * peaks[1]


def draw_against_check() -> bool:
    """All diagrams of a chain against its check, for interest."""
    chain = str(ROOT / "library" / "persian_6.weave")
    with tempfile.TemporaryDirectory() as folder:
        draw = _process("-m", "ringstep", "draw", chain, "--to", folder)
        return _told(
            "draw of a chain : check of it",
            *side_by_side(draw, _process("-m", "ringstep", "check", chain), 5),
            None,
        )


def pages_and_counts() -> bool:
    """The longest shipped recipe's hand-out, and 100,000 rings counted one by one."""
    longest = str(ROOT / "library" / "persian_linked_written.weave")
    check = _process("-m", "ringstep", "check", longest)
    with tempfile.TemporaryDirectory() as folder:
        page = str(Path(folder) / "page.html")
        handout = _process("-m", "ringstep", "handout", longest, "--to", page)
        _told(
            "hand-out of the longest shipped recipe : check of it",
            *side_by_side(handout, check, 3),
            None,
        )
        many = Path(folder) / "many.weave"
        text = (ROOT / "library" / "persian_6.weave").read_text(encoding="utf-8")
        many.write_text(text.replace("chain 24 units", "chain 25000 units"), encoding="utf-8")
        count = _process("-m", "ringstep", "count", str(many))
        explicit = _process("-m", "ringstep", "count", str(many), "--explicit")
        return _told(
            "100,000 rings counted one by one : by how they repeat",
            *side_by_side(explicit, count, 3),
            None,
        )


def _spiral(steps: int, at_once: int) -> str:
    """The turning chain in so many steps: units of `at_once` rings, written out where they are
    several."""
    last = f"A{at_once}"
    lines = ["rings:", "  all  wire 1.2 mm, inside 4.8 mm, brass", "expect:", "  A meets 4"]
    lines += ["start:", f"  close A{at_once - 1}", f"  add {last} through A{at_once - 1} picks 1"]
    for unit in range(1, steps // at_once + 1):
        lines.append(f"unit {unit}:" if at_once < steps else "unit:")
        for ring in range(1, at_once + 1):
            before = [
                f"A{at}" if at > 0 else f"prev A{at + at_once}" for at in (ring - 1, ring - 2)
            ]
            lines.append(f"  add A{ring} through {', '.join(before)} picks 2 lay front")
    return "\n".join([*lines, "piece:", "  chain 24 units", ""])


def _printed(steps: int, at_once: int) -> tuple[Callable[[], object], Callable[[], object]]:
    """The step list of such a recipe, and its hand-out without pictures, each worked out anew."""
    from ringstep.checks.view import View
    from ringstep.language.parse import parse
    from ringstep.language.source import source_from_bytes
    from ringstep.paper.handout import handout
    from ringstep.paper.handout_steps import Choices, Edition
    from ringstep.paper.page import Frame
    from ringstep.paper.printed import as_plain
    from ringstep.paper.steps_text import step_list

    parsed = parse(source_from_bytes(_spiral(steps, at_once).encode(), "spiral"))
    assert not View(*parsed).diagnosis.faults
    choices = Choices(Frame("spiral", "a4", False, ""), "none")
    return (
        lambda: as_plain(step_list(View(*parsed)).printed),
        lambda: handout([[Edition(seen := View(*parsed), step_list(seen), {})]], {}, choices),
    )


def many_steps() -> bool:
    """What is printed of 1,000 steps takes four times what 250 take, and not sixteen times."""
    fine = True
    for words, many_at_once, few_at_once in (("one unit", 1000, 250), ("units of 4", 4, 4)):
        many, few = _printed(1000, many_at_once), _printed(250, few_at_once)
        for what, top, bottom in zip(("step list", "hand-out"), many, few, strict=True):
            name = f"{what} of 1,000 steps : of 250, in {words}"
            fine &= _told(name, *side_by_side(top, bottom, 5, 6), 6)
    return fine


def first_words() -> bool:
    """What is said at once of a cuff with any one line taken out, against checking the whole cuff.

    What explains the fault takes up to some hundred times as long and is not waited for.
    """
    from ringstep.checks.pipeline import findings_of, first_findings, symptom, view_of
    from ringstep.language.source import source_from_text

    text = (ROOT / "examples" / "strap_cuff.weave").read_text(encoding="utf-8")
    lines = text.splitlines()

    def first(at: int) -> Callable[[], object]:
        def run() -> object:
            view = view_of(source_from_text("\n".join(lines[:at] + lines[at + 1 :])))
            return first_findings(view), symptom(view)

        return run

    def whole() -> object:
        return findings_of(view_of(source_from_text(text)))

    runs = [first(at) for at, line in enumerate(lines) if line.strip()]
    worst = max(runs, key=lambda run: min(_seconds(run), _seconds(run)))
    one, other = side_by_side(worst, whole, 9, 4.0)
    return _told("first words of a cuff less a line (worst) : its whole check", one, other, 4.0)


def main() -> int:
    """Run every measurement."""
    compileall.compile_dir(ROOT / "recipe", quiet=1)  # as an installed package is
    results = [
        check_against_imports(),
        check_of_many_units(),
        draw_against_check(),
        pages_and_counts(),
        many_steps(),
        first_words(),
    ]
    return 0 if all(results) else 1


if __name__ == "__main__":
    sys.exit(main())
