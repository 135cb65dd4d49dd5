"""Both ends of the process beside the page, each part of them alone and in this process."""

from __future__ import annotations

import io
import json
import queue
import signal
import threading
import time
from collections.abc import Callable, Iterator
from types import SimpleNamespace
from typing import Any

import pytest

from ringstep.table import worker
from ringstep.table.worker import Data, Worker, serve

THREAD = threading.Thread  # it is another within some tests

# -- the process -----------------------------------------------------------------------------------


class Questions:
    """What comes in: some lines at once, then others when they are given, until the end."""

    def __init__(self, *first: Data) -> None:
        self.lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self.first = [json.dumps(one) for one in first]
        self.all_in = threading.Event()

    def give(self, question: Data | None) -> None:
        self.lines.put(json.dumps(question) if question else None)

    def __iter__(self) -> Iterator[str]:
        yield from self.first
        self.all_in.set()
        while (line := self.lines.get()) is not None:
            yield line


class Told(io.StringIO):
    """What is said; each line is looked at as soon as it is whole."""

    def __init__(self, heard: Callable[[Data], None]) -> None:
        super().__init__()
        self.heard, self.said = heard, list[Data]()

    def flush(self) -> None:
        lines = self.getvalue().splitlines(keepends=True)
        for line in lines[len(self.said) :]:
            assert line.endswith("\n")
            self.said.append(json.loads(line))
            self.heard(self.said[-1])


def soon(look: Callable[[], bool]) -> None:
    """Wait until something is so; not for ever."""
    end = time.monotonic() + 5
    while not look():
        assert time.monotonic() < end
        time.sleep(0.001)


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., list[Data]]]:
    """Serves questions here, without interrupts, and gives what was said."""
    before = signal.getsignal(signal.SIGINT)
    interrupts: list[int] = []
    monkeypatch.setattr(
        worker, "_thread", SimpleNamespace(interrupt_main=lambda: interrupts.append(1))
    )
    threads: list[threading.Thread] = []

    def run(
        questions: Questions, answer: worker.Answer, heard: Callable[[Data], None]
    ) -> list[Data]:
        class Begun(threading.Thread):
            def start(self) -> None:
                threads.append(self)
                super().start()
                assert questions.all_in.wait(5)

        monkeypatch.setattr(worker.threading, "Thread", Begun)
        told = Told(heard)
        monkeypatch.setattr(worker.sys, "stdin", questions)
        monkeypatch.setattr(worker.sys, "stdout", told)
        serve(answer, lambda fault: f"{type(fault).__name__}: {fault}")
        assert signal.getsignal(signal.SIGINT).__func__ is worker._Newest.drop  # type: ignore[union-attr]
        (thread,) = threads
        assert thread.daemon, "it must not keep the process alive"
        thread.join(5)
        return told.said

    yield run
    signal.signal(signal.SIGINT, before)


def test_a_question_is_answered_with_its_number_to_its_end(
    served: Callable[..., list[Data]],
) -> None:
    questions = Questions({"number": 7, "about": "it"})
    asked: list[Data] = []

    def answer(question: Data) -> Iterator[Data]:
        asked.append(question)
        yield {"one": 1}
        yield {"two": 2}
        if question["number"] == 8:
            raise ValueError("it broke")

    def heard(told: Data) -> None:
        if "done" in told:
            questions.give({"number": 8, "about": "more"} if told["number"] == 7 else None)

    assert served(questions, answer, heard) == [
        {"number": 7, "one": 1}, {"number": 7, "two": 2}, {"number": 7, "done": True},
        {"number": 8, "one": 1}, {"number": 8, "two": 2},
        {"number": 8, "mishap": "ValueError: it broke"}, {"number": 8, "done": True},
    ]  # fmt: skip
    assert asked == [{"number": 7, "about": "it"}, {"number": 8, "about": "more"}]


def test_only_the_newest_is_answered_and_a_bare_number_asks_nothing(
    served: Callable[..., list[Data]],
) -> None:
    questions = Questions({"number": 1, "about": "old"}, {"number": 2, "about": "new"})

    def answer(question: Data) -> Iterator[Data]:
        yield {"about": question["about"]}

    def bare() -> None:
        newest = signal.getsignal(signal.SIGINT).__self__  # type: ignore[union-attr]
        questions.give({"number": 3})
        soon(lambda: newest.number == 3 and newest.waiting.empty())
        time.sleep(0.02)
        questions.give({"number": 4, "about": "last"})

    def heard(told: Data) -> None:
        if "done" in told and told["number"] == 2:
            THREAD(target=bare, daemon=True).start()
        elif "done" in told:
            questions.give(None)

    said = served(questions, answer, heard)
    assert [(one["number"], one.get("about")) for one in said] == [
        (2, "new"), (2, None), (4, "last"), (4, None),
    ]  # fmt: skip


def test_what_is_asked_meanwhile_ends_the_answer(served: Callable[..., list[Data]]) -> None:
    """Also where no interrupt came through: after each line it is seen what is newest."""
    questions = Questions({"number": 1, "about": "long"})
    newest = threading.Event()

    def answer(question: Data) -> Iterator[Data]:
        if question["number"] == 1:
            yield {"part": 1}
            yield {"part": 2}
        newest.set()

    def heard(told: Data) -> None:
        if told.get("part") == 1:
            questions.give({"number": 2, "about": "short"})
            soon(lambda: worker_number() == 2)
        elif "done" in told:
            questions.give(None)

    def worker_number() -> object:
        return signal.getsignal(signal.SIGINT).__self__.number  # type: ignore[union-attr]

    assert served(questions, answer, heard) == [
        {"number": 1, "part": 1}, {"number": 2, "done": True},
    ]  # fmt: skip
    assert newest.is_set()


def test_a_dropped_answer_ends_and_the_next_question_is_taken(
    served: Callable[..., list[Data]],
) -> None:
    questions = Questions({"number": 1, "about": "long"})

    def answer(question: Data) -> Iterator[Data]:
        at = signal.getsignal(signal.SIGINT).__self__  # type: ignore[union-attr]
        assert at.answering == question["number"]
        if question["number"] == 1:
            questions.give({"number": 2, "about": "short"})
            soon(lambda: at.number == 2)
            at.drop(signal.SIGINT, None)
        yield {"whole": True}

    def heard(told: Data) -> None:
        assert signal.getsignal(signal.SIGINT).__self__.answering is None  # type: ignore[union-attr]
        if "done" in told:
            questions.give(None)

    assert served(questions, answer, heard) == [
        {"number": 2, "whole": True}, {"number": 2, "done": True},
    ]  # fmt: skip


def test_where_nobody_listens_the_process_ends_quietly(monkeypatch: pytest.MonkeyPatch) -> None:
    ended: list[int] = []

    def broken(_: str) -> None:
        raise BrokenPipeError

    monkeypatch.setattr(worker.sys, "stdout", SimpleNamespace(write=broken))
    monkeypatch.setattr(worker.os, "_exit", ended.append)
    worker._put({"number": 1})
    assert ended == [0]


# -- the newest question ---------------------------------------------------------------------------


def test_questions_are_taken_as_they_come_and_interrupt(monkeypatch: pytest.MonkeyPatch) -> None:
    newest, numbers = worker._Newest(), list[int]()
    assert (newest.number, newest.answering) == (0, None)
    interrupting = SimpleNamespace(interrupt_main=lambda: numbers.append(newest.number))
    monkeypatch.setattr(worker, "_thread", interrupting)
    newest.listen(io.StringIO('{"number": 3, "a": 1}\n{"number": 4}\n'))
    assert numbers == [3, 4, -1], "at the end nothing is newest"
    taken = [newest.waiting.get_nowait() for _ in range(3)]
    assert taken == [{"number": 3, "a": 1}, {"number": 4}, None]


@pytest.mark.parametrize(
    ("answering", "number", "files", "dropped"),
    [
        (1, 2, (), True),
        (1, 2, ("a.py", "b.py"), True),
        (2, 2, (), False),
        (None, 2, (), False),
        (1, 2, ("<frozen importlib._bootstrap>",), False),
        (1, 2, ("a.py", "<frozen importlib._bootstrap>", "b.py"), False),
        (1, 2, ("importlib.py",), True),
    ],
)
def test_what_is_answered_is_dropped_for_a_newer_one_outside_of_imports(
    answering: int | None, number: int, files: tuple[str, ...], dropped: bool
) -> None:
    newest = worker._Newest()
    newest.answering, newest.number = answering, number
    frame: Any = None
    for file in reversed(files):
        frame = SimpleNamespace(f_code=SimpleNamespace(co_filename=file), f_back=frame)
    if dropped:
        with pytest.raises(worker._Dropped):
            newest.drop(signal.SIGINT, frame)
        assert newest.answering is None, "it is dropped once"
        newest.drop(signal.SIGINT, frame)
    else:
        newest.drop(signal.SIGINT, frame)
        assert newest.answering == answering


# -- the other end ---------------------------------------------------------------------------------


class Process:
    """A process that answers what the test has it answer."""

    made: list[Process]

    def __init__(self, command: Any, stdin: int, stdout: int, encoding: str) -> None:
        assert (stdin, stdout, encoding) == (worker.subprocess.PIPE,) * 2 + ("utf-8",)
        self.command, self.ended = command, None
        self.stdin, self.stdout = self, self
        self.asked: list[Data] = []
        self.lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self.broken = self.killed = False
        self.flushed = 0
        Process.made.append(self)

    def write(self, line: str) -> None:
        if self.broken:
            raise BrokenPipeError
        assert line.endswith("\n")
        self.asked.append(json.loads(line))

    def flush(self) -> None:
        self.flushed += 1

    def poll(self) -> int | None:
        return self.ended

    def kill(self) -> None:
        self.killed = True
        self.lines.put(None)

    def wait(self) -> int:
        assert self.killed
        return 0

    def __iter__(self) -> Iterator[str]:
        while (line := self.lines.get()) is not None:
            yield line


@pytest.fixture
def asked(
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[tuple[Worker, queue.SimpleQueue[tuple[Data, Data]]]]:
    Process.made = []
    monkeypatch.setattr(worker.subprocess, "Popen", Process)
    heard: queue.SimpleQueue[tuple[Data, Data]] = queue.SimpleQueue()
    yield Worker(["start", "it"], lambda question, told: heard.put((question, told))), heard
    for process in Process.made:
        process.lines.put(None)


Asked = tuple[Worker, "queue.SimpleQueue[tuple[Data, Data]]"]


def test_the_process_begins_with_the_first_question(asked: Asked) -> None:
    one, heard = asked
    one.drop()
    one.stop()
    assert Process.made == [], "nothing is dropped or stopped that never began"
    before = set(threading.enumerate())
    one.ask(about="this", text="x")
    (process,) = Process.made
    assert process.command == ["start", "it"]
    assert process.asked == [{"number": 1, "about": "this", "text": "x"}]
    assert process.flushed == 1
    (listening,) = set(threading.enumerate()) - before
    assert listening.daemon
    process.lines.put('{"number": 1, "value": 5}')
    assert heard.get(timeout=5) == (process.asked[0], {"value": 5})


def test_only_answers_to_the_newest_question_are_heard(asked: Asked) -> None:
    one, heard = asked
    one.ask(about="this")
    one.ask(about="that")
    one.drop()
    one.ask(about="those")
    (process,) = Process.made
    assert process.asked == [
        {"number": 1, "about": "this"}, {"number": 2, "about": "that"}, {"number": 3},
        {"number": 4, "about": "those"},
    ]  # fmt: skip
    for number in (1, 3, 5, 4):
        process.lines.put(json.dumps({"number": number, "value": number}))
    assert heard.get(timeout=5) == ({"number": 4, "about": "those"}, {"value": 4})
    assert heard.empty()


@pytest.mark.parametrize("how", ["it ended", "it ends this moment", "it was stopped"])
def test_a_process_that_ended_is_begun_again(asked: Asked, how: str) -> None:
    one, heard = asked
    one.ask(about="this")
    (first,) = Process.made
    if how == "it ended":
        first.ended = 1
    elif how == "it ends this moment":
        first.broken = True
    else:
        one.stop()
        assert first.killed
        one.drop()
        assert len(Process.made) == 1, "there is nothing to drop"
    one.ask(about="that")
    assert first.asked == [{"number": 1, "about": "this"}]
    second = Process.made[1]
    assert second.asked == [{"number": 2, "about": "that"}]
    second.lines.put('{"number": 2, "value": 5}')
    assert heard.get(timeout=5)[1] == {"value": 5}
    one.ask(about="more")
    assert len(Process.made) == 2
