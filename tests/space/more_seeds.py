"""Smallest aspect ratios for more seeds than the tests have time for; run by hand.

python tests/space/more_seeds.py 4
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from test_chain_forms import SMALLEST, form  # noqa: E402


def main() -> None:
    """A line for each chain and seed."""
    for name, variant in SMALLEST:
        for seed in range(int(sys.argv[1])):
            begun = time.monotonic()
            least = form(name, variant, None, seed).smallest(0)
            seconds = time.monotonic() - begun
            off = least - SMALLEST[name, variant]
            print(f"{name} {variant or ''} seed {seed}: {least:.4f} ({off:+.4f}), {seconds:.1f} s")


if __name__ == "__main__":
    main()
