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
import tempfile
from collections.abc import Sequence
from html import unescape
from pathlib import Path
from typing import Literal
from xml.sax.saxutils import escape as xml_escape
from xml.sax.saxutils import quoteattr

import graphviz

from ringstep.draw.pictures import (
    CAPTION,
    MARGIN,
    PAGE_HIGH,
    PAGE_WIDE,
    Caption,
    Diagram,
    Line,
    LineMark,
    Node,
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
FONT = "Helvetica,Arial,sans-serif"

#: Tones: ink for what matters, grey for what recedes. Orange and pale blue keep apart for
#: colour-blind eyes and in greyscale (dark, light and white); shape and line say the same again.
INK, GREY, FAINT = "#000000", "#767676", "#595959"
FILLS: dict[NodeMark, str] = {
    "new": "#F0A830",
    "through": "#CFE4F5",
    "handled": "#FFFFFF",
    "out": "#FFFFFF",
    "other": "#FFFFFF",
}
OUTLINES: dict[NodeMark, str] = {
    "new": INK,
    "through": INK,
    "handled": INK,
    "out": INK,
    "other": GREY,
}
LABELS: dict[NodeMark, str] = {
    "new": INK,
    "through": INK,
    "handled": INK,
    "out": INK,
    "other": FAINT,
}
_NODE_LOOKS: dict[NodeMark, dict[str, str]] = {
    "new": {"penwidth": "1.8", "peripheries": "2"},
    "through": {"penwidth": "2"},
    "handled": {"penwidth": "2", "style": "filled,dashed"},
    "out": {"penwidth": "1.4", "style": "filled,dashed", "shape": "Mcircle"},
    "other": {"penwidth": "0.7"},
}
LINE_LOOKS: dict[LineMark, dict[str, str]] = {
    "new": {"penwidth": "2.4", "color": INK},
    "old": {"penwidth": "0.7", "color": GREY},
    "held": {"penwidth": "1.2", "color": INK, "style": "dashed"},
    "beyond": {"penwidth": "1.5", "color": FAINT, "style": "dotted"},
}


class NoProgram(Refused):
    """There is no drawing program, or it failed; the text says what to do."""


# -- DOT -----------------------------------------------------------------------------------------


def _label(lines: Sequence[str]) -> str:
    """A label that shows its lines letter for letter, whatever they hold.

    Graphviz reads backslashes, `&…;` and, in angle brackets, HTML; none of it is meant here.
    """
    shown = (str(graphviz.escape(safe(x).replace("&", "&amp;"))) for x in lines)
    return graphviz.nohtml("\\n".join(shown))  # type: ignore[no-any-return]


def _figure(number: float) -> str:
    return (
        f"{number:.2f}".rstrip("0").rstrip(".").replace("-0", "0")
        if abs(number) < 0.005
        else (f"{number:.2f}".rstrip("0").rstrip("."))
    )


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
            "outputorder": "edgesfirst",
            "bgcolor": "white",
            "pad": _figure(MARGIN / 72),
            "id": stem,
            "comment": graphviz.nohtml(str(graphviz.escape(safe(diagram.alt)))),
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
    for node in diagram.nodes:
        _add_node(graph, stem, node)
    for number, caption in enumerate(diagram.captions):
        _add_caption(graph, stem, number, caption)
    for number, (x, y) in enumerate(((left, bottom), (right, top))):
        _add_anchor(graph, f"corner{number}", x, y)
    for number, line in enumerate(diagram.lines):
        _add_line(graph, stem, number, line)
    return str(graph.source)


def _add_node(graph: graphviz.Graph, stem: str, node: Node) -> None:
    looks = dict(_NODE_LOOKS[node.mark])
    across = _figure(node.across / 72)
    if node.again or node.moved:
        looks["style"] = "filled,dotted"
        looks["penwidth"] = "1.8" if node.mark == "new" else "1.6"
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
        fillcolor=FILLS[node.mark],
        color=OUTLINES[node.mark],
        fontcolor=LABELS[node.mark],
        comment=graphviz.nohtml(str(graphviz.escape(node.full))),
        **looks,
    )


def _add_caption(graph: graphviz.Graph, stem: str, number: int, caption: Caption) -> None:
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


def _add_anchor(graph: graphviz.Graph, key: str, x: float, y: float) -> None:
    graph.node(
        key, shape="point", style="invis", width="0.01", height="0.01", pos=_place(x, y) + "!"
    )


def _add_line(graph: graphviz.Graph, stem: str, number: int, line: Line) -> None:
    end = line.b
    known = line.a
    if end is None:
        end = f"e{number}"
        _add_anchor(graph, end, *line.path[3])
        if line.a.startswith("k"):
            _add_anchor(graph, known, *line.path[0])
    graph.edge(
        known,
        end,
        id=f"{stem}-l{number}",
        pos=" ".join(_place(*p) for p in line.path),
        **LINE_LOOKS[line.mark],
    )


def dot_texts(diagrams: Sequence[Diagram]) -> dict[str, bytes]:
    """Every diagram as a DOT file, by file name."""
    return {f"{d.name}.dot": dot_text(d).encode("utf-8") for d in diagrams}


# -- the drawing program -------------------------------------------------------------------------


def find_program() -> str:
    """The drawing program: as named by RINGSTEP_DOT, the system's `dot`, or graphviz-pure.

    graphviz-pure is also looked for beside the Python that runs, since a virtual environment need
    not be active. Raises `NoProgram`.
    """
    named = os.environ.get(PROGRAM_VARIABLE)
    if named:
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
    if format == "svg":
        texts = [dot_text(d) for d in diagrams]
        # The program writes one picture after the other, in the order of the graphs.
        out = _run([program, "-Kneato", "-n2", "-Tsvg"], "\n".join(texts), len(diagrams))
        pictures = [p + "</svg>" for p in out.decode("utf-8", "replace").split("</svg>")[:-1]]
        if len(pictures) != len(diagrams):
            raise NoProgram(
                f"the drawing program {program} made {len(pictures)} of {len(diagrams)} pictures"
            )
        return {
            f"{d.name}.svg": svg_for_page(p, d).encode("utf-8")
            for d, p in zip(diagrams, pictures, strict=True)
        }
    with tempfile.TemporaryDirectory(prefix="ringstep-") as folder:
        for d in diagrams:
            try:
                (Path(folder) / f"{d.name}.gv").write_text(dot_text(d), encoding="utf-8")
            except OSError as fault:
                reason = fault.strerror or fault
                raise NoProgram(f"{folder} cannot be written while drawing: {reason}") from None
        names = [f"{d.name}.gv" for d in diagrams]
        _run(
            [program, "-Kneato", "-n2", "-Tpng", f"-Gdpi={DOTS_AN_INCH}", "-O", *names],
            "",
            len(diagrams),
            folder,
        )
        found = {}
        for d in diagrams:
            made = Path(folder) / f"{d.name}.gv.png"
            if not made.is_file():
                raise NoProgram(f"the drawing program {program} made no picture of {d.name}")
            found[f"{d.name}.png"] = made.read_bytes()
        return found


def _run(command: list[str], text: str, pictures: int, folder: str | None = None) -> bytes:
    seconds = max(SECONDS_LEAST, SECONDS_EACH * pictures)
    try:
        done = subprocess.run(
            command,
            input=text.encode("utf-8"),
            capture_output=True,
            timeout=seconds,
            cwd=folder,
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
_OPENING = re.compile(r"<svg\b")
_NODE = re.compile(r'(<g id="([^"]+)" class="node">\s*)')


def svg_for_page(text: str, diagram: Diagram) -> str:
    """A program's SVG made fit for a page: no prologue, told in words, names for every ring.

    Ids begin with the diagram's name, so that several can stand in one page.
    """
    text = text[_OPENING.search(text).start() :] if _OPENING.search(text) else text  # type: ignore[union-attr]
    text = _TITLE.sub("", _COMMENT.sub("", text))
    label = f'<svg role="img" aria-label={quoteattr(safe(diagram.alt))}'
    text = _OPENING.sub(lambda _: label, text, count=1)
    named = {f"{diagram.name}-{n.key}": n.full for n in diagram.nodes}

    def titled(found: re.Match[str]) -> str:
        full = named.get(unescape(found[2]))
        return f"{found[1]}<title>{xml_escape(full)}</title>\n" if full else found[1]

    return _NODE.sub(titled, text).strip() + "\n"
