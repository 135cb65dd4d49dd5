"""The folders of the package stand in one order, and each imports only from those above it."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import networkx
import pytest
from helpers import ROOT, SIMPLE

PACKAGE = ROOT / "recipe" / "ringstep"
#: From the text to the command line.
FOLDERS = (
    "language", "weave", "space", "checks", "shop", "draw", "paper", "table", "commands",
)  # fmt: skip
#: The only places that look at files; a page reads the style sheets that lie beside its code.
RIM = ("", "commands", "language.cache", "language.shipped", "draw.drawing", "paper.page")
#: Files of `draw` for real rings.
PICTURES_OF_RINGS = ("angle", "arrows", "ring_names", "rings", "solids", "strands")
#: Libraries that only one place knows.
KNOWN_TO = {
    "networkx": ("weave.ring_graph",),
    "lark": (
        "language.names",
        "language.next_words",
        "language.parse",
        "language.read_kinds",
        "language.read_piece",
        "language.read_tree",
    ),
    "graphviz": ("draw.drawing",),
    "rich": ("checks.report", "paper.printed"),
    "nicegui": ("table", "commands.table"),
    "pygls": ("table.editor_server", "commands.editor"),
    "lsprotocol": ("table.editor_server",),
    "numpy": ("space", *(f"draw.{name}" for name in PICTURES_OF_RINGS)),
}
#: Every file by its dotted name without `ringstep.`; a folder's own file has the folder's name.
MODULES = {
    ".".join(p for p in path.relative_to(PACKAGE).with_suffix("").parts if p != "__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}
TREES = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in MODULES.items()}


def folder(name: str) -> str:
    """The folder a module lies in."""
    return name.partition(".")[0]


def lies_in(name: str, places: Iterable[str]) -> bool:
    """True where a module is one of the places or lies in one."""
    return any(name == place or name.startswith(f"{place}.") for place in places)


def parts_of(part: ast.AST, late: bool) -> Iterator[ast.AST]:
    """All parts of a module; without the late ones, those that are run when it is imported."""
    for child in ast.iter_child_nodes(part):
        yield child
        if late or not isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            yield from parts_of(child, late)


def imported(name: str, late: bool = True) -> set[str]:
    """Every module that a module imports, with what is taken from a package."""
    found: set[str] = set()
    for part in parts_of(TREES[name], late):
        if isinstance(part, ast.Import):
            found |= {alias.name for alias in part.names}
        elif isinstance(part, ast.ImportFrom):
            assert part.level == 0, f"{name}: write the import out in full"
            assert part.module is not None
            found |= {part.module, *(f"{part.module}.{alias.name}" for alias in part.names)}
    return found


def own(name: str, late: bool = True) -> set[str]:
    """The modules of the package that a module imports, without `ringstep.`."""
    return {m.removeprefix("ringstep.") for m in imported(name, late)} & set(MODULES)


def test_the_folders_are_these() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir()} - {"__pycache__"}
    assert folders == set(FOLDERS)
    assert {path.name for path in PACKAGE.glob("*.py")} == {"__init__.py", "__main__.py"}


@pytest.mark.parametrize("name", [name for name in MODULES if folder(name) in FOLDERS])
def test_imports_go_one_way(name: str) -> None:
    above = FOLDERS[: FOLDERS.index(folder(name)) + 1]
    assert {other for other in own(name) if folder(other) not in above} == set()


@pytest.mark.parametrize("name", FOLDERS)
def test_no_circle_within_a_folder(name: str) -> None:
    inside = [module for module in MODULES if folder(module) == name]
    graph = networkx.DiGraph((a, b) for a in inside for b in own(a, late=False) & set(inside))
    assert graph.number_of_edges() > 0
    assert list(networkx.simple_cycles(graph)) == []


def test_rules_do_not_import_each_other() -> None:
    rules = {name for name in MODULES if lies_in(name, ["checks.rules"])}
    assert len(rules) > 20
    assert {name: own(name) & rules for name in rules if own(name) & rules} == {}


@pytest.mark.parametrize("library", KNOWN_TO)
def test_a_library_is_known_to_one_place(library: str) -> None:
    users = {
        name for name in MODULES if any(m.partition(".")[0] == library for m in imported(name))
    }
    assert users, f"nothing uses {library}"
    assert {name for name in users if not lies_in(name, KNOWN_TO[library])} == set()


def touches_files(name: str) -> list[str]:
    """The calls of a module that read or write other files."""
    verbs = {"open", "read_text", "read_bytes", "write_text", "write_bytes", "mkdir", "unlink",
             "rename", "rmdir", "glob", "rglob", "iterdir", "getsize", "isdir", "listdir",
             "makedirs", "remove"}  # fmt: skip
    found = []
    for part in ast.walk(TREES[name]):
        if isinstance(part, ast.Call):
            call = part.func
            word = call.id if isinstance(call, ast.Name) else getattr(call, "attr", "")
            of_list = isinstance(call, ast.Attribute) and word == "remove"
            of_ring = ast.unparse(call) in ("rename", "services.rename")
            if word in verbs and not of_list and not of_ring:
                found.append(f"line {part.lineno}: {word}")
    return found


@pytest.mark.parametrize("name", [name for name in MODULES if not lies_in(name, RIM)])
def test_only_the_rim_touches_files(name: str) -> None:
    assert touches_files(name) == []


def test_a_piped_check_imports_no_more_than_it_needs(tmp_path: Path) -> None:
    """Painting, drawing and solving cost time that a check in a pipe must not pay."""
    recipe = tmp_path / "simple.weave"
    recipe.write_text(SIMPLE, encoding="utf-8")
    program = (
        "import sys; from ringstep.commands.cli import main; code = main(['check', sys.argv[1]]);"
        " print(sorted({m.partition('.')[0] for m in sys.modules}), file=sys.stderr);"
        " print([m for m in sys.modules if m.startswith('ringstep.')], file=sys.stderr);"
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
    libraries, modules = map(ast.literal_eval, done.stderr.strip().splitlines())
    assert {"rich", "graphviz", "numpy", "json", "hypothesis"} & set(libraries) == set()
    assert "networkx" in libraries, "the measure itself works"
    folders = {folder(m.removeprefix("ringstep.")) for m in modules}
    assert folders == {"language", "weave", "checks", "commands"}


@pytest.mark.parametrize("command", ["explain", "weaves"])
def test_a_light_command_does_not_build_graphs_before_it_must(command: str) -> None:
    program = (
        f"import sys; from ringstep.commands.cli import parser; parser({command!r});"
        " print(sorted({m.partition('.')[0] for m in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert {"networkx", "lark", "rich"} & set(ast.literal_eval(done.stdout)) == set()
