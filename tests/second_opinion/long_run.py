"""The long run: `python tests/second_opinion/long_run.py 2000 SEED` (some minutes).

Prints how often each kind of number disagrees, with the smallest recipe that shows it.
"""

from __future__ import annotations

import gc
import random
import sys
import tempfile
from collections import Counter, defaultdict
from pathlib import Path

if __name__ == "__main__":
    here = Path(__file__).resolve()
    sys.path[:0] = [str(here.parents[1]), str(here.parents[2])]

from second_opinion.agreement import Opinion
from second_opinion.recipes import recipe, slip


def slips_untold(text: str, rng: random.Random, folder: Path) -> tuple[str, str] | None:
    """A slip that breaks the piece and that `check` does not tell: (kind, the recipe)."""
    made = slip(rng, text)
    if made is None:
        return None
    opinion = Opinion(made.text, folder)
    piece, pattern = opinion.piece, opinion.pattern
    miscounted = any(
        a.step.picks is not None and not a.left_out and len(a.through) != a.step.picks
        for a in piece.acts
    )
    wrong = [
        kind
        for kind, found in (
            ("count not lowered", miscounted),
            ("promise broken", pattern.broken()),
            ("piece falls apart", len(piece.components()) > 1),
            ("link owed by the whole weave", pattern.owed()),
        )
        if found
    ]
    if not wrong or opinion.errors():
        return ("told" if wrong else "breaks nothing", "")
    return f"NOT TOLD: {wrong[0]}", f"{made.text}  was: {made.before}\n  now: {made.after}\n"


def main(count: int, seed: int) -> None:
    """Run and print."""
    kinds, slips, features = Counter[str](), Counter[str](), defaultdict(Counter)
    smallest: dict[str, tuple[str, str]] = {}
    agreed = 0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for at in range(count):
            rng = random.Random(f"{seed} {at}")
            drawn = recipe(rng)
            found = Opinion(drawn.text, folder).all()
            agreed += not found
            for kind in {d.kind for d in found}:
                one = next(d for d in found if d.kind == kind)
                kinds[kind] += 1
                features[kind].update(drawn.features)
                if kind not in smallest or len(drawn.text) < len(smallest[kind][0]):
                    smallest[kind] = (drawn.text, f"told: {one.told}\n  true: {one.true}")
            if untold := slips_untold(drawn.text, rng, folder):
                slips[untold[0]] += 1
                if untold[1] and len(untold[1]) < len(smallest.get(untold[0], (" " * 9999,))[0]):
                    smallest[untold[0]] = (untold[1], "an error is owed")
            if at % 50 == 49:
                gc.collect()
    print(f"{count} recipes, seed {seed}: on {agreed} all numbers agree\n")
    for table in (kinds, slips):
        for kind, times in table.most_common():
            shared = [f for f, n in features[kind].items() if n == times] if kind in kinds else []
            print(f"{times:>6}  {kind}" + (f"   (all: {', '.join(sorted(shared))})" * bool(shared)))
        print()
    for kind, (text, differs) in smallest.items():
        print(f"--- {kind}\n  {differs}\n{text}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
