"""A warm process that answers questions, always only the newest.

What takes long (what explains a fault, how rings lie) is worked out beside the page, and a question
that came later ends whatever is still being answered. Questions and answers are lines of JSON; an
answer repeats the number of its question.
"""

from __future__ import annotations

import _thread
import json
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from types import FrameType
from typing import IO, Any

Data = dict[str, Any]
Answer = Callable[[Data], Iterator[Data]]


class _Dropped(BaseException):
    """A newer question came; no handler of mishaps may take this for one."""


class _Newest:
    """The newest question, and whether an older one is being answered just now."""

    def __init__(self) -> None:
        self.waiting: queue.SimpleQueue[Data | None] = queue.SimpleQueue()
        self.number = 0
        self.answering: int | None = None

    def drop(self, _: int, frame: FrameType | None) -> None:
        """End what is being answered, where it is not the newest question.

        Not within an import, which would leave a module half read for good.
        """
        while frame is not None:
            if frame.f_code.co_filename.startswith("<frozen importlib"):
                return
            frame = frame.f_back
        if self.answering is not None and self.answering != self.number:
            self.answering = None
            raise _Dropped

    def listen(self, questions: IO[str]) -> None:
        """Take questions as they come; at the end of them stop."""
        for line in questions:
            question = json.loads(line)
            self.number = question["number"]
            self.waiting.put(question)
            _thread.interrupt_main()
        self.number = -1
        self.waiting.put(None)
        _thread.interrupt_main()


def serve(answer: Answer, mishap: Callable[[Exception], str]) -> None:
    """Answer what comes in on stdin until it ends. mishap: words for a fault of the program."""
    newest = _Newest()
    signal.signal(signal.SIGINT, newest.drop)  # Ctrl-C in the terminal ends the page, which ends us
    threading.Thread(target=newest.listen, args=(sys.stdin,), daemon=True).start()
    while (question := newest.waiting.get()) is not None:
        if question["number"] != newest.number or len(question) == 1:
            continue  # one that asks nothing only ends what was asked before
        number = question["number"]
        answers = _told(answer, question, mishap)
        with suppress(_Dropped):
            while newest.number == number:
                newest.answering = number
                told = next(answers, None)
                newest.answering = None  # a line is written whole
                if told is None:
                    break
                _put({"number": number, **told})


def _put(told: Data) -> None:
    try:
        sys.stdout.write(json.dumps(told) + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        os._exit(0)  # nobody listens any more, and there is nothing to tidy up


def _told(answer: Answer, question: Data, mishap: Callable[[Exception], str]) -> Iterator[Data]:
    """The answers to a question; at the end of them that there are no more."""
    try:
        yield from answer(question)
    except Exception as fault:
        yield {"mishap": mishap(fault)}
    yield {"done": True}


class Worker:
    """The other end: such a process, asked from the page.

    command: what starts it. heard: gets the newest question and each of its answers; it is called
    in a thread of its own. The process starts with the first question, and again where it ended.
    """

    def __init__(self, command: Sequence[str], heard: Callable[[Data, Data], None]) -> None:
        self._command, self._heard = command, heard
        self._question: Data = {"number": 0}
        self._process: subprocess.Popen[str] | None = None

    def _start(self) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            self._command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
        )
        threading.Thread(target=self._listen, args=(process,), daemon=True).start()
        return process

    def _listen(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            told = json.loads(line)
            question = self._question
            if told.pop("number") == question["number"]:
                self._heard(question, told)

    def ask(self, **question: Any) -> None:
        """Ask something; whatever was asked before is answered no more."""
        self._question = {"number": self._question["number"] + 1, **question}
        line = json.dumps(self._question) + "\n"
        if self._process is not None and self._process.poll() is None:
            with suppress(OSError):  # it ended this very moment
                self._tell(self._process, line)
                return
        self._process = self._start()
        self._tell(self._process, line)

    def drop(self) -> None:
        """Have nothing answered any more, where something still is."""
        if self._process is not None:
            self.ask()

    @staticmethod
    def _tell(process: subprocess.Popen[str], line: str) -> None:
        assert process.stdin is not None
        process.stdin.write(line)
        process.stdin.flush()

    def stop(self) -> None:
        """End the process; the next question starts it again."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None
