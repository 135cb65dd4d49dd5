"""A page for the left hand: all pictures and sides as seen in a mirror, links and counts the same.

In: diagrams and HTML. Out: the same, mirrored. Pictures of real rings are mirrored as they are
looked at (`film.angle`).
"""

from __future__ import annotations

import re
from dataclasses import replace

from ringstep.checks.view import View
from ringstep.draw.geometry import Path
from ringstep.draw.pictures import Diagram
from ringstep.language.source import Refused
from ringstep.paper.page import Html

NOTE = (
    "For the left hand: left and right have changed places in words and pictures. Links, counts,"
    " front and back are the same; the finished piece is the mirror image."
)
_TAG = re.compile(r"(<[^>]*>)")
#: 'left' and 'right' where they mean a side: not 'left out', 'is right', 'right through'.
_SIDE = re.compile(
    r"(?<!\bis )(?<!\bare )(?<!\bwas )(?<!\bwere )(?<!\ball )(?<!\bjust )"
    r"\b(left|right)\b(?! (?:out|over|empty|closed|open|through|away|angles?|number|size)\b)",
    re.I,
)


def must_mirror(view: View) -> None:
    """Raises `Refused` where a mirror image would turn names round, or a picture."""
    piece, recipe = view.recipe.piece, view.recipe
    strands = [s.name.value for s in piece.strands] if piece else []
    if {"left", "right"} & {*strands, *view.weave.names}:
        raise Refused(
            "a copy for the left hand cannot be made: 'left' and 'right' are names in this recipe;"
            " call them otherwise"
        )
    if recipe.made or view.weave.colours is not None:
        what = "edges that are joined" if recipe.made else "the picture in colours"
        raise Refused(f"a copy for the left hand cannot be made: {what} would come out mirrored")


def mirrored_words(html: Html) -> Html:
    """HTML with left and right changed in its text and in what its pictures are called."""
    parts = _TAG.split(html)
    told = [_swapped(p) if at % 2 == 0 else _in_label(p) for at, p in enumerate(parts)]
    return Html("".join(told))


def _in_label(tag: str) -> str:
    return re.sub(r'aria-label="[^"]*"', lambda m: _swapped(m[0]), tag)


def _swapped(words: str) -> str:
    def other(found: re.Match[str]) -> str:
        told = "right" if found[1].lower() == "left" else "left"
        return told.capitalize() if found[1][0].isupper() else told

    return _SIDE.sub(other, words)


def mirrored_diagram(diagram: Diagram) -> Diagram:
    """A diagram whose left is its right."""
    left, bottom, right, top = diagram.frame
    return replace(
        diagram,
        frame=(-right, bottom, -left, top),
        nodes=tuple(replace(n, at=(-n.at[0], n.at[1])) for n in diagram.nodes),
        lines=tuple(replace(x, path=_turned(x.path)) for x in diagram.lines),
        captions=tuple(replace(c, at=(-c.at[0], c.at[1])) for c in diagram.captions),
    )


def _turned(path: Path) -> Path:
    a, b, c, d = ((-x, y) for x, y in path)
    return a, b, c, d
