"""A second process at the same job, for work that falls into many like pieces.

Results come in the order of the tasks and depend on the tasks alone, so that they are the same
whether the second process runs, dies or was never there.
"""

from __future__ import annotations

import json
import os
import pickle
import queue
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import count, islice
from typing import IO, Any

Task = Callable[[], Any]

_BEGIN = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]);"
    " from ringstep.space.second import serve;"
    " import ringstep.space.hang, ringstep.space.search;"  # read before the first task comes
    " serve()"
)


@dataclass(slots=True, eq=False)
class _Job:
    """One task: given to the second process or not, done or not."""

    task: Task
    given: bool = False
    done: bool = False
    result: Any = None


class Second:
    """As a context: the second process, begun at once and ended with it.

    Where it cannot be begun, or dies, all is done here.
    """

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._given: dict[int, _Job] = {}
        self._back: queue.SimpleQueue[tuple[int, Any] | None] = queue.SimpleQueue()
        self._numbers = count()

    def __enter__(self) -> Second:
        """Begin it, where there is a second core."""
        _hold_memory()
        if _cores() < 2 or not sys.executable:
            return self
        command = [sys.executable, "-I", "-c", _BEGIN, json.dumps(sys.path)]
        pipe = subprocess.PIPE
        with suppress(OSError, ValueError):
            self._process = subprocess.Popen(
                command, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, **_apart()
            )
            threading.Thread(target=self._listen, args=(self._process.stdout,), daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        """End it, whatever it is at."""
        if (process := self._process) is not None:
            process.kill()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with suppress(OSError):
                        pipe.close()
            process.wait()
        self._process = None

    def in_order(self, tasks: Iterator[Task], ahead: int = 1) -> Iterator[Any]:
        """The results one by one. A task is picklable, and may be begun before it is asked for.

        ahead: so many, of which half may wait at the second process; of small ones several.
        """
        line: deque[_Job] = deque()
        while True:
            line.extend(_Job(task) for task in islice(tasks, ahead + 1 - len(line)))
            if not line:
                return
            while not line[0].done:
                self._give(line, (ahead + 1) // 2)
                self._work_on(line)
            yield line.popleft().result

    def _give(self, line: deque[_Job], most: int) -> None:
        """Take what came back, and give the second process what is next and still free."""
        with suppress(queue.Empty):
            while self._given:
                self._take(self._back.get_nowait())
        # the first of a line is done here unless the second process has it already
        free = [job for job in islice(line, 1, None) if not job.given and not job.done]
        for job in free:
            if self._process is None or len(self._given) >= most:
                return
            number = next(self._numbers)
            try:
                assert self._process.stdin is not None
                pickle.dump((number, job.task), self._process.stdin)
                self._process.stdin.flush()
            except OSError:
                self._lost()
                return
            job.given = True
            self._given[number] = job

    def _work_on(self, line: deque[_Job]) -> None:
        """Do the first task that is still free, or wait for the second process."""
        for job in line:
            if not job.given and not job.done:
                job.result, job.done = job.task(), True
                return
        while not line[0].done and line[0].given:
            with suppress(queue.Empty):  # so that Ctrl-C is heard on every system
                self._take(self._back.get(timeout=1.0))

    def _take(self, came: tuple[int, Any] | None) -> None:
        if came is None:
            self._lost()
            return
        number, result = came
        job = self._given.pop(number)
        job.result, job.done = result, True

    def _lost(self) -> None:
        """What it had is free again."""
        self.__exit__()
        for job in self._given.values():
            job.given = False
        self._given.clear()

    def _listen(self, pipe: IO[bytes]) -> None:
        # our own child, of the same code, answers through a pipe that nobody else has
        with suppress(Exception):
            while True:
                self._back.put(pickle.load(pipe))
        self._back.put(None)


ALONE = Second()  # never begun: all is done here


def serve() -> None:
    """What the second process does: tasks in, results out, until nothing more comes."""
    _hold_memory()
    come, go = sys.stdin.buffer, sys.stdout.buffer
    with suppress(EOFError, OSError):
        while True:
            number, task = pickle.load(come)
            pickle.dump((number, task()), go)
            go.flush()


def _hold_memory() -> None:
    """Let this process keep what arrays give back, where malloc learns by what it sees freed.

    Else it asks the system anew for most arrays, which takes a tenth of the time.
    """
    bytes(24 << 20)  # asked for and given back, never touched


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _apart() -> dict[str, Any]:
    """So that Ctrl-C is heard by the first process alone."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}
