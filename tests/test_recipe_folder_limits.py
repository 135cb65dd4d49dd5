"""What the folder on the table refuses, and its mishaps: ways out, full disks, what is gone."""

from __future__ import annotations

import builtins
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from helpers import SIMPLE
from test_recipe_folder import CHANGED, OTHER, PAGE, cuff, names

from ringstep.commands.recipe_folder import RecipeFolder
from ringstep.commands.rim import Stop

# -- names and links that lead out -----------------------------------------------------------------

WAYS_OUT = [
    "../outside.weave", "..\\outside.weave", "./cuff.weave", "sub/../../outside.weave", "..", ".",
    "",
    "/etc/passwd", "/etc/x.weave", "\\\\host\\share\\x.weave", "C:\\x.weave", "c:x.weave", "C:",
    "cuff.weave\0", "cuff.weave\0.weave", "a\nb.weave", "a\x1b[2Jb.weave", "\ud800.weave",
    "cuff.weave:stream", "cuff.weave.", "cuff.weave ", ".weave", ".cuff.weave", ".cuff.weave.draft",
    "con.weave", "CON.weave", "Nul.weave", "aux.x.weave", "com1.weave", "LPT9.weave", "con .weave",
    "COM¹.weave", "conin$.weave", "prn", "x" * 195 + ".weave", "é" * 100 + ".weave",
    "%2e%2e%2foutside.weave/", "~/x.weave",
]  # fmt: skip


@pytest.mark.parametrize("name", WAYS_OUT)
def test_names_that_lead_elsewhere(bench: RecipeFolder, outside: Path, name: str) -> None:
    ways: list[Callable[[], object]] = [
        lambda: bench.opened(name),
        lambda: bench.save(name, CHANGED, None, over=True),
        lambda: bench.new(name, CHANGED),
        lambda: bench.keep_draft(name, CHANGED),
        lambda: bench.draft(name),
        lambda: bench.drop_draft(name),
        lambda: bench.made(name, PAGE, over=True),
        lambda: bench.page(name),
    ]
    for way in ways:
        with pytest.raises(Stop):
            way()
    assert names(bench) == ["cuff.weave"]
    assert sorted(os.listdir(bench.root.parent)) == ["bench", "outside.weave"]
    assert outside.read_text(encoding="utf-8") == "mine"
    assert cuff(bench) == SIMPLE.encode()


@pytest.mark.parametrize("name", ["notes.txt", "cuff", "weave", "cuff.weave.before"])
def test_only_recipes_are_opened(bench: RecipeFolder, name: str) -> None:
    (bench.root / name).write_text("mine", encoding="utf-8")
    for way in (bench.opened, lambda n: bench.save(n, CHANGED, b"mine", over=True)):
        with pytest.raises(Stop, match=r"such a name ends in \.weave$"):
            way(name)
    assert (bench.root / name).read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("to", ["../outside.weave", "absolute", "../gone.weave", "over the folder"])
def test_links_that_lead_elsewhere(bench: RecipeFolder, outside: Path, to: str) -> None:
    link = bench.root / "link.weave"
    if to == "over the folder":
        (bench.root / "up").symlink_to("..")
        link.symlink_to("up/outside.weave")
    else:
        link.symlink_to(outside if to == "absolute" else to)
    ways: list[Callable[[], object]] = [
        lambda: bench.opened("link.weave"),
        lambda: bench.save("link.weave", CHANGED, b"mine", over=True),
        lambda: bench.new("link", CHANGED),
        lambda: bench.made("link.weave", PAGE, over=True),
        lambda: bench.keep_draft("link.weave", CHANGED),
    ]
    for way in ways:
        with pytest.raises(Stop, match="link"):
            way()
    assert bench.recipes() == ["cuff.weave"]
    assert link.is_symlink()
    assert outside.read_text(encoding="utf-8") == "mine"
    assert not (outside.parent / "gone.weave").exists()
    assert ".link.weave.draft" not in names(bench)


@pytest.mark.parametrize("name", ["cuff.weave", "page.html"])
def test_a_draft_or_page_that_was_made_a_link(
    bench: RecipeFolder, outside: Path, name: str
) -> None:
    (bench.root / f".{name}.draft").symlink_to(outside)
    (bench.root / "page.html").symlink_to(outside)
    with pytest.raises(Stop, match="link"):
        bench.draft("cuff.weave") if name == "cuff.weave" else bench.made(name, PAGE, over=True)
    with pytest.raises(Stop, match="link"):
        bench.keep_draft("cuff.weave", CHANGED) if name == "cuff.weave" else bench.made(name, b"")
    assert outside.read_text(encoding="utf-8") == "mine"


def test_a_link_within_the_folder_stays_a_link(bench: RecipeFolder) -> None:
    (bench.root / "sub").mkdir()
    (bench.root / "sub" / "deep.weave").write_text(SIMPLE, encoding="utf-8")
    for name, to in (("twin.weave", "cuff.weave"), ("far.weave", "sub/deep.weave")):
        (bench.root / name).symlink_to(to)
        bench.save(name, CHANGED, bench.opened(name).seen)
        assert os.readlink(bench.root / name) == to
        assert (bench.root / to).read_text(encoding="utf-8") == CHANGED
    assert bench.recipes() == ["cuff.weave", "far.weave", "twin.weave"]


def test_links_in_a_circle(bench: RecipeFolder) -> None:
    (bench.root / "a.weave").symlink_to("b.weave")
    (bench.root / "b.weave").symlink_to("a.weave")
    with pytest.raises(Stop):
        bench.opened("a.weave")
    with pytest.raises(Stop):
        bench.save("a.weave", CHANGED, None, over=True)
    assert bench.recipes() == ["cuff.weave"]


def test_the_folder_itself_may_be_a_link(bench: RecipeFolder, tmp_path: Path) -> None:
    (tmp_path / "way").symlink_to("bench")
    assert RecipeFolder.at(tmp_path / "way").recipes() == ["cuff.weave"]
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "x.weave").write_text(SIMPLE, encoding="utf-8")
    shutil.rmtree(bench.root)
    bench.root.symlink_to("elsewhere")  # what was opened is not what is there now
    with pytest.raises(Stop, match="outside the folder"):
        bench.opened("x.weave")


# -- mishaps -------------------------------------------------------------------------------------


def test_the_folder_is_taken_away(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    shutil.rmtree(bench.root)
    ways: list[Callable[[], object]] = [
        bench.recipes,
        lambda: bench.opened("cuff.weave"),
        lambda: bench.save("cuff.weave", CHANGED, seen),
        lambda: bench.save("cuff.weave", CHANGED, seen, over=True),
        lambda: bench.new("other", CHANGED),
        lambda: bench.keep_draft("cuff.weave", CHANGED),
        lambda: bench.made("page.html", PAGE),
        lambda: RecipeFolder.at(bench.root),
    ]
    for way in ways:
        with pytest.raises(Stop, match=r"^there is no folder .*; put it back, then try again$"):
            way()
    assert not bench.root.exists()  # a folder taken away is not made again


def test_a_read_only_recipe(bench: RecipeFolder) -> None:
    (bench.root / "cuff.weave").chmod(0o444)
    seen = bench.opened("cuff.weave").seen
    with pytest.raises(Stop, match=r"cuff\.weave is read-only and is left as it is$"):
        bench.save("cuff.weave", CHANGED, seen)
    assert (cuff(bench), names(bench)) == (SIMPLE.encode(), ["cuff.weave"])


def test_a_folder_or_a_pipe_in_place_of_the_file(bench: RecipeFolder) -> None:
    seen = bench.opened("cuff.weave").seen
    (bench.root / "cuff.weave").unlink()
    os.mkfifo(bench.root / "cuff.weave")
    with pytest.raises(Stop, match="no plain file"):
        bench.opened("cuff.weave")
    with pytest.raises(Stop, match="no plain file"):
        bench.save("cuff.weave", CHANGED, seen, over=True)
    (bench.root / "cuff.weave").unlink()
    (bench.root / "cuff.weave").mkdir()
    with pytest.raises(Stop, match="is a folder"):
        bench.save("cuff.weave", CHANGED, seen, over=True)
    assert bench.recipes() == []
    assert names(bench) == ["cuff.weave"]


def test_a_folder_put_there_between_look_and_write(
    bench: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, replace = bench.opened("cuff.weave").seen, os.replace

    def late(aside: Path, path: Path) -> None:
        path.unlink()
        path.mkdir()
        replace(aside, path)

    monkeypatch.setattr(os, "replace", late)
    with pytest.raises(Stop, match=r"cuff\.weave cannot be written: Is a directory$"):
        bench.save("cuff.weave", CHANGED, seen)
    assert names(bench) == ["cuff.weave"]


#: What writes: (what is done, and how many files are opened and put in place for it).
WRITERS: dict[str, Callable[[RecipeFolder], object]] = {
    "save": lambda f: f.save("cuff.weave", CHANGED, SIMPLE.encode()),
    "save over": lambda f: f.save("cuff.weave", CHANGED, b"other", over=True),
    "new": lambda f: f.new("new", CHANGED),
    "draft": lambda f: f.keep_draft("cuff.weave", CHANGED),
    "made": lambda f: f.made("page.html", PAGE),
}


class Counted:
    """Calls a function, and fails at the n-th call."""

    def __init__(self, function: Callable[..., Any], fails_at: int) -> None:
        self.function, self.fails_at, self.calls = function, fails_at, 0

    def __call__(self, *args: Any, **more: Any) -> Any:
        self.calls += 1
        if self.calls == self.fails_at:
            raise OSError(28, "No space left on device")
        return self.function(*args, **more)


@pytest.mark.parametrize("what", ["open", "replace", "write"])
@pytest.mark.parametrize("writer", WRITERS)
def test_each_mishap_of_the_disk_leaves_whole_files(
    bench: RecipeFolder, monkeypatch: pytest.MonkeyPatch, writer: str, what: str
) -> None:
    whole = {SIMPLE.encode(), CHANGED.encode(), OTHER.encode(), PAGE}
    told = []
    for fails_at in range(1, 9):
        for path in bench.root.iterdir():
            path.unlink()
        (bench.root / "cuff.weave").write_bytes(SIMPLE.encode())
        (bench.root / ".new.weave.draft").write_bytes(OTHER.encode())
        with monkeypatch.context() as patch:
            if what == "replace":
                counted = Counted(os.replace, fails_at)
                patch.setattr(os, "replace", counted)
            elif what == "open":
                counted = Counted(builtins.open, fails_at)
                patch.setattr(builtins, "open", counted)
            else:
                counted = Counted(lambda file, data: file.write(data), fails_at)
                patch.setattr(builtins, "open", _opens_counted(counted))
            try:
                WRITERS[writer](bench)
            except Stop as fault:
                told.append(str(fault))
        assert not [name for name in names(bench) if name.endswith(".part")]
        assert {path.read_bytes() for path in bench.root.iterdir()} <= whole
        assert (bench.root / ".new.weave.draft").read_bytes() == OTHER.encode()
        if counted.calls < fails_at:  # it never came to that, so it was done
            break
        if writer != "save over" or fails_at == 1:
            assert cuff(bench) == SIMPLE.encode()
    assert len(told) == fails_at - 1
    assert told or (writer, what) == ("new", "replace")
    full = "No space left on device; make room on that disk and try again"
    assert all(words.endswith(f": {full}") for words in told)


def _opens_counted(counted: Counted) -> Callable[..., Any]:
    """The built-in `open`, whose files write through `counted`."""
    really = builtins.open

    class Slow:
        def __init__(self, file: Any) -> None:
            self.file = file

        def __enter__(self) -> Slow:
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()

        def read(self, *args: Any) -> Any:
            return self.file.read(*args)

        def write(self, data: bytes) -> Any:
            self.file.write(data[: len(data) // 2])  # half of it fits
            return counted(self.file, data[len(data) // 2 :])

    def opens(*args: Any, **more: Any) -> Any:
        return Slow(really(*args, **more))

    return opens


def test_what_another_program_holds_open_on_windows(
    bench: RecipeFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:
        fault = PermissionError(13, "Access is denied")
        fault.winerror = 5  # type: ignore[attr-defined,unused-ignore]
        raise fault

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(Stop, match="another program may hold it open, so close it there"):
        bench.save("cuff.weave", CHANGED, bench.opened("cuff.weave").seen)
    assert (cuff(bench), names(bench)) == (SIMPLE.encode(), ["cuff.weave"])
