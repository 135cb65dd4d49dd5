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


def grammar_text() -> str:
    """The grammar of one recipe line, for Lark."""
    return (shipped("grammar") / "weave.lark").read_text(encoding="utf-8")


def words_text() -> str:
    """The page of all words of the language."""
    return (shipped("grammar") / "words.md").read_text(encoding="utf-8")


def colours_text() -> str:
    """The patterns by which editors colour a recipe, as JSON."""
    return (shipped("grammar") / "weave.tmLanguage.json").read_text(encoding="utf-8")


def shipped_weaves() -> dict[str, Path]:
    """The shipped recipes by name (the file name without its ending), in order."""
    return {path.stem: path for path in sorted(shipped("library").glob("*.weave"))}


def shipped_text(name: str) -> str:
    """The text of a shipped recipe."""
    return shipped_weaves()[name].read_text(encoding="utf-8")


def starters() -> dict[str, str]:
    """The texts that `ringstep new` begins from, by what they make, in order."""
    found = sorted((_HERE / "language" / "starters").glob("*.weave"))
    return {path.stem: path.read_text(encoding="utf-8") for path in found}


def computed_sizes() -> str:
    """At which sizes the rings of shipped weaves just go together, as JSON."""
    return (shipped("library") / COMPUTED).read_text(encoding="utf-8")
