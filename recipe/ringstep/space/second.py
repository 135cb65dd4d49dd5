"""A second process at the same job, for work that falls into many like pieces.

Results come in the order of the tasks and depend on the tasks alone, so that they are the same
whether the second process runs, dies or was never there.
"""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import chain, islice
from typing import IO, Any

Task = Callable[[], Any]

_BEGIN = (
    "import json, sys; sys.path[:] = json.loads(sys.argv[1]);"
    " from ringstep.space.second import serve;"
    " [__import__(name) for name in sys.argv[2:]];"
    " serve()"
)


@dataclass(slots=True, eq=False)
class _Job:
    """One task: taken by one of the processes or not, done or not."""

    task: Task
    taken: bool = False
    done: bool = False
    result: Any = None


class Second:
    """As a context: the second process, begun at once and ended with it.

    Where it cannot be begun, or dies, all is done here.
    """

    def __init__(self, reads: Sequence[str] = ()) -> None:
        """reads: modules that its tasks will need, read before the first task comes."""
        self._reads = reads
        self._process: subprocess.Popen[bytes] | None = None
        self._at: _Job | None = None  # what it has
        self._lines: list[deque[_Job]] = []  # the last is that which is worked on here
        self._change = threading.Condition(threading.RLock())

    def __enter__(self) -> Second:
        """Begin it, where there is a second core."""
        _hold_memory()
        if _cores() < 2 or not sys.executable:
            return self
        command = [sys.executable, "-I", "-c", _BEGIN, json.dumps(sys.path), *self._reads]
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

    def __reduce__(self) -> tuple[Callable[[], Second], tuple[()]]:
        """A task may hold it: where that is done, there is no other process."""
        return _alone, ()

    def in_order(self, tasks: Iterator[Task], ahead: int = 1) -> Iterator[Any]:
        """The results one by one. A task is picklable, and may be begun before it is asked for.

        ahead: so many.
        """
        line: deque[_Job] = deque()
        self._lines.append(line)
        try:
            while True:
                for task in islice(tasks, ahead + 1 - len(line)):
                    with self._change:
                        line.append(_Job(task))
                        self._give()
                if not line:
                    return
                while not line[0].done:
                    self._work_on(line)
                with self._change:
                    job = line.popleft()
                yield job.result
        finally:
            with self._change:
                self._lines = [other for other in self._lines if other is not line]

    def _give(self) -> None:
        """Where the second process has nothing to do, give it what is next and still free."""
        if self._process is None or self._at is not None:
            return
        ahead = chain(*([*line][line is self._lines[-1] :] for line in reversed(self._lines)))
        # the first of the line worked on is done here
        if (job := next((job for job in ahead if not job.taken), None)) is None:
            return
        try:
            assert self._process.stdin is not None
            pickle.dump(job.task, self._process.stdin)
            self._process.stdin.flush()
        except OSError:
            self._lost()
            return
        self._at, job.taken = job, True

    def _work_on(self, line: deque[_Job]) -> None:
        """Do the first task that is still free, or wait for the second process."""
        with self._change:
            job = next((job for job in line if not job.taken), None)
            if job is None:
                self._change.wait(1.0)  # so that Ctrl-C is heard on every system
                return
            job.taken = True
            self._give()
        job.result, job.done = job.task(), True

    def _lost(self) -> None:
        """What it had is free again."""
        self.__exit__()
        if self._at is not None:
            self._at.taken, self._at = False, None
        self._change.notify()

    def _listen(self, pipe: IO[bytes]) -> None:
        """Take what comes back, and give it more at once, in a thread."""
        # our own child, of the same code, answers through a pipe that nobody else has
        with suppress(Exception):
            while True:
                result = pickle.load(pipe)
                with self._change:
                    assert self._at is not None
                    self._at.result, self._at.done = result, True
                    self._at = None
                    self._give()
                    self._change.notify()
        with self._change:
            self._lost()


ALONE = Second()  # never begun: all is done here


def _alone() -> Second:
    return ALONE


def serve() -> None:
    """What the second process does: tasks in, results out, until nothing more comes."""
    _hold_memory()
    come, go = sys.stdin.buffer, sys.stdout.buffer
    with suppress(EOFError, OSError):
        while True:
            pickle.dump(pickle.load(come)(), go)
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
