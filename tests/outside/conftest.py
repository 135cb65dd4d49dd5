"""One table and one browser for all tests of the page; a recipe of its own for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_table import Browser, Table


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The browser."""
    one = Browser()
    yield one
    one.driver.quit()


@pytest.fixture(scope="session")
def table(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[Table]:
    """The table at which the browser sits; its folder holds one recipe."""
    folder = tmp_path_factory.mktemp("table") / "bench"
    folder.mkdir()
    (folder / "first.weave").write_text(CHAIN, encoding="utf-8")
    one = Table(folder, "first.weave")
    browser.sit_down(one)
    yield one
    said = one.stop()
    assert "Traceback" not in said, said


@pytest.fixture
def recipe(table: Table, browser: Browser, request: pytest.FixtureRequest) -> Path:
    """A recipe of the test's own, opened in the browser's one tab."""
    name = "".join(c if c.isalnum() else "_" for c in request.node.name)[:60]
    path = table.path(f"{name}.weave")
    path.write_text(CHAIN, encoding="utf-8")
    browser.open(table, path.name)
    return path


#: A chain of 1 start ring and 30 units of one ring: every ring meets 2, the two at the ends 1.
CHAIN = """\
weave "Simple chain"
rings:
  all  wire 1.2 mm, inside 5 mm, copper
expect:
  A meets 2
start:
  close A
unit:
  add A through prev A picks 1
piece:
  chain 30 units
"""
