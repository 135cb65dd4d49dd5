"""Drawing anew removes its own pictures of steps that are no more, and touches nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers import SIMPLE

from ringstep.commands.cli import main
from ringstep.commands.leftovers import leftovers, marked

LONGER = SIMPLE.replace("add A through prev A", "add A through prev A\n  spread A")


def drawn(folder: Path, text: str, name: str = "quay", *words: str) -> None:
    recipe = folder / f"{name}.weave"
    recipe.write_text(text, encoding="utf-8")
    assert main(["draw", str(recipe), "--to", str(folder / "out"), *words]) == 0


def test_a_picture_of_a_step_that_is_gone_is_removed_and_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    drawn(tmp_path, LONGER, "quay", "--format", "svg", "--format", "dot", "--format", "png")
    assert {p.name for p in out.glob("step-03.*")} == {"step-03.svg", "step-03.dot", "step-03.png"}
    assert "removed" not in capsys.readouterr().out
    drawn(tmp_path, SIMPLE)
    assert not list(out.glob("step-03.*"))
    assert {"step-01.svg", "step-02.svg", "key.svg"} <= {p.name for p in out.iterdir()}
    told = capsys.readouterr().out
    assert "removed step-03.dot, step-03.png and step-03.svg" in told


def test_other_files_are_left_as_they_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    drawn(tmp_path, LONGER, "pier")
    mine = {"step-09.svg": "<svg/>", "step-10.dot": "graph {}", "notes-03.svg": "my notes"}
    for name, text in mine.items():
        (out / name).write_text(text, encoding="utf-8")
    drawn_by_us = (out / "step-03.svg").read_bytes()
    (out / "step-3b.svg").write_bytes(drawn_by_us)
    (out / "step-11.svg").symlink_to(out / "step-3b.svg")
    (out / "step-12.svg").mkdir()
    drawn(tmp_path, SIMPLE, "quay")
    assert (out / "step-03.svg").read_bytes() == drawn_by_us, "drawn of another recipe"
    for name, text in mine.items():
        assert (out / name).read_text(encoding="utf-8") == text
    assert (out / "step-3b.svg").exists()
    assert (out / "step-11.svg").is_symlink()
    assert (out / "step-12.svg").is_dir()
    assert "removed" not in capsys.readouterr().out


def test_a_picture_that_cannot_be_read_is_left_alone_and_the_next_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("step-02.svg", "step-03.svg"):
        (tmp_path / name).write_bytes(marked({name: b"<svg></svg>\n"}, "It")[name])
    assert [p.name for p in leftovers(tmp_path, [], "It")] == ["step-02.svg", "step-03.svg"]
    read = Path.read_bytes

    def refused(path: Path) -> bytes:
        if path.name == "step-02.svg":
            raise PermissionError(13, "Permission denied")
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", refused)
    assert [p.name for p in leftovers(tmp_path, [], "It")] == ["step-03.svg"]


def test_the_mark_cannot_end_a_comment_and_tells_recipes_apart(tmp_path: Path) -> None:
    for recipe in ("a--><b>", "a b", "a_b"):
        pictures = marked({"step-04.svg": b"<svg></svg>\n"}, recipe)
        told = pictures["step-04.svg"].decode()
        assert told.count("-->") == 1
        assert told.count("<") == 3
        (tmp_path / "step-04.svg").write_bytes(pictures["step-04.svg"])
        others = {"a--><b>", "a b", "a_b"} - {recipe}
        assert leftovers(tmp_path, ["step-01"], recipe) == [tmp_path / "step-04.svg"]
        assert not any(leftovers(tmp_path, ["step-01"], other) for other in others)
