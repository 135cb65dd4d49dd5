"""The key of the pictures taken apart: each mark by itself, so that a page can list those it uses.

Comes in: diagrams. Goes out: `Mark`s, each with a small `Diagram` of nothing but itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ringstep.draw.key import key_diagram
from ringstep.draw.pictures import Diagram


@dataclass(frozen=True, slots=True)
class Mark:
    """diagram: the mark alone, told in words; words: what it means."""

    diagram: Diagram
    words: str


def key_marks(diagrams: Iterable[Diagram] | None) -> tuple[Mark, ...]:
    """The marks of the key that these diagrams use; all of them for None."""
    key = key_diagram()
    looks = key.alt.split(". ", 1)[1].removesuffix(".").split("; ")
    nodes = len(key.nodes)
    used: set[object] | None = None
    if diagrams is not None:
        used = set()
        for one in diagrams:
            used |= {(n.mark, n.box, n.again or n.moved) for n in one.nodes}
            used |= {line.mark for line in one.lines}
    found = []
    for at, look in enumerate(looks):
        what, words = look.split(": ", 1)
        alone = replace(key, name=f"mark-{at}", title=words, alt=what, captions=())
        if at < nodes:
            node = key.nodes[at]
            if used is not None and (node.mark, node.box, node.again) not in used:
                continue
            frame = (-14.0, -14.0, 14.0, 14.0)
            alone = replace(alone, nodes=(replace(node, at=(0.0, 0.0)),), lines=(), frame=frame)
        else:
            line = key.lines[at - nodes]
            if used is not None and line.mark not in used:
                continue
            y = line.path[0][1]
            frame = (-14.0, y - 7.0, 14.0, y + 7.0)
            alone = replace(alone, nodes=(), lines=(line,), frame=frame)
        found.append(Mark(alone, words))
    return tuple(found)
