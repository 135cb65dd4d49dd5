"""The process beside the page: only the newest question is answered, whatever came before."""

from __future__ import annotations

import queue
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from ringstep.table.worker import Data, Worker

Answers = queue.SimpleQueue[tuple[Any, Data]]

_ANSWERS = """
import sys, time
sys.path.insert(0, {folder!r})
from ringstep.table.worker import serve

def answer(question):
    yield {{"begun": True}}
    if question["about"] == "long":
        while True:
            time.sleep(0.01)
    import half.one, half.two
    yield {{"value": half.one.value + half.two.value}}

serve(answer, lambda fault: f"{{type(fault).__name__}}: {{fault}}")
"""
_SLOW = """
import pathlib, time
pathlib.Path({mark!r}).touch()
time.sleep(0.5)
value = 2
"""


@pytest.fixture
def worker(tmp_path: Path) -> Iterator[tuple[Worker, Answers]]:
    """A process that can be at something long, or read modules slowly; and what it answers."""
    half = tmp_path / "half"
    half.mkdir()
    (half / "__init__.py").write_text("import half.one, half.two\n", encoding="utf-8")
    (half / "one.py").write_text("value = 1\n", encoding="utf-8")
    (half / "two.py").write_text(_SLOW.format(mark=str(tmp_path / "within")), encoding="utf-8")
    script = tmp_path / "answers.py"
    script.write_text(_ANSWERS.format(folder=str(tmp_path)), encoding="utf-8")
    answers: Answers = queue.SimpleQueue()
    one = Worker(
        [sys.executable, str(script)], lambda question, told: answers.put((question["at"], told))
    )
    yield one, answers
    one.stop()


def heard(answers: Answers, wanted: Callable[[Data], bool]) -> tuple[Any, Data]:
    """The next answer of that kind."""
    while True:
        at, told = answers.get(timeout=20)
        if wanted(told):
            return at, told


def test_what_is_long_is_ended_by_the_next_question(worker: tuple[Worker, Answers]) -> None:
    one, answers = worker
    for at in range(3):
        one.ask(about="long", at=at)
        assert heard(answers, lambda told: "begun" in told)[0] == at
    one.ask(about="short", at=3)
    assert heard(answers, lambda told: "value" in told) == (3, {"value": 3})


def test_a_question_that_comes_while_modules_are_read(
    worker: tuple[Worker, Answers], tmp_path: Path
) -> None:
    """A module left half read would spoil every later answer."""
    one, answers = worker
    one.ask(about="short", at=0)
    while not (tmp_path / "within").exists():
        time.sleep(0.01)
    one.ask(about="short", at=1)
    at, told = heard(answers, lambda told: "begun" not in told and "done" not in told)
    assert (at, told) == (1, {"value": 3})
