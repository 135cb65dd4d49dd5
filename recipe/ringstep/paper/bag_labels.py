"""Labels for the bags of all kits, one for each kind of ring, to be cut out along dashed lines.

Comes in: a `Kit`. Goes out: `Html`, a part of the page with the packing slip.
"""

from __future__ import annotations

from ringstep.language.words import plural
from ringstep.paper.cautions import SMALL_PARTS
from ringstep.paper.kit_tables import grams_text
from ringstep.paper.page import Html, element, escaped, heading, joined, paragraph
from ringstep.paper.sentences import size_words
from ringstep.shop.kit import Kit, KitLine

#: Labels of one page; of more only those of one kit are made, to be printed often.
MOST_LABELS = 240


def rings_called(kit: Kit, line: KitLine) -> str:
    """What the rings of one product are called in a kit: 'core rings', or only 'rings'."""
    word = "ring" if line.in_kit == 1 else "rings"
    if len(kit.lines) == 1:
        return word
    if " " in line.name:  # it stands for several, or for some of their places or colours
        return f"{word} for {line.name}"
    return f"{line.name} {word}"


def _label(kit: Kit, line: KitLine) -> Html:
    """Sizes in mm, large; then as the recipe writes them, which tells wire from inside."""
    kind = line.kind
    given = (("wire", kind.wire), ("inside", kind.inside))
    written = [f"{what} {size.text}" for what, size in given if size]
    weight = f"about {grams_text(line.grams)} g" if line.grams is not None else "weight not known"
    spares = f" ({line.rings:,} and {line.spares:,} spare)" if line.spares else ""
    told = (
        paragraph(kit.title, "quiet"),
        heading(3, rings_called(kit, line)),
        paragraph(size_words(kind), "size"),
        paragraph(", ".join((*written, *kind.look))),
        element("p", Html(f"<strong>{escaped(plural(line.in_kit, 'ring'))}</strong>"
                          f"{escaped(f'{spares}, {weight}')}")),
        paragraph(SMALL_PARTS, "quiet"),
        *([paragraph(kit.trace, "quiet")] if kit.trace else []),
    )  # fmt: skip
    return element("section", joined(told), "label")


def bag_labels(kit: Kit) -> Html:
    """All labels, kit after kit, on paper of their own; of very many kits those of one."""
    kits = kit.wish.pieces
    if all_ := kits * len(kit.lines) <= MOST_LABELS:
        often = f", for {plural(kits, 'kit')}" if kits > 1 else ""
    else:
        often = "; print the labels once for each kit"
    intro = f"One label for each kind of ring of a kit{often}. Cut along the dashed lines."
    lines = kit.lines * (kits if all_ else 1)
    told = (
        heading(2, "Labels for the bags"),
        paragraph(intro),
        element("div", joined(_label(kit, line) for line in lines), "labels"),
    )
    return element("section", joined(told), "sheet")
