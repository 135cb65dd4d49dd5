"""The key: what the marks in the diagrams mean, drawn with the marks themselves."""

from __future__ import annotations

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
from ringstep.weave.steps import Ring

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
_PITCH, _LINE_PITCH, _ACROSS, _TEXT = 28.0, 18.0, 18.0, 22.0


def key_diagram() -> Diagram:
    """One picture that explains the marks, from top to bottom."""
    nodes, lines, captions, told = [], [], [], []
    y = 0.0
    for number, (mark, words, look, box, again) in enumerate(_NODES):
        ring = Ring("", number, 0, 0)
        nodes.append(Node(f"n{number}", ring, ("",), words, mark, (0.0, y), _ACROSS, box, again))
        captions.append(Caption(words, (_TEXT, y), left=True))
        told.append(f"{look}: {words}")
        y -= _PITCH
    for number, (kind, words, look) in enumerate(_LINES):
        path = ((-14.0, y), (-5.0, y), (5.0, y), (14.0, y))
        lines.append(Line(f"k{number}", None, kind, path))
        captions.append(Caption(words, (_TEXT, y), left=True))
        told.append(f"{look}: {words}")
        y -= _LINE_PITCH
    right = _TEXT + max(1.1 * text_width(c.text, CAPTION) for c in captions)
    title = "What the marks mean"
    alt = f"{title}. {'; '.join(told)}."
    frame = (-16.0, y + 8, right, 16.0)
    return Diagram("key", title, alt, tuple(nodes), tuple(lines), tuple(captions), frame)
