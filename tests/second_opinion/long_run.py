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

from second_opinion.agreement import Opinion, untold
from second_opinion.recipes import recipe
from second_opinion.slips import slip


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
            made = slip(rng, drawn.text)
            kind = untold(made, folder) if made else "no list to slip in"
            slips[kind] += 1
            if (
                made
                and kind.startswith("not told")
                and (kind not in smallest or len(made.text) < len(smallest[kind][0]))
            ):
                smallest[kind] = (made.text, f"was: {made.before}\n  now: {made.after}")
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
