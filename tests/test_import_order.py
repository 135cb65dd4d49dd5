"""The rooms of the package stand in one order, and each imports only from those above it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from helpers import ROOT, SIMPLE

PACKAGE = ROOT / "recipe"
#: From the text to the command line. A new room gets its place here, or this test fails.
ORDER = (
    "record", "source", "findings", "words", "lookalikes", "syntax", "measures", "metals",
    "library", "habits", "reading_sizes", "reading", "reading_sections", "read_tree", "parse",
    "layout", "places", "steps", "ring_graph", "siblings", "counting", "effort", "edits", "faults",
    "diagnosis", "forgotten", "repeats", "alike", "blame", "phrases", "view", "wording", "checks",
    "pipeline", "summary", "report", "tidy", "starter", "typed_size", "tables", "fitting", "tally",
    "kit_length", "kit", "outputs", "fit_cell", "fit_store", "rim", "commands",
    "cli", "__main__",
)  # fmt: skip
#: The solver of the extra `fit` is a house of its own, which the rooms behind it may call on.
APART = ("fit",)
#: The rim: the only places that look at files.
RIM = {"library", "rim", "cli", "commands", "fit_store", "outputs.drawing"}
#: Libraries that only one place knows.
KNOWN_TO = {
    "networkx": {"ring_graph"},
    "lark": {"parse", "read_tree"},
    "graphviz": {"outputs.drawing"},
    "rich": {"report", "outputs.step_list", "outputs.table_text"},
    "numpy": {"fit"},
}


def modules() -> dict[str, Path]:
    """Every file of the package by its dotted name without `recipe.`."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        name = ".".join(p for p in parts if p != "__init__")
        if name:
            found[name] = path
    return found


MODULES = modules()


def room(name: str) -> str:
    """The room a module belongs to."""
    return name.partition(".")[0]


def imported(path: Path) -> set[str]:
    """Every module that a file imports, late ones too, with what is taken from a package."""
    found: set[str] = set()
    for part in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(part, ast.Import):
            found |= {alias.name for alias in part.names}
        elif isinstance(part, ast.ImportFrom):
            assert part.level == 0, f"{path}: write the import out in full"
            assert part.module is not None
            found |= {part.module, *(f"{part.module}.{alias.name}" for alias in part.names)}
    return found


def own(path: Path) -> set[str]:
    """The modules of the package that a file imports, without `recipe.`."""
    return {m for name in imported(path) if (m := name.removeprefix("recipe.")) in MODULES}


def test_every_room_has_its_place() -> None:
    rooms = {room(name) for name in MODULES}
    assert rooms == {*ORDER, *APART}
    assert len(set(ORDER)) == len(ORDER)


@pytest.mark.parametrize("name", MODULES)
def test_imports_go_one_way(name: str) -> None:
    mine = room(name)
    for other in own(MODULES[name]):
        theirs = room(other)
        if theirs == mine:
            continue
        if mine in APART:
            pytest.fail(f"{name} stands apart and imports {other}")
        if theirs in APART:
            assert ORDER.index(mine) >= ORDER.index("outputs"), f"{name} imports {other}"
        else:
            assert ORDER.index(theirs) < ORDER.index(mine), f"{name} imports {other}"


@pytest.mark.parametrize("name", [m for m in MODULES if m.startswith("checks.")])
def test_checks_do_not_import_each_other(name: str) -> None:
    assert {room(m) for m in own(MODULES[name])} & {"checks"} == set()


@pytest.mark.parametrize("library", KNOWN_TO)
def test_a_library_is_known_to_one_place(library: str) -> None:
    users = {
        name
        for name, path in MODULES.items()
        if any(m.partition(".")[0] == library for m in imported(path))
    }
    allowed = KNOWN_TO[library]
    assert {u for u in users if u not in allowed and room(u) not in allowed} == set()
    assert library == "numpy" or users, f"nothing uses {library}"


def touches_files(path: Path) -> list[str]:
    """The calls of a file that read or write other files."""
    verbs = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "mkdir", "unlink",
             "rename", "rmdir", "glob", "rglob", "iterdir", "getsize", "isdir", "listdir",
             "makedirs", "remove"}  # fmt: skip
    found = []
    for part in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(part, ast.Call):
            call = part.func
            word = call.id if isinstance(call, ast.Name) else getattr(call, "attr", "")
            of_list = isinstance(call, ast.Attribute) and word == "remove"
            if word in verbs and not of_list:
                found.append(f"line {part.lineno}: {word}")
    return found


@pytest.mark.parametrize("name", [m for m in MODULES if room(m) not in RIM and m not in RIM])
def test_only_the_rim_touches_files(name: str) -> None:
    assert touches_files(MODULES[name]) == []


def test_a_piped_check_imports_no_more_than_it_needs(tmp_path: Path) -> None:
    """Painting, drawing and solving cost time that a check in a pipe must not pay."""
    recipe = tmp_path / "simple.weave"
    recipe.write_text(SIMPLE, encoding="utf-8")
    program = (
        "import sys; from recipe.cli import main; code = main(['check', sys.argv[1]]);"
        " print(sorted({m.partition('.')[0] for m in sys.modules}), file=sys.stderr);"
        " print([m for m in sys.modules if m.startswith('recipe.')], file=sys.stderr);"
        " sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(recipe)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    libraries, rooms = map(ast.literal_eval, done.stderr.strip().splitlines())
    assert {"rich", "graphviz", "numpy", "json", "hypothesis"} & set(libraries) == set()
    assert "networkx" in libraries, "the measure itself works"
    assert [m for m in rooms if room(m.removeprefix("recipe.")) in ("outputs", "fit")] == []


@pytest.mark.parametrize("command", ["explain", "weaves"])
def test_a_light_command_does_not_build_graphs_before_it_must(command: str) -> None:
    program = (
        f"import sys; from recipe.cli import parser; parser({command!r});"
        " print(sorted({m.partition('.')[0] for m in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert {"networkx", "lark", "rich"} & set(ast.literal_eval(done.stdout)) == set()
