"""Two processes write the same output at once, and find one empty cache: both get all of it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from cases import PRICES, UNTIDY, Case, marked
from runs import files_in, prepare

CASES = [
    Case("handout it.weave --pictures none --rings none"),
    Case("tidy b.weave", {"b.weave": UNTIDY}),
    Case("check it.weave", slow=True),
    Case("draw it.weave --format dot", slow=True),
    Case("kit it.weave --prices p.csv --slip slip.html", {"p.csv": PRICES}, slow=True),
    Case("fit it.weave --effort 0", slow=True),
]


def together(case: Case, folder: Path, many: int) -> list[tuple[int, str, str]]:
    """The command in so many processes that start at once: exit code and what each printed."""
    prepare(case, folder)
    runs = [
        subprocess.Popen(
            [sys.executable, "-m", "ringstep", *case.words.split()],
            cwd=folder,
            env={**os.environ, "RINGSTEP_CACHE": str(folder / "cache")},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        for _ in range(many)
    ]
    told = [one.communicate(timeout=120) for one in runs]
    return [(one.returncode, *words) for one, words in zip(runs, told, strict=True)]


@pytest.mark.parametrize("case", marked(CASES), ids=lambda case: case.words)
def test_two_at_once_come_to_the_same_as_one(case: Case, tmp_path: Path) -> None:
    folder = tmp_path / "box"
    ((_, out, _),) = together(case, folder, 1)
    alone, kept = files_in(folder), cached(folder)
    assert alone
    for code, said, err in together(case, folder, 2):
        assert (code, err) == (0, "")
        # the second may find tidy what the first made so, or kept what the first worked out
        assert said == out or "tidy already" in said or "fit" in case.words
    assert files_in(folder) == alone
    assert cached(folder).keys() == kept.keys(), "no half file is left"


def cached(folder: Path) -> dict[str, bytes]:
    """What lies in the cache, by name."""
    found = (path for path in (folder / "cache").rglob("*") if path.is_file())
    return {path.name: path.read_bytes() for path in found}
