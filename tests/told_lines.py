"""One line in a section of a small recipe, and what its reader says of it."""

from __future__ import annotations

from typing import NamedTuple

from helpers import read

#: Sections with a line of each that can be read; those with none stand where they are asked for.
SECTIONS = {
    "rings": "all  wire 1.2 mm, inside 5 mm, copper",
    "sizes": "fine  all  wire 1 mm, inside 4 mm",
    "parts": "bead  glass, 4 mm, hole 1 mm",
    "expect": "A meets 2",
    "variants": "plain  lay front",
    "start": "close A",
    "unit": "add A through prev A",
    "row": "",
    "row end": "",
    "finish": "add E through last A",
    "piece": "chain 30 units",
    "shape": "",
}


class Told(NamedTuple):
    """What is said of a line. under: the words underlined; help: what to type, a line each."""

    under: str
    message: str
    help: str


def recipe_of(section: str, line: str) -> str:
    """The recipe with a line in place of the section's own; 'title' is a section here."""
    lines = [line if section == "title" else 'weave "It"']
    for name, own in SECTIONS.items():
        if here := line if name == section else own:
            lines += [f"{name}:", f"  {here}"]
    return "\n".join([*lines, ""])


def said_of(text: str) -> list[tuple[int, str, str, str]]:
    """What the reader says of a recipe: the line, what is underlined there, the message and the
    help."""
    lines, found = text.split("\n"), []
    for one in read(text)[1]:
        line = lines[one.span.line - 1]
        assert 1 <= one.span.column < one.span.end <= len(line) + 1, one
        under = line[one.span.column - 1 : one.span.end - 1]
        found.append((one.span.line, under, one.message, "\n".join(one.help)))
    return found


def told(section: str, line: str) -> list[Told]:
    """Everything the reader says of the recipe with that line, all of it on the line."""
    text = recipe_of(section, line)
    first = text.split("\n").index(line if section == "title" else f"  {line}".split("\n")[0]) + 1
    found = said_of(text)
    assert all(first <= at <= first + line.count("\n") for at, *_ in found), found
    return [Told(*rest) for _, *rest in found]


#: A section, a line of it, what is underlined, what is said, what to type, and the line that is
#: meant; '' where none is.
Row = tuple[str, str, str, str, str, str]


def heard(row: Row) -> tuple[list[Told], list[Told]]:
    """What is said of the line of a row, and of the one that is meant."""
    section, line, *_, meant = row
    return told(section, line), told(section, meant) if meant else []


def wanted(row: Row) -> tuple[list[Told], list[Told]]:
    """The same as a row has it: the line that is meant is read."""
    return [Told(*row[2:5])], []
