"""Small edits of every shipped recipe, and how long `check` takes over each, the slowest first.

    python tests/slowest.py              every edit there is (an hour or so)
    python tests/slowest.py 300 7        300 of them, by seed 7

An edit is a line taken out, a line cut short, a word misspelt or a count changed. Told are seconds
of CPU for all findings, and for those that are told first, before what explains them is known.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]

from helpers import EXAMPLES, LIBRARY  # noqa: E402

from ringstep.checks.pipeline import findings_of, view_of  # noqa: E402
from ringstep.language.source import source_from_text  # noqa: E402
from ringstep.table.services import first_findings  # noqa: E402

#: Seconds of CPU that no edit may take, for all findings and for the first ones.
MOST, MOST_AT_FIRST = 1.0, 0.1
_WORD = re.compile(r"[^\W\d]{2,}")
_COUNT = re.compile(r"\b\d+\b")


@dataclass(frozen=True)
class Edit:
    """One line of a recipe changed: its name, the line's number, and the text that comes of it."""

    name: str
    kind: str
    line: int
    now: str
    text: str

    def __str__(self) -> str:
        return f"{self.name}, line {self.line}, {self.kind}: {self.now.strip()}"


def edited(line: str) -> Iterator[tuple[str, str]]:
    """Every small edit of a line but taking it out: its kind and the line that comes of it."""
    cut = line.rstrip()
    while " " in cut.strip():
        cut = cut.rstrip().rsplit(" ", 1)[0]
        yield "cut short", cut
    for word in _WORD.finditer(line):
        middle = (word.start() + word.end()) // 2
        yield "misspelt", line[:middle] + "x" + line[middle + 1 :]
    for count in _COUNT.finditer(line):
        for other in (int(count[0]) - 1, int(count[0]) + 1, int(count[0]) * 10):
            yield "count changed", f"{line[: count.start()]}{max(other, 0)}{line[count.end() :]}"


def edits() -> Iterator[Edit]:
    """Every small edit of every recipe of the library and the examples."""
    for path in sorted((*LIBRARY.glob("*.weave"), *EXAMPLES.glob("*.weave"))):
        lines = path.read_text(encoding="utf-8").splitlines()
        for at, line in enumerate(lines):
            if not line.strip() or line.lstrip().startswith("#"):
                continue
            before, after = lines[:at], lines[at + 1 :]
            yield Edit(path.stem, "taken out", at + 1, line, "\n".join([*before, *after]))
            for kind, now in edited(line):
                yield Edit(path.stem, kind, at + 1, now, "\n".join([*before, now, *after]))


def cpu(run: Callable[[], object]) -> float:
    """Seconds of CPU that a run takes."""
    begin = time.process_time()
    run()
    return time.process_time() - begin


def measured(edit: Edit, times: int = 3) -> tuple[float, float]:
    """Seconds of CPU for all findings of an edit, and for those that are told first; the least of
    so many times where that is over a limit, since others who use the machine lengthen them."""
    source = source_from_text(edit.text)
    found = cpu(lambda: findings_of(view_of(source))), cpu(lambda: first_findings(edit.text))
    if times == 1 or (found[0] <= MOST and found[1] <= MOST_AT_FIRST):
        return found
    again = measured(edit, times - 1)
    return min(found[0], again[0]), min(found[1], again[1])


def main(most: int | None, seed: int) -> int:
    """Measure, print the slowest, and end with 1 where one is over its limit."""
    chosen = list(edits())
    if most is not None:
        chosen = random.Random(seed).sample(chosen, most)
    measured(chosen[0])  # imports are no edit's
    times = sorted(((*measured(edit), edit) for edit in chosen), key=lambda t: -t[0])
    over = sum(t > MOST for t, _, _ in times)
    late = sum(f > MOST_AT_FIRST for _, f, _ in times)
    told = [t for n, t in enumerate(times) if n < 20 or t[0] > MOST or t[1] > MOST_AT_FIRST]
    for seconds, first, edit in told:
        print(f"{seconds:7.3f} s, first {first:.3f} s: {edit}")
    for name, each in (("all", [t[0] for t in times]), ("first", [t[1] for t in times])):
        each.sort()
        marks = (f"{q} % within {each[int(len(each) * q / 100)]:.3f}" for q in (50, 90, 99))
        print(f"{name} findings of {len(each)} edits: {', '.join(marks)}, worst {each[-1]:.3f} s")
    print(f"over {MOST} s: {over}; first findings over {MOST_AT_FIRST} s: {late}")
    return int(over > 0 or late > 0)


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    sys.exit(main(*numbers, 7) if len(numbers) == 1 else main(*(numbers or (None, 7))))
