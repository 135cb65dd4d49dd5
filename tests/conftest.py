"""Settings of the whole test run, and the figures of the slip tests printed under it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from helpers import SIMPLE
from hypothesis import settings

from ringstep.commands.recipe_folder import RecipeFolder

# Small matrices: several threads would only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# The same examples every time, and nothing left lying about in the tree.
settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.load_profile("fixed")


#: Files whose tests take long; `pytest -m "not slow"` leaves them out and ends within a minute.
SLOW = {
    "test_blame", "test_chain_forms", "test_fit_circles", "test_fit_pictures", "test_lie",
    "test_mends", "test_no_false_alarm", "test_second_opinion", "test_watch", "test_cut",
    "test_draw_rings",
    "test_diagram_places", "test_diagrams", "test_fit_command", "test_fit_known", "test_fit_lays",
    "test_fit_result", "test_fit_wiring", "test_handout", "test_handout_pages", "test_names",
    "test_rows_worked",
    "test_worked",
    "test_hostile", "test_hostile_files", "test_rings", "test_properties", "test_slips",
}  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what takes long, by file."""
    for item in items:
        if item.path.stem in SLOW:
            item.add_marker(pytest.mark.slow)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print how many slips were tried and how well they were told, kind by kind."""
    module = sys.modules.get("test_blame")
    lines = module.figure_lines() if module else []
    if lines:
        terminalreporter.write_sep("-", "slips made and found")
        for line in lines:
            terminalreporter.write_line(line)


@pytest.fixture(scope="session", autouse=True)
def _cache_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What a developer has fitted before must not show up in the pages the tests make."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RINGSTEP_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with one clean recipe."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "it.weave").write_text(SIMPLE, encoding="utf-8")
    return tmp_path


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A recipe beside the folder on the table, which nothing may reach."""
    file = tmp_path / "outside.weave"
    file.write_text("mine", encoding="utf-8")
    return file


@pytest.fixture
def bench(tmp_path: Path, outside: Path) -> RecipeFolder:
    """A folder on the table, with one recipe."""
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "cuff.weave").write_bytes(SIMPLE.encode())
    return RecipeFolder.at(tmp_path / "bench")
