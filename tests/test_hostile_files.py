"""Files, streams and signals that go wrong: nothing half-written, nothing else touched.

Processes are used only where a stream, a limit or a signal belongs to one.
"""

from __future__ import annotations

import fcntl
import os
import pickle
import random
import resource
import signal
import stat
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import lark
import pytest
from fuzz import run
from helpers import ROOT, SIMPLE, hears_ctrl_c

from ringstep.commands import rim
from ringstep.commands.cli import main
from ringstep.commands.rim import Stop, not_a_source, write_aside
from ringstep.language.cache import keep, kept, kept_names
from ringstep.language.parse import _BEHIND
from ringstep.language.shipped import grammar_text

Out = pytest.CaptureFixture[str]


def process(*words: str, **more: object) -> subprocess.CompletedProcess[bytes]:
    """Run the program as its own process."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), **more.pop("env", {})}  # type: ignore[dict-item]
    return subprocess.run(
        [sys.executable, "-m", "ringstep", *words], capture_output=True, env=env, timeout=60, **more
    )  # type: ignore[call-overload, no-any-return]


# -- files -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [b"\xff", b"\xfe\xff\xd8", b"\xff\xfe\x00\xd8\x00\x00", b"\xed\xa0\x80", b"a\0b",
     SIMPLE.encode("utf-16-le"), SIMPLE.encode("utf-32"), SIMPLE.encode() + b"\xe9"],
)  # fmt: skip
def test_bytes_that_are_no_text(folder: Path, data: bytes) -> None:
    (folder / "it.weave").write_bytes(data)
    for command in ("check", "steps", "tidy"):
        told = run((command, "it.weave"))
        assert not told.fault
        assert (told.code, told.out) == (2, "")
        assert "it.weave, line " in told.err
    assert (folder / "it.weave").read_bytes() == data


def test_utf_16_with_its_mark_is_read(folder: Path) -> None:
    (folder / "it.weave").write_bytes(SIMPLE.encode("utf-16"))
    assert main(["check", "it.weave"]) == 0


def test_names_that_are_no_recipe(folder: Path, capsys: Out) -> None:
    for name in ("", "a\0b", "\ud800", "x" * 5_000, ".", "it.weave/x", "/proc/self/mem", "-x"):
        told = run(("steps", name))
        assert (told.code, told.fault) == (2, ""), name
    assert run(("steps", "")).err == "ringstep: the name of a file is empty; name a recipe\n"


def test_a_named_pipe_and_one_without_end(folder: Path) -> None:
    os.mkfifo("pipe")
    writer = subprocess.Popen(["cp", "it.weave", "pipe"])
    assert process("check", "pipe", cwd=folder).returncode == 0
    assert writer.wait(10) == 0
    told = run(("check", "/dev/zero"))
    assert told.err == "ringstep: /dev/zero does not end; a recipe has at most 500,000 bytes\n"


TARGETS = ("recipe", "link", "twin", "other", "folder", "pipe", "inside a file")


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("command", ["handout", "kit"])
def test_nothing_takes_the_place_of_what_was_not_made(
    folder: Path, target: str, command: str
) -> None:
    places = ("it.weave", "l.html", "h.html", "o.WEAVE", "f", "p.html", "it.weave/x")
    names = dict(zip(TARGETS, places, strict=True))
    os.symlink("it.weave", "l.html")
    os.link("it.weave", "h.html")
    os.mkdir("f")
    os.mkfifo("p.html")
    Path("o.WEAVE").write_text("mine", encoding="utf-8")
    before = {p.name: p.lstat().st_ino for p in folder.iterdir()}
    words = ("handout", "it.weave", "--pictures", "none", "--to", names[target])
    if command == "kit":
        words = ("kit", "it.weave", "--slip", names[target])
    told = run(words)
    assert not told.fault
    made = target == "folder" and command == "handout"  # the page goes into a folder
    assert told.code == (0 if made else 2)
    assert {p.name: p.lstat().st_ino for p in folder.iterdir()} == before
    assert Path("it.weave").read_text(encoding="utf-8") == SIMPLE
    assert Path("o.WEAVE").read_text(encoding="utf-8") == "mine"


def test_the_price_list_and_a_recipe_named_like_a_picture(folder: Path) -> None:
    prices = "ring,pack,price,currency\nall,100,4.50,EUR\n"
    Path("prices.csv").write_text(prices, encoding="utf-8")
    told = run(("kit", "it.weave", "--prices", "prices.csv", "--slip", "prices.csv"))
    assert (told.code, Path("prices.csv").read_text(encoding="utf-8")) == (2, prices)
    os.rename("it.weave", "unit.dot")
    told = run(("draw", "unit.dot", "--format", "dot", "--to", "."))
    assert told.code == 2
    assert os.listdir(folder) != []
    assert Path("unit.dot").read_text(encoding="utf-8") == SIMPLE


def test_a_link_is_replaced_and_what_it_points_to_stays(folder: Path) -> None:
    Path("mine.txt").write_text("mine", encoding="utf-8")
    os.symlink("mine.txt", "page.html")
    assert run(("handout", "it.weave", "--pictures", "none", "--to", "page.html")).code == 0
    assert Path("mine.txt").read_text(encoding="utf-8") == "mine"
    assert not Path("page.html").is_symlink()


def test_a_link_laid_where_the_half_made_file_goes(folder: Path) -> None:
    Path("mine.txt").write_text("mine", encoding="utf-8")
    os.symlink("mine.txt", f".ringstep-{os.getpid()}.part")
    write_aside(Path("new.txt"), b"data")
    assert Path("mine.txt").read_text(encoding="utf-8") == "mine"
    assert Path("new.txt").read_bytes() == b"data"


@pytest.mark.parametrize("slip", [KeyboardInterrupt, OSError(28, "No space left on device")])
def test_a_write_broken_off_leaves_the_old_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch, slip: BaseException
) -> None:
    Path("page.html").write_text("old", encoding="utf-8")

    def fails(*_: object) -> None:
        raise slip

    monkeypatch.setattr(rim.os, "replace", fails)
    with pytest.raises((KeyboardInterrupt, Stop)):
        write_aside(Path("page.html"), b"new")
    assert sorted(os.listdir()) == ["it.weave", "page.html"]
    assert Path("page.html").read_text(encoding="utf-8") == "old"


def test_a_full_disk(folder: Path) -> None:
    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (2_000, 2_000))

    Path("page.html").write_text("old", encoding="utf-8")
    done = process("handout", "it.weave", "--pictures", "none", "--to", "page.html", cwd=folder,
                   preexec_fn=small)  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == b"ringstep: page.html cannot be written: File too large\n"
    assert Path("page.html").read_text(encoding="utf-8") == "old"
    assert sorted(os.listdir()) == ["it.weave", "page.html"]


@pytest.mark.parametrize("old", [0o600, 0o640, 0o664])
def test_what_is_written_anew_is_read_by_the_same_people(folder: Path, old: int) -> None:
    page, recipe = Path("page.html"), Path("it.weave")
    page.write_text("old", encoding="utf-8")
    recipe.write_text(SIMPLE.replace("add", " add"), encoding="utf-8")
    for file in (page, recipe):
        file.chmod(old)
    assert run(("handout", "it.weave", "--pictures", "none", "--to", "page.html")).code == 0
    assert run(("tidy", "it.weave")).code == 0
    assert page.read_text(encoding="utf-8") != "old"
    assert [stat.S_IMODE(file.stat().st_mode) for file in (page, recipe)] == [old, old]


def test_tidy_leaves_a_pipe_alone_and_reads_it_once(folder: Path) -> None:
    os.mkfifo("pipe")
    told = run(("tidy", "pipe"))
    assert told.err == (
        "ringstep: pipe is no plain file, so it is not written anew; --show prints it\n"
    )
    for option, out in (("--show", SIMPLE.encode()), ("--check", b"pipe: tidy already\n")):
        writer = subprocess.Popen(["cp", "it.weave", "pipe"])
        done = process("tidy", option, "pipe", cwd=folder)
        assert (done.returncode, done.stdout, done.stderr) == (0, out, b"")
        assert writer.wait(10) == 0


@pytest.mark.parametrize("command", ["tidy", "handout --pictures none --to page.html"])
def test_a_read_only_file_is_left_as_it_is(folder: Path, command: str) -> None:
    target = Path("it.weave" if command == "tidy" else "page.html")
    target.write_text(SIMPLE.replace("add", " add"), encoding="utf-8")
    target.chmod(0o444)
    before = target.read_bytes()
    first, *rest = command.split()
    told = run((first, "it.weave", *rest))
    assert (told.code, told.fault) == (2, "")
    assert told.err.endswith(f"{target} is read-only and is left as it is\n")
    assert target.read_bytes() == before
    assert sorted(os.listdir()) == sorted({"it.weave", str(target)})


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("watch", "pipe"), "pipe is no plain file, so it cannot be watched"),
        (("watch", "/dev/zero"), "/dev/zero is no plain file, so it cannot be watched"),
        (
            ("watch", "it.weave", "--to", "p.html"),
            "p.html is no plain file, so nothing is put in its place",
        ),
        (
            ("watch", "it.weave", "--to", "zero.html"),
            "zero.html is no plain file, so nothing is put in its place",
        ),
    ],
)
def test_watch_waits_for_no_pipe(folder: Path, words: tuple[str, ...], told: str) -> None:
    os.mkfifo("pipe")
    os.mkfifo("p.html")
    os.symlink("/dev/zero", "zero.html")
    done = process(*words, cwd=folder)
    assert (done.returncode, done.stderr.decode()) == (2, f"ringstep: {told}\n")


def test_what_is_refused_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a folder may not be looked into, even asking whether a file is there fails."""

    def refusing(ask: Callable[[Path], bool]) -> Callable[[Path], bool]:
        def refused(self: Path) -> bool:
            if self.name not in ("x", "x.weave", "it.weave"):
                return ask(self)
            raise PermissionError(13, "Permission denied", str(self))

        return refused

    monkeypatch.setattr(Path, "is_dir", refusing(Path.is_dir))
    monkeypatch.setattr(Path, "exists", refusing(Path.exists))
    for words, name in (
        (("new", "shut/x"), "shut/x.weave"),
        (("weaves", "--copy", "byzantine", "--to", "shut/x"), "shut/x"),
        (("tidy", "it.weave"), "it.weave"),
    ):
        told = run(words)
        assert told.code == 2
        assert told.err.startswith(f"ringstep: {name} cannot be used: Permission denied; make sure")


def test_a_full_disk_while_pictures_are_drawn(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, mode: str = "r", **_: object) -> object:
        if "x" in mode:
            raise OSError(28, "No space left on device")
        return open(path, mode)

    monkeypatch.setattr(rim, "open", full, raising=False)
    told = run(("draw", "it.weave", "--format", "png", "--to", "out"))
    assert (told.code, told.fault) == (2, "")
    assert "cannot be written: No space left on device" in told.err
    assert not list(folder.rglob("*.part"))


def test_a_source_by_any_name(folder: Path) -> None:
    with pytest.raises(Stop, match="is a recipe and is left as it is"):
        not_a_source(Path("it.weave"), None)
    not_a_source(Path("page.html"), "it.weave", None, "-")


# -- streams and signals ---------------------------------------------------------------------------


FULL = (
    "ringstep: what is printed cannot be written: No space left on device; make room on that disk"
    " and try again\n"
)


@pytest.mark.parametrize(
    ("line", "code", "err"),
    [
        ("check it.weave >&-", 0, ""),
        ("check it.weave <&- >&- 2>&-", 0, ""),
        ("check none <&- >&- 2>&-", 2, ""),
        ("check - <&-", 2, "ringstep: nothing is piped in, and '-' stands for that; name a file\n"),
        ("check it.weave >/dev/full", 2, FULL),
        ("check /dev/stdin <it.weave >/dev/null", 0, ""),
        ("weaves | head -n 1 >/dev/null", 0, ""),
        ("explain lay-unstated >/dev/full", 2, FULL),
    ],
)
def test_streams_that_are_closed_or_full(folder: Path, line: str, code: int, err: str) -> None:
    done = subprocess.run(
        ["bash", "-c", f"{sys.executable} -m ringstep {line}"],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        timeout=60,
    )
    assert (done.returncode, done.stderr.decode()) == (code, err)


@pytest.mark.parametrize(
    "env",
    [{"LANG": "C", "LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
     {"HOME": "/nonexistent", "XDG_CACHE_HOME": ""}, {"RINGSTEP_CACHE": "it.weave"},
     {"RINGSTEP_CACHE": "/proc"}, {"XDG_CACHE_HOME": "/dev/null"}],
)  # fmt: skip
def test_homes_caches_and_locales(folder: Path, env: dict[str, str]) -> None:
    Path("it.weave").write_text(SIMPLE.replace("Simple", "Größe 輪"), encoding="utf-8")
    done = process("steps", "it.weave", cwd=folder, env=env)
    assert (done.returncode, done.stderr) == (0, b"")
    assert "Größe 輪" in done.stdout.decode("utf-8")
    assert sorted(os.listdir()) == ["it.weave"]


def test_a_damaged_cache_is_made_anew_without_a_word(folder: Path) -> None:
    env = {"RINGSTEP_CACHE": str(folder / "k")}
    good = process("check", "it.weave", cwd=folder, env=env)
    cache = folder / "k" / "ringstep" / "weave.parser"
    whole = cache.read_bytes()
    chance = random.Random(1)
    for bad in (b"", whole[:100], whole[: len(whole) // 2], chance.randbytes(3_000), whole + b"x"):
        cache.write_bytes(bad)
        done = process("check", "it.weave", cwd=folder, env=env)
        assert (done.returncode, done.stdout, done.stderr) == (0, good.stdout, b"")
        assert len(cache.read_bytes()) > len(whole) // 2, "and kept for the next time"
    assert os.listdir(cache.parent) == ["weave.parser"]


def test_no_flipped_bit_of_what_was_kept_is_read(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", "k")
    data = random.Random(1).randbytes(300)
    keep("it", "made of this", data)
    assert kept("it", "made of this") == data
    assert kept("it", "made of that") is None
    assert kept("other", "made of this") is None
    file = Path("k/ringstep/it")
    whole = file.read_bytes()
    for bit in range(8 * len(whole)):
        one = bytearray(whole)
        one[bit // 8] ^= 1 << bit % 8
        file.write_bytes(one)
        assert kept("it", "made of this") is None


class _Command:
    """Pickled, it runs a command where it is loaded."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.mkdir, ("ran",)


def _shared_folder(cache: Path) -> None:
    cache.chmod(0o777)


def _shared_file(cache: Path) -> None:
    (cache / "weave.parser").chmod(0o660)


def _linked_file(cache: Path) -> None:
    (cache / "weave.parser").rename(cache / "other")
    (cache / "weave.parser").symlink_to("other")


def _linked_folder(cache: Path) -> None:
    cache.rename(cache.parent / "other")
    cache.symlink_to("other")


@pytest.mark.parametrize("done", [_shared_folder, _shared_file, _linked_file, _linked_folder])
def test_a_parser_that_others_could_have_written_is_not_loaded(
    folder: Path, done: Callable[[Path], None]
) -> None:
    """A file in which everything is right, but for who may write it."""
    env = {"RINGSTEP_CACHE": str(folder / "k")}
    good = process("check", "it.weave", cwd=folder, env=env)
    cache = folder / "k" / "ringstep"
    hostile = pickle.dumps({"data": _Command(), "memo": _Command()})
    key = repr((grammar_text(), _BEHIND, lark.__version__, sys.version_info[:3]))
    (cache / "weave.parser").write_bytes(sha256(key.encode() + hostile).digest() + hostile)
    process("check", "it.weave", cwd=folder, env=env)
    (folder / "ran").rmdir()  # what is this user's alone is loaded: the file is as it has to be
    done(cache)
    again = process("check", "it.weave", cwd=folder, env=env)
    assert (again.returncode, again.stdout, again.stderr) == (0, good.stdout, b"")
    assert not (folder / "ran").exists()


def test_nothing_is_read_from_or_put_into_somebody_elses_folder(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", "k")
    keep("it", "key", b"data")
    assert (kept("it", "key"), kept_names()) == (b"data", ["it"])
    somebody = os.geteuid() + 1
    monkeypatch.setattr("os.geteuid", lambda: somebody)
    keep("more", "key", b"data")
    assert (kept("it", "key"), kept_names()) == (None, [])
    assert os.listdir("k/ringstep") == ["it"]


def test_a_pipe_in_the_cache_keeps_nobody_waiting(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RINGSTEP_CACHE", "k")
    keep("it", "key", b"data")
    os.mkfifo("k/ringstep/pipe")
    assert kept("pipe", "key") is None


def test_two_at_once_make_the_cache(folder: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "RINGSTEP_CACHE": str(folder / "k")}
    words = [sys.executable, "-m", "ringstep", "check", "it.weave"]
    both = [subprocess.Popen(words, env=env, stdout=-1, stderr=-1) for _ in range(4)]
    told = [one.communicate(timeout=60) for one in both]
    assert [one.returncode for one in both] == [0] * 4
    assert {err for _, err in told} == {b""}
    assert len({out for out, _ in told}) == 1


def _wait_for_reader(end: int, pid: int) -> None:
    """Wait until a process has read all that is in a pipe, and sleeps in wait of more.

    A signal that comes just before it falls asleep does not wake it, in any program.
    """
    until = time.monotonic() + 60
    while True:
        left = int.from_bytes(fcntl.ioctl(end, termios.FIONREAD, bytes(4)), sys.byteorder)
        state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
        if not left and state == "S":
            return
        assert time.monotonic() < until, "the process reads nothing"
        time.sleep(0.01)


@pytest.mark.parametrize("command", ["check", "steps", "count", "tidy --show", "handout"])
def test_ctrl_c(folder: Path, command: str) -> None:
    """Sent while the recipe is being read, which a pipe can make last."""
    os.mkfifo("pipe")
    words = [sys.executable, "-m", "ringstep", *command.split(), "pipe"]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    one = subprocess.Popen(words, env=env, stdout=-1, stderr=-1, preexec_fn=hears_ctrl_c)
    end = os.open("pipe", os.O_WRONLY)  # goes on once the other end is open
    os.write(end, b"weave")
    _wait_for_reader(end, one.pid)
    one.send_signal(signal.SIGINT)
    out, err = one.communicate(timeout=60)
    os.close(end)
    assert (one.returncode, out, err) == (2, b"", b"\nringstep: stopped\n")
    assert sorted(os.listdir()) == ["it.weave", "pipe"]


def test_a_fault_of_its_own_is_told_as_one(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setattr("ringstep.checks.pipeline.findings_of", lambda *_, **__: 1 / 0)
    assert main(["check", "it.weave"]) == 2
    err = capsys.readouterr().err
    assert err.startswith("ringstep: it.weave: a fault of ringstep itself, not of the recipe: Zero")
    assert "Please tell its makers" in err
