"""The rim towards shipped files: the grammar and the library of weaves."""

from __future__ import annotations

from pathlib import Path

#: The folder of the package itself.
_HERE = Path(__file__).resolve().parents[1]

#: The file in the library that holds what was computed of its weaves.
COMPUTED = "computed_sizes.json"


def shipped(folder: str) -> Path:
    """The folder `grammar` or `library`: inside an installed wheel, or beside the package.

    Raises FileNotFoundError when the installation is incomplete.
    """
    for place in (_HERE / "_shipped" / folder, _HERE.parents[1] / folder):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the folder '{folder}' is missing beside {_HERE}")


def made_by() -> str:
    """The program and its version, looked up only where it is asked for, which takes a while."""
    from importlib.metadata import version

    return f"ringstep {version('ringstep')}"


def shipped_bytes(path: Path) -> bytes:
    """A shipped file. Raises OSError with its name, which a machine leaves out."""
    try:
        return path.read_bytes()
    except OSError as fault:
        fault.filename = str(path)
        raise


def _text(path: Path) -> str:
    return shipped_bytes(path).decode("utf-8")


def grammar_text() -> str:
    """The grammar of one recipe line, for Lark."""
    return _text(shipped("grammar") / "weave.lark")


def words_text() -> str:
    """The page of all words of the language."""
    return _text(shipped("grammar") / "words.md")


def colours_text() -> str:
    """The patterns by which editors colour a recipe, as JSON."""
    return _text(shipped("grammar") / "weave.tmLanguage.json")


def _recipes_in(folder: Path) -> dict[str, Path]:
    """The recipes in a folder by name, in order. Raises OSError, which a glob would not."""
    return {path.stem: path for path in sorted(folder.iterdir()) if path.suffix == ".weave"}


def shipped_weaves() -> dict[str, Path]:
    """The shipped recipes by name (the file name without its ending), in order."""
    return _recipes_in(shipped("library"))


def shipped_text(name: str) -> str:
    """The text of a shipped recipe."""
    return _text(shipped_weaves()[name])


def starters() -> dict[str, str]:
    """The texts that `ringstep new` begins from, by what they make, in order."""
    found = _recipes_in(_HERE / "language" / "starters")
    return {name: _text(path) for name, path in found.items()}


def computed_sizes() -> str:
    """At which sizes the rings of shipped weaves just go together, as JSON."""
    return _text(shipped("library") / COMPUTED)
