"""The second process changes how long work takes and nothing else."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from functools import partial
from itertools import count, islice

import pytest

from ringstep.space import second
from ringstep.space.second import Second, Task


@pytest.fixture(autouse=True)
def _two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(second, "_cores", lambda: 2)


def powers() -> Iterator[Task]:
    """Endless tasks whose results are known."""
    return (partial(pow, 3, nth) for nth in count())


def slow_pids(most: int) -> Iterator[Task]:
    """Who does each task; each takes long enough for the other process to take the next."""
    return (
        partial(eval, "(__import__('time').sleep(0.2), __import__('os').getpid())[1]")
        for _ in range(most)
    )


def test_results_come_in_the_order_of_the_tasks_and_no_more_than_asked_for() -> None:
    with Second() as two:
        assert list(islice(two.in_order(powers()), 40)) == [3**nth for nth in range(40)]
        assert list(two.in_order(iter([]))) == []


def test_both_processes_work() -> None:
    with Second() as two:
        assert len(set(two.in_order(slow_pids(12)))) == 2


def test_it_ends_with_its_context() -> None:
    with Second() as two:
        other = next(pid for pid in two.in_order(slow_pids(12)) if pid != os.getpid())
    with pytest.raises(ProcessLookupError):
        os.kill(other, 0)


def test_what_a_killed_process_had_is_done_here() -> None:
    with Second() as two:
        pids = two.in_order(slow_pids(12))
        other = next(pid for pid in pids if pid != os.getpid())
        results = two.in_order(powers())
        seen = list(islice(results, 5))
        os.kill(other, signal.SIGKILL)
        seen += islice(results, 20)
    assert seen == [3**nth for nth in range(25)]


@pytest.mark.parametrize("command", ["", "/nowhere/python", "/bin/false"])
def test_without_a_second_process_all_is_done_here(
    monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    monkeypatch.setattr(second.sys, "executable", command)
    with Second() as two:
        time.sleep(0.1)
        assert list(islice(two.in_order(powers()), 10)) == [3**nth for nth in range(10)]


def test_a_task_that_fails_fails_here() -> None:
    with Second() as two, pytest.raises(ZeroDivisionError):
        list(two.in_order(partial(divmod, 1, 0) for _ in range(4)))


def test_lines_within_lines_keep_their_results_apart() -> None:
    seen = []
    with Second() as two:
        for outer in islice(two.in_order(powers()), 6):
            inner = next(two.in_order(partial(pow, 2, nth) for nth in range(outer % 7, 9)))
            seen.append((outer, inner))
    assert seen == [(3**nth, 2 ** (3**nth % 7)) for nth in range(6)]
