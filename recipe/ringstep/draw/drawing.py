"""From diagrams to files: DOT text, and pictures made of it by a drawing program.

Comes in: `Diagram`s. Goes out: bytes by file name. The program is the system's Graphviz or the
package graphviz-pure; both are told every place and every curve, so both draw the same picture.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from html import unescape
from math import hypot
from pathlib import Path
from typing import Literal
from xml.sax.saxutils import escape as xml_escape
from xml.sax.saxutils import quoteattr

import graphviz

from ringstep.draw.geometry import Path as Curve
from ringstep.draw.geometry import clipped
from ringstep.draw.pictures import (
    CAPTION,
    MARGIN,
    PAGE_HIGH,
    PAGE_WIDE,
    Diagram,
    LineMark,
    NodeMark,
    label_size,
    text_width,
)
from ringstep.language.screen import safe
from ringstep.language.source import Refused

Format = Literal["svg", "png"]

#: The environment variable that names the drawing program, before all others.
PROGRAM_VARIABLE = "RINGSTEP_DOT"
#: Seconds a drawing program may take for one diagram, and at least.
SECONDS_EACH, SECONDS_LEAST = 2.0, 60.0
DOTS_AN_INCH = 200
_OPTIONS: dict[Format, list[str]] = {"svg": [], "png": [f"-Gdpi={DOTS_AN_INCH}"]}
#: What each picture ends with.
_ENDS: dict[Format, bytes] = {"svg": b"</svg>", "png": b"IEND\xaeB`\x82"}
FONT = "Helvetica,Arial,sans-serif"

#: Tones: ink for what matters, grey for what recedes. Orange and pale blue keep apart for
#: colour-blind eyes and in greyscale (dark, light and white); shape and line say the same again.
INK, GREY, FAINT = "#000000", "#767676", "#595959"
NODE_LOOKS: dict[NodeMark, dict[str, str]] = {
    "new": {"fillcolor": "#F0A830", "penwidth": "1.8", "peripheries": "2"},
    "through": {"fillcolor": "#CFE4F5", "penwidth": "2"},
    "handled": {"penwidth": "2", "style": "filled,dashed"},
    "out": {"penwidth": "1.4", "style": "filled,dashed", "shape": "Mcircle"},
    "other": {"color": GREY, "fontcolor": FAINT, "penwidth": "0.7"},
}
_PLAIN_NODE = {"fillcolor": "#FFFFFF", "color": INK, "fontcolor": INK}
LINE_LOOKS: dict[LineMark, dict[str, str]] = {
    "new": {"penwidth": "2.4", "color": INK},
    "old": {"penwidth": "0.7", "color": GREY},
    "held": {"penwidth": "1.2", "color": INK, "style": "dashed"},
    "beyond": {"penwidth": "1.5", "color": FAINT, "style": "dotted"},
}


#: How long the gap is before a ring that lies over a line, and how much wider than the line the gap
#: is in a ring that lies below it; in points.
UNDER, OVER = 4.5, 3.0


class NoProgram(Refused):
    """There is no drawing program, or it failed; the text says what to do."""


# -- DOT -----------------------------------------------------------------------------------------


def _escaped(text: str) -> str:
    return str(graphviz.escape(safe(text)))


def _label(lines: Sequence[str]) -> str:
    """A label that shows its lines letter for letter, whatever they hold.

    Graphviz reads backslashes, `&…;` and, in angle brackets, HTML; none of it is meant here.
    """
    shown = (_escaped(x).replace("&", "&amp;") for x in lines)
    return graphviz.nohtml("\\n".join(shown))  # type: ignore[no-any-return]


def _figure(number: float) -> str:
    return f"{round(number, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def _place(x: float, y: float) -> str:
    return f"{_figure(x)},{_figure(y)}"


def dot_text(diagram: Diagram) -> str:
    """One diagram as DOT, with every place and curve in it; draw it with `-Kneato -n2`."""
    left, bottom, right, top = diagram.frame
    stem = diagram.name
    graph = graphviz.Graph(
        stem,
        graph_attr={
            "layout": "neato",
            "outputorder": "nodesfirst" if _runs_over(diagram) else "edgesfirst",
            "bgcolor": "white",
            "pad": _figure(MARGIN / 72),
            "id": stem,
            "comment": graphviz.nohtml(_escaped(diagram.alt)),
        },
        node_attr={
            "shape": "circle",
            "fixedsize": "true",
            "style": "filled",
            "fontname": FONT,
            "label": "",
        },
    )
    wide, high = right - left + 2 * MARGIN, top - bottom + 2 * MARGIN
    if wide > PAGE_WIDE or high > PAGE_HIGH:
        graph.graph_attr["size"] = f"{PAGE_WIDE / 72:.2f},{PAGE_HIGH / 72:.2f}"

    def anchor(key: str, x: float, y: float) -> None:
        graph.node(
            key, shape="point", style="invis", width="0.01", height="0.01", pos=_place(x, y) + "!"
        )

    for node in diagram.nodes:
        across = _figure(node.across / 72)
        looks = _PLAIN_NODE | NODE_LOOKS[node.mark]
        if node.again or node.moved:
            looks |= {"style": "filled,dotted", "penwidth": "1.8" if node.mark == "new" else "1.6"}
        if node.box:
            looks["shape"] = "box"
        graph.node(
            node.key,
            label=_label(node.lines),
            id=f"{stem}-{node.key}",
            pos=_place(*node.at) + "!",
            width=across,
            height=across if not node.box else _figure(node.across * 0.8 / 72),
            fontsize=_figure(label_size(node.lines)),
            comment=graphviz.nohtml(_escaped(node.full)),
            **looks,
        )
    for number, caption in enumerate(diagram.captions):
        x, y = caption.at
        wide = 1.1 * text_width(caption.text, CAPTION) + 2
        graph.node(
            f"c{number}",
            label=graphviz.nohtml(_label((caption.text,)) + ("\\l" if caption.left else "")),
            id=f"{stem}-c{number}",
            shape="none",
            style="",
            margin="0",
            width=_figure(wide / 72),
            height=_figure(CAPTION * 1.2 / 72),
            pos=_place(x + (wide / 2 if caption.left else 0), y) + "!",
            fontsize=_figure(CAPTION),
            fontcolor=INK if caption.strong else FAINT,
        )
    anchor("corner0", left, bottom)
    anchor("corner1", right, top)
    for number, line in enumerate(diagram.lines):
        end = line.b or f"e{number}"
        if line.b is None:
            anchor(end, *line.path[3])
        if line.a.startswith("k"):  # in the key a line stands alone
            anchor(line.a, *line.path[0])
        looks = LINE_LOOKS[line.mark]
        path = clipped(line.path, 0.0, UNDER) if line.side == "back" else line.path
        graph.edge(line.a, end, id=f"{stem}-l{number}", pos=_course(path), **looks)
        if line.side == "front":
            # What lies below has the gap: here the outline of the ring, which the line runs over.
            over = _course(_across_end(line.path))
            width = _figure(float(looks["penwidth"]) + OVER)
            graph.edge(line.a, end, pos=over, penwidth=width, color="#FFFFFF")
            graph.edge(line.a, end, pos=over, **looks)
    return str(graph.source)


def _runs_over(diagram: Diagram) -> bool:
    """True where a line is drawn over a ring."""
    return any(line.side == "front" for line in diagram.lines)


def _course(path: Curve) -> str:
    return " ".join(_place(*p) for p in path)


def _across_end(path: Curve) -> Curve:
    """A short straight line over the end of a curve, from outside the ring that it meets."""
    (x, y), (u, v) = path[2:]
    long = hypot(u - x, v - y) or 1.0
    dx, dy = (u - x) / long, (v - y) / long
    at = [(u + dx * by, v + dy * by) for by in (-2.2, -0.8, 0.8, 2.3)]
    return at[0], at[1], at[2], at[3]


def dot_texts(diagrams: Sequence[Diagram]) -> dict[str, bytes]:
    """Every diagram as a DOT file, by file name."""
    return {f"{d.name}.dot": dot_text(d).encode("utf-8") for d in diagrams}


# -- the drawing program -------------------------------------------------------------------------


def find_program() -> str:
    """The drawing program: as named by RINGSTEP_DOT, the system's `dot`, or graphviz-pure.

    graphviz-pure is also looked for beside the Python that runs, since a virtual environment need
    not be active. Raises `NoProgram`.
    """
    if named := os.environ.get(PROGRAM_VARIABLE):
        if found := shutil.which(named):
            return found
        raise NoProgram(
            f"{PROGRAM_VARIABLE} names '{safe(named)}', which is no program that can be run;"
            " the DOT files can be drawn later"
        )
    beside = str(Path(sys.executable).parent)
    found = (
        shutil.which("dot")
        or shutil.which("graphviz-pure")
        or shutil.which("graphviz-pure", path=beside)
    )
    if found:
        return found
    raise NoProgram(
        "no drawing program is here, so only DOT files were made; to get pictures,"
        " 'pip install graphviz-pure' or install the system's Graphviz"
    )


def draw_all(diagrams: Sequence[Diagram], format: Format) -> dict[str, bytes]:
    """Draw all diagrams with one run of the drawing program, by file name. Raises `NoProgram`."""
    if not diagrams:
        return {}
    program = find_program()
    # A program that was told once to draw lines over rings goes on so: those come last.
    order = sorted(diagrams, key=_runs_over)
    text = "\n".join(map(dot_text, order))
    command = [program, "-Kneato", "-n2", f"-T{format}", *_OPTIONS[format]]
    # The program writes one picture after the other, in the order of the graphs.
    end = _ENDS[format]
    pictures = [p + end for p in _run(command, text, len(diagrams)).split(end)[:-1]]
    if len(pictures) != len(diagrams):
        raise NoProgram(
            f"the drawing program {program} made {len(pictures)} of {len(diagrams)} pictures"
        )
    if format == "svg":
        told = (p.decode("utf-8", "replace") for p in pictures)
        pages = (svg_for_page(p, d) for p, d in zip(told, order, strict=True))
        pictures = [p.encode("utf-8") for p in pages]
    drawn = {d.name: p for d, p in zip(order, pictures, strict=True)}
    return {f"{d.name}.{format}": drawn[d.name] for d in diagrams}


def _run(command: list[str], text: str, pictures: int) -> bytes:
    seconds = max(SECONDS_LEAST, SECONDS_EACH * pictures)
    try:
        done = subprocess.run(
            command,
            input=text.encode("utf-8"),
            capture_output=True,
            timeout=seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise NoProgram(
            f"the drawing program {command[0]} was stopped after {seconds:.0f} seconds"
        ) from None
    except OSError as fault:
        raise NoProgram(
            f"the drawing program {command[0]} does not start: {fault.strerror or fault}"
        ) from None
    if done.returncode:
        told = done.stderr.decode("utf-8", "replace").strip().splitlines()
        first = safe(told[0])[:200] if told else f"it ended with {done.returncode}"
        raise NoProgram(f"the drawing program {command[0]} failed: {first}")
    return done.stdout


# -- SVG that can stand inside a page ------------------------------------------------------------

_COMMENT = re.compile(r"<!--.*?-->\s*", re.S)
_TITLE = re.compile(r"<title>.*?</title>\s*", re.S)
_NODE = re.compile(r'(<g id="([^"]+)" class="node">\s*)')


def svg_for_page(text: str, diagram: Diagram) -> str:
    """A program's SVG made fit for a page: no prologue, told in words, names for every ring.

    Ids begin with the diagram's name, so that several can stand in one page.
    """
    text = _TITLE.sub("", _COMMENT.sub("", text[max(text.find("<svg"), 0) :]))
    label = f'<svg role="img" aria-label={quoteattr(safe(diagram.alt))}'
    label += ' style="max-width:100%;height:auto"'
    text = text.replace("<svg", label, 1)
    named = {f"{diagram.name}-{n.key}": n.full for n in diagram.nodes}

    def titled(found: re.Match[str]) -> str:
        full = named.get(unescape(found[2]))
        return f"{found[1]}<title>{xml_escape(full)}</title>\n" if full else found[1]

    return _NODE.sub(titled, text).strip() + "\n"
