"""`ringstep fit`: what it says and writes, what it keeps, and what it does when it cannot go on."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import BYZANTINE, LIBRARY, ROOT, SIMPLE, view

import ringstep.space.fit as solver
from ringstep.checks.view import with_variant
from ringstep.commands import fit_store
from ringstep.commands.cli import main
from ringstep.commands.fit import _Progress
from ringstep.language.cache import keep
from ringstep.paper.fit_report import remaining, several, unit_sides
from ringstep.space.fit_cell import laid_out
from ringstep.space.recheck import recheck
from ringstep.space.result import copies

Out = pytest.CaptureFixture[str]
WEAVES = ("simple_chain", "european_4_slanting", "two_and_one")
BLOCKED = (
    "import sys\n"
    "class Gone:\n"
    "    def find_spec(self, name, path=None, target=None):\n"
    "        if name.partition('.')[0] == 'numpy':\n"
    "            raise ModuleNotFoundError(f'no {name}', name=name)\n"
    "sys.meta_path.insert(0, Gone())\n"
)


@pytest.fixture(scope="module", autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache of its own for these tests; each fit is worked out once."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RINGSTEP_CACHE", str(folder))
        yield folder / "ringstep"


def run(folder: Path, name: str, *more: str) -> int:
    return main(
        ["fit", str(LIBRARY / f"{name}.weave"), "--effort", "0", "--to", str(folder), *more]
    )


def text(name: str) -> str:
    return (LIBRARY / f"{name}.weave").read_text(encoding="utf-8")


def no_search(*_: object, **__: object) -> None:
    raise AssertionError("it searched again")


# -- what it says and writes -----------------------------------------------------------------------


@pytest.mark.parametrize("name", WEAVES)
def test_it_reports_and_draws(name: str, tmp_path: Path, capsys: Out) -> None:
    assert run(tmp_path, name) == 0
    said = capsys.readouterr()
    assert said.err == "", "progress is for terminals"
    assert "brute force" in said.out
    assert "all right" in said.out
    assert "NOT" not in said.out
    assert "Computed" in said.out
    assert "not protective or load-bearing" in said.out
    listed = re.findall(r"^  (form\S*\.\w+)$", said.out, re.M)
    assert sorted(listed) == sorted(p.name for p in tmp_path.iterdir())
    laid = laid_out(view(text(name)))
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    form = remaining(made.fit)[0]
    assert form.fits
    for pose in (form.tight, form.shown, form.stretched, form.pushed):
        assert pose is not None
        assert recheck(pose, form.cell).right(1e-5)
    smallest = float(re.search(r"smallest AR found (?:\w+ )?([\d.]+)", said.out)[1])  # type: ignore[index]
    assert smallest == pytest.approx(form.smallest(0), abs=0.006)
    for picture in tmp_path.glob("*.svg"):
        title = ElementTree.parse(picture).getroot().find("{http://www.w3.org/2000/svg}title")
        assert title is not None
        assert "Computed" in str(title.text)
    mesh = next(tmp_path.glob("*.obj")).read_text(encoding="utf-8")
    assert len(re.findall(r"^o ", mesh, re.M)) == len(several(form))


def test_a_simple_chain_has_its_known_measures(tmp_path: Path, capsys: Out) -> None:
    # two wires side by side fill a ring of AR 2; pulled straight each ring adds its inside
    # diameter, here 5 mm (geometry, also the sample line of the shipped recipe)
    assert run(tmp_path, "simple_chain") == 0
    said = capsys.readouterr().out
    assert "smallest AR found 2.00 (hard packing bound 2.00)" in said
    assert re.search(r"one unit +hangs 5\.00 mm long; [\d.]+ mm pushed together", said)
    length = fit_store.fitted_length(view(text("simple_chain")))
    assert length is not None
    assert length[0] < 3.0
    assert length[1] == pytest.approx(5.0, abs=0.01)


def test_sides_of_a_sheet_are_those_of_its_copies() -> None:
    laid = laid_out(view(text("european_4_slanting")))
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    form = made.fit.forms[0]
    wide, high = unit_sides(laid, form, form.shown)
    # the area of a unit is what one ring takes; from copies of its centre, not from the formula
    (a,), (b,), (c,) = (copies(form.shown, [s])[:1] for s in ((0, 0), (1, 0), (0, 1)))
    p = [y - x for x, y in zip(a.centre, b.centre, strict=True)]
    q = [y - x for x, y in zip(a.centre, c.centre, strict=True)]
    area = abs(p[0] * q[1] - p[1] * q[0]) / (form.units[0] * form.units[1])
    assert wide * high == pytest.approx(area, rel=1e-6)


def test_a_length_comes_only_from_what_was_kept_of_a_chain() -> None:
    assert fit_store.fitted_length(view(text("two_and_one"))) is not None
    assert fit_store.fitted_length(view(BYZANTINE)) is None
    assert fit_store.fitted_length(view(text("european_4_slanting"))) is None, "no chain"


@pytest.mark.parametrize("lack", ["fits", "as_said", "folds_kept"])
def test_what_is_not_the_weave_has_no_length(lack: str, cache: Path) -> None:
    seen = view(text("two_and_one"))
    laid = laid_out(seen)
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    forms = tuple(replace(f, **{lack: False}) for f in made.fit.forms)
    before = set(cache.iterdir())
    fit_store.put(replace(made, fit=replace(made.fit, effort=3, forms=forms)))
    assert fit_store.fitted_length(seen) is None
    for path in set(cache.iterdir()) - before:
        path.unlink()
    assert fit_store.fitted_length(seen) is not None


def test_all_tells_every_form(tmp_path: Path, capsys: Out) -> None:
    laid = laid_out(view(text("two_and_one")))
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    assert run(tmp_path, "two_and_one", "--all") == 0
    said = capsys.readouterr().out
    assert len(re.findall(r"smallest AR found", said)) == len(made.fit.forms)
    assert len(list(tmp_path.glob("*.obj"))) == len(made.fit.forms)


# -- what it keeps ---------------------------------------------------------------------------------


def test_what_was_kept_is_read_again_exactly(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(tmp_path / "one", "simple_chain") == 0
    first = capsys.readouterr().out
    with monkeypatch.context() as patch:
        patch.setattr(solver, "fit", no_search)
        assert run(tmp_path / "two", "simple_chain") == 0
        for more in (["--again"], ["--seed", "1"]):
            assert run(tmp_path / "two", "simple_chain", *more) == 2
            assert "it searched again" in capsys.readouterr().err
    capsys.readouterr()
    assert run(tmp_path / "three", "simple_chain", "--again") == 0
    third = capsys.readouterr().out
    assert third.replace("three", "one") == first, "the same input, the same result"
    for path in (tmp_path / "one").iterdir():
        for other in ("two", "three"):
            assert (tmp_path / other / path.name).read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    "damage",
    [
        lambda old: old[: len(old) // 2],
        lambda old: old.replace(b'"room": ', b'"room": 1', 1),
        lambda old: b"",
        lambda old: b"[" * 100_000,
        lambda old: old[:32] + b"{}",
    ],
)
def test_a_damaged_file_is_not_believed(damage: Callable[[bytes], bytes], cache: Path) -> None:
    laid = laid_out(view(text("simple_chain")))
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    (path,) = cache.glob(f"fit-{fit_store.cell_key(laid.cell)}-0-0")
    old = path.read_bytes()
    broken = damage(old)
    assert broken != old
    path.write_bytes(broken)
    assert fit_store.get(laid.cell, 0, 0) is None
    assert fit_store.fitted_length(view(text("simple_chain"))) is None
    fit_store.put(made)
    assert fit_store.get(laid.cell, 0, 0) == made
    assert path.read_bytes() == old


@pytest.mark.parametrize("shape", ["[]", '{"fit": {}, "seen": [], "steps": []}', '{"fit": 3}', "7"])
def test_a_fit_of_another_shape_counts_as_none(shape: str) -> None:
    """Kept whole, with its check sum, by a program that kept something else under that name."""
    laid = laid_out(view(text("simple_chain")))
    made = fit_store.get(laid.cell, 0, 0)
    assert made is not None
    name = f"fit-{fit_store.cell_key(laid.cell)}-0-0"
    keep(name, name, shape.encode())
    assert fit_store.get(laid.cell, 0, 0) is None
    fit_store.put(made)
    assert fit_store.get(laid.cell, 0, 0) == made


def key(recipe: str, variant: str | None = None) -> str:
    return fit_store.cell_key(laid_out(with_variant(view(recipe), variant)).cell)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("start:", "# a comment\n\nstart:"),
        ('weave "Byzantine chain"', 'weave "Another title"'),
        ("  add 2 A through C picks 2", "  add 2 A through C picks 2\n    hint gently"),
        ("copper", "brass, colour red"),
        ("chain 20 units", "chain 30 units"),
        ("wire 1.2 mm", "wire 0.12 cm"),
    ],
)
def test_wording_does_not_change_the_key(old: str, new: str) -> None:
    changed = BYZANTINE.replace(old, new)
    assert changed != BYZANTINE
    assert key(changed) == key(BYZANTINE)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("wire 1.2 mm", "wire 1.3 mm"),
        ("inside 4.2 mm", "inside 4.3 mm"),
        ("  fold back B\n", ""),
    ],
)
def test_sizes_and_folds_change_the_key(old: str, new: str) -> None:
    changed = BYZANTINE.replace(old, new)
    assert changed != BYZANTINE
    assert key(changed) != key(BYZANTINE)


def test_a_lay_changes_the_key(monkeypatch: pytest.MonkeyPatch) -> None:
    keys = {key(text("persian_linked"), v) for v in ("calm", "mirror", "zigzag")}
    assert len(keys) == 3
    before = key(SIMPLE)
    monkeypatch.setattr(fit_store, "METHOD", fit_store.METHOD + 1)
    assert key(SIMPLE) != before


# -- when it cannot go on --------------------------------------------------------------------------


def test_breaking_off_keeps_the_best_so_far(
    tmp_path: Path, capsys: Out, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(self: _Progress, stage: str, done: int, total: int, least: float) -> None:
        if stage == "starts" and least:
            raise KeyboardInterrupt

    monkeypatch.setattr(_Progress, "tell", stop)
    kept = set(cache.glob("*"))
    assert run(tmp_path, "doubled_chain") == 0
    said = capsys.readouterr().out
    assert "broken off" in said
    assert "best so far" in said
    assert "all right" in said
    assert (tmp_path / "form-front.svg").exists()
    assert set(cache.iterdir()) == kept, "what was broken off is not kept"


def test_breaking_off_at_once_says_so(
    tmp_path: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(self: _Progress, stage: str, done: int, total: int, least: float) -> None:
        if total:
            raise KeyboardInterrupt

    monkeypatch.setattr(_Progress, "tell", stop)
    assert run(tmp_path, "doubled_chain") == 2
    assert "broken off before any layout was found" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_progress_shows_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for stream, shown in ((Terminal(), True), (io.StringIO(), False)):
        monkeypatch.setattr(sys, "stderr", stream)
        progress = _Progress()
        progress.tell("starts", 2, 20, 2.7341)
        progress.clear()
        said = stream.getvalue()
        assert ("starts 3 of 20" in said) == shown
        assert ("2.734" in said) == shown
        assert said.endswith("\r") == shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--variant", "storm"], "no variant 'storm'"),
        (["--seed", "-3"], "--seed"),
    ],
)
def test_a_wish_that_cannot_be_met_is_said(
    words: list[str], told: str, tmp_path: Path, capsys: Out
) -> None:
    assert run(tmp_path, "persian_linked", *words) == 2
    assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_recipe_that_cannot_be_laid_out_is_said(tmp_path: Path, capsys: Out) -> None:
    loose = tmp_path / "one.weave"
    loose.write_text(
        SIMPLE.replace("all  wire 1.2 mm, inside 5 mm, copper", "all  copper"), encoding="utf-8"
    )
    assert main(["fit", str(loose)]) == 2
    assert "one.weave" in capsys.readouterr().err
    wrong = tmp_path / "two.weave"
    wrong.write_text(SIMPLE.replace("meets 2", "meets 3"), encoding="utf-8")
    assert main(["fit", str(wrong)]) == 2
    assert "has errors" in capsys.readouterr().err


# -- where numpy is not loaded ---------------------------------------------------------------------


def without_numpy(program: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", BLOCKED + program],
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
    )


def test_all_other_commands_go_without_numpy(tmp_path: Path) -> None:
    file = str(LIBRARY / "doubled_chain.weave")
    lines = [
        ["check", file],
        ["steps", file],
        ["draw", file, "--format", "dot", "--to", "pictures"],
        ["sizes", file],
        ["count", file],
        ["weaves"],
        ["fit", "--help"],
    ]
    done = without_numpy(
        "from ringstep.commands.cli import main\n"
        f"for words in {lines!r}:\n"
        "    try:\n"
        "        code = main(words)\n"
        "    except SystemExit as end:\n"
        "        code = end.code\n"
        "    assert code == 0, (words, code)\n"
        "assert 'numpy' not in sys.modules\n",
        tmp_path,
    )
    assert done.returncode == 0, done.stderr


def test_what_was_kept_is_read_without_numpy(tmp_path: Path) -> None:
    file = str(LIBRARY / "two_and_one.weave")
    assert run(tmp_path, "two_and_one") == 0  # kept before, where it runs after the others
    done = without_numpy(
        "from ringstep.commands.rim import view; from ringstep.commands import fit_store\n"
        f"seen = view({file!r})\n"
        "print(fit_store.fitted_length(seen))\n",
        tmp_path,
    )
    assert done.returncode == 0, done.stderr
    want = fit_store.fitted_length(view(text("two_and_one")))
    assert done.stdout == f"{want}\n"
