"""A short text for the page of a shop that sells a kit: what it is, what is in it, cautions.

Comes in: a clean `View` and its `Kit`. Goes out: `Printed`, words only; or one HTML page of them
with the picture of the finished piece. What neither recipe nor kit says is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import quote

from ringstep.checks.view import View, with_size
from ringstep.language.measures import text_mm
from ringstep.language.size_sets import set_names
from ringstep.language.words import listed, plural
from ringstep.paper.bag_labels import rings_called
from ringstep.paper.cautions import CAUTIONS
from ringstep.paper.handout_facts import length_words
from ringstep.paper.kit_tables import grams_text, ring_words
from ringstep.paper.page import Frame, Html, escaped, joined, whole_page
from ringstep.paper.printed import Printed, Sheet
from ringstep.paper.printed_page import as_html
from ringstep.paper.sentences import sentence, short_kind
from ringstep.paper.steps_text import needs
from ringstep.shop.kit import Kit


def _notes(view: View, topic: str) -> list[str]:
    return [n.text for n in view.recipe.notes if n.topic.casefold() == topic]


def size_known(view: View, kit: Kit) -> str:
    """How long the finished piece is, and how that was measured or computed; "" where unknown.

    view: of as many units as the kit is for.
    """
    length = kit.length
    if length is None:
        return ""
    if length.computed is not None:
        low, high = (text_mm(round(length.units * mm)) for mm in length.computed)
        return (
            f"about {low} mm pushed together to {high} mm pulled straight, without its ends;"
            " computed, not measured"
        )
    told = length_words(view)
    return "; ".join((told, *length.origin)) if told else ""


def _finished(view: View, kit: Kit) -> Iterator[str]:
    """What the piece is when it is done."""
    if size := size_known(view, kit):
        yield f"length: {size}"
    yield f"{plural(sum(x.rings - x.taken_out for x in kit.lines), 'ring')} in all"
    grams = [x.finished_grams for x in kit.lines]
    known = [g for g in grams if g is not None]
    if len(known) == len(grams):
        aside = ", parts not counted" if kit.parts else ""
        yield f"about {grams_text(sum(known))} g, computed{aside}"
    for difficulty in _notes(view, "difficulty"):
        yield f"difficulty: {difficulty}"


def _packed(kit: Kit) -> Iterator[str]:
    """What lies in the kit."""
    for line in kit.lines:
        spares = f" ({line.spares:,} of them spare)" if line.spares else ""
        yield f"{line.in_kit:,} {rings_called(kit, line)}{spares}: {ring_words(line.kind)}"
    for part in kit.parts:
        yield f"{part.count:,} {part.name}: {part.words}"


def _sizes(view: View) -> Sheet | None:
    """The rings of every set of sizes that the recipe names."""
    every = [
        (name, need.name, short_kind(need.kind))
        for name in set_names(view.recipe)
        for need in needs(with_size(view, name))
    ]
    return Sheet("All sizes", ("set", "ring", "what it is"), tuple(every)) if every else None


def shop_text(view: View, kit: Kit) -> Printed:
    """The text, section by section. view: of as many units as the kit is for."""
    metals = dict.fromkeys(x.kind.material for x in kit.lines if x.kind.material)
    of = f", rings of {listed([*metals])}" if metals else ""
    what = f"A kit for {kit.piece}{of}, to be made ring by ring."
    sheets = [
        Sheet("The finished piece", notes=tuple(_finished(view, kit))),
        Sheet("In the kit", notes=tuple(_packed(kit))),
    ]
    if sets := _sizes(view):
        sheets.append(sets)
    sheets.append(Sheet("Please read", notes=CAUTIONS))
    traced = (f"{kit.trace}.",) if kit.trace else ()
    about = map(sentence, _notes(view, "about"))
    return Printed(kit.title, (what, *about, *traced), tuple(sheets))


def shop_page(text: Printed, picture: str) -> str:
    """The text as an HTML page. picture: the file of the finished piece beside it, or ""."""
    words = escaped(f"{text.title}, a stretch of the finished piece")
    where = escaped(quote(picture, errors="replace"))
    shown = Html(f'<p><img src="{where}" alt="{words}"></p>') if picture else Html("")
    style = "img { max-width: 100%; height: auto; }\n"
    return whole_page(Frame(text.title), joined((as_html(text), shown)), style)
