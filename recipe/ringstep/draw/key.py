"""The key: what the marks in the diagrams mean, drawn with the marks themselves.

Comes in: nothing, or the diagrams whose marks are wanted. Goes out: one `Diagram` of them all, or
a small one of each by itself, so that a page can list those it uses.
"""

from __future__ import annotations

from collections.abc import Iterable

from ringstep.draw.pictures import (
    CAPTION,
    Caption,
    Diagram,
    Line,
    LineMark,
    Node,
    NodeMark,
    text_width,
)
from ringstep.language.syntax import Side
from ringstep.weave.work import Ring

#: A mark, its meaning, its look in words; whether it is a part, and a ring shown again.
_NODES: tuple[tuple[NodeMark, str, str, bool, bool], ...] = (
    ("new", "placed or opened in this step", "double circle, dark tone", False, False),
    ("through", "gone through, or held, in this step", "thick circle, light tone", False, False),
    ("handled", "moved in this step (folded back, spread …)", "dashed circle", False, False),
    ("out", "taken out in this step", "dashed circle with two chords", False, False),
    ("other", "already in the work", "thin circle", False, False),
    ("other", "a part, such as a clasp", "box", True, False),
    ("other", "a ring of another place, shown here as well", "dotted circle", False, True),
)
_LINES: tuple[tuple[LineMark, str, str], ...] = (
    ("new", "link made in this step", "thick line"),
    ("old", "link made before", "thin line"),
    ("held", "lies around or inside, not linked", "dashed line"),
    ("beyond", "link to rings not shown, or to another unit", "dotted line"),
)
#: The same of lines that tell from which side a ring was entered.
_SIDES: tuple[tuple[Side, str, str], ...] = (
    (
        "front",
        "goes in from the front: the line lies over the ring",
        "line that runs over a gap in a ring",
    ),
    ("back", "goes in from the back: the ring lies over the line", "line with a gap before a ring"),
)
_PITCH, _LINE_PITCH, _ACROSS, _TEXT = 28.0, 18.0, 18.0, 22.0
_TITLE = "What the marks mean"


def _node(number: int, y: float) -> Node:
    mark, words, _, box, again = _NODES[number]
    ring = Ring("", number, 0, 0)
    return Node(f"n{number}", ring, ("",), words, mark, (0.0, y), _ACROSS, box, again)


def _line(number: int, y: float) -> Line:
    path = ((-14.0, y), (-5.0, y), (5.0, y), (14.0, y))
    return Line(f"k{number}", None, _LINES[number][0], path)


def _side(number: int, y: float) -> tuple[Node, Line]:
    """A line that enters a ring from a side."""
    ring, path = Ring("", number, -1, 0), ((-14.0, y), (-9.0, y), (-4.0, y), (1.0, y))
    key = f"s{number}"
    node = Node(key, ring, ("",), _SIDES[number][1], "through", (8.0, y), 14.0)
    return node, Line(f"k{key}", key, "new", path, _SIDES[number][0])


def key_diagram() -> Diagram:
    """One picture that explains the marks, from top to bottom."""
    words = [(words, look) for _, words, look, _, _ in _NODES]
    words += [(words, look) for _, words, look in (*_LINES, *_SIDES)]
    at = [-_PITCH * number for number in range(len(_NODES))]
    low = -_PITCH * len(_NODES)
    at += [low - _LINE_PITCH * number for number in range(len(_LINES) + len(_SIDES))]
    captions = tuple(
        Caption(told, (_TEXT, y), left=True) for (told, _), y in zip(words, at, strict=True)
    )
    right = _TEXT + max(1.1 * text_width(c.text, CAPTION) for c in captions)
    alt = f"{_TITLE}. {'; '.join(f'{look}: {told}' for told, look in words)}."
    nodes = [_node(number, at[number]) for number in range(len(_NODES))]
    lines = [_line(number, at[len(_NODES) + number]) for number in range(len(_LINES))]
    for number in range(len(_SIDES)):
        node, line = _side(number, at[len(_NODES) + len(_LINES) + number])
        nodes.append(node)
        lines.append(line)
    frame = (-16.0, at[-1] - _LINE_PITCH + 8, right, 16.0)
    return Diagram("key", _TITLE, alt, tuple(nodes), tuple(lines), captions, frame)


def key_marks(diagrams: Iterable[Diagram] | None) -> tuple[Diagram, ...]:
    """The marks that these diagrams use, all for None, each a diagram: its title what it means."""
    used: set[object] = set()
    for one in diagrams or ():
        used |= {(n.mark, n.box, n.again or n.moved) for n in one.nodes}
        used |= {mark for line in one.lines for mark in (line.mark, line.side)}
    found = []
    for number, (mark, words, look, box, again) in enumerate(_NODES):
        if diagrams is None or (mark, box, again) in used:
            node, frame = _node(number, 0.0), (-14.0, -14.0, 14.0, 14.0)
            found.append(Diagram(f"mark-{number}", words, look, (node,), (), (), frame))
    for number, (kind, words, look) in enumerate(_LINES):
        if diagrams is None or kind in used:
            line, name = _line(number, 0.0), f"mark-{len(_NODES) + number}"
            found.append(Diagram(name, words, look, (), (line,), (), (-14.0, -7.0, 14.0, 7.0)))
    for number, (side, words, look) in enumerate(_SIDES):
        if diagrams is None or side in used:
            node, line = _side(number, 0.0)
            name, frame = f"mark-{len(_NODES) + len(_LINES) + number}", (-14.0, -9.0, 16.0, 9.0)
            found.append(Diagram(name, words, look, (node,), (line,), (), frame))
    return tuple(found)
