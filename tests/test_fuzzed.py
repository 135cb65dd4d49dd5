"""What a fuzzer found to lead where nothing else did, read in every run; see `fuzz_covered.py`."""

from __future__ import annotations

import pytest
from fuzz_covered import KEPT, KINDS, LONGEST, MOST_KEPT

FOUND = [(path.parent.name, path.name) for path in sorted(KEPT.glob("*/*"))]


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_keeps_a_few_short_texts(kind: str) -> None:
    sizes = [path.stat().st_size for path in (KEPT / kind).iterdir()]
    assert 30 <= len(sizes) <= MOST_KEPT
    assert max(sizes) <= LONGEST


@pytest.mark.parametrize(("kind", "name"), FOUND, ids=lambda part: part)
def test_a_text_is_answered_in_words(kind: str, name: str) -> None:
    KINDS[kind]((KEPT / kind / name).read_bytes())
