"""The head of a hand-out: the finished piece, what it is, what it takes, and rings at true size.

In: an `Edition` and the `Choices` of the page. Out: `Html`.
"""

from __future__ import annotations

from collections.abc import Sequence

from ringstep.checks.view import View
from ringstep.language.words import listed
from ringstep.paper import finished, panel
from ringstep.paper.film import ACROSS
from ringstep.paper.finished import Finished
from ringstep.paper.handout_facts import fact_rows, need_lines, need_table
from ringstep.paper.handout_steps import Choices, Edition
from ringstep.paper.page import Html, element, escaped, joined, paragraph
from ringstep.paper.sentences import sentence
from ringstep.paper.tools import tools_of

#: A longer word than this does not go into a column of the table of rings.
MOST_LETTERS = 18
#: More sizes of rings than this are not shown at true size.
MOST_SIZES = 4
#: mm: the picture of the finished piece, wide and high, a ring in it; the rule.
PIECE_WIDE, PIECE_HIGH, PIECE_RING, RULE = 62.0, 66.0, 16.0, 50
WRONG_HIGH = 48.0  # mm, of pictures of slips


def facts(view: View, several: bool) -> Html:
    rows = joined(
        Html(f"<dt>{escaped(label)}</dt><dd>{escaped(sentence(words))}</dd>")
        for label, words in fact_rows(view, several)
    )
    return element("dl", rows, "facts")


def needs(one: Edition, large: bool) -> Html:
    tools = f"Tools: {listed(tools_of(one.view.recipe))}"
    things = joined(paragraph(sentence(t)) for t in (*one.listing.parts, tools))
    needs = one.listing.needs
    longest = max((len(w) for n in needs for w in f"{n.name} {n.words}".split()), default=0)
    rings = need_lines(needs) if large or longest > MOST_LETTERS else need_table(needs)
    return joined([rings, things])


def piece(one: Edition, choices: Choices) -> Html:
    """A stretch of the finished piece, large."""
    if one.piece is None or choices.pictures == "none":
        return Html("")
    wide, high = panel.size_of(one.piece.large)
    scale = min(PIECE_WIDE / wide, PIECE_HIGH / high, PIECE_RING / ACROSS) * choices.larger
    return element("figure", panel.sized_rings(one.piece.large, scale), "piece")


def true_size(one: Edition, choices: Choices) -> Html:
    """A ring of each size to lay one's own on, a stretch of the work at true size, and a rule."""
    sizes = [
        (need.name, wire, inside)
        for need in one.listing.needs
        for wire, inside in [need.kind.mm]
        if wire and inside and inside > 0
    ]
    if choices.pictures == "none" or not sizes or len(sizes) > MOST_SIZES:
        return Html("")
    told = [finished.true_rings(sizes)]
    if one.piece is not None:
        told.append(panel.sized_rings(one.piece.strip, 1 / one.piece.pixels))
    told.append(finished.rule(RULE))
    words = (
        "At true size: lay your ring on the ring. If the rule is not 50 mm long, the page was not"
        " printed at 100 %."
    )
    return element("figure", joined([*told, paragraph(words, "quiet")]), "true-size")


def right_and_wrong(shown: Sequence[tuple[str, Finished]], choices: Choices) -> Html:
    """The finished piece and what it looks like with slips in it, side by side."""
    sizes = [panel.size_of(seen.large) for _, seen in shown]
    room = choices.frame.text_wide - 10 * len(shown)
    scale = min(
        room / sum(wide for wide, _ in sizes),
        WRONG_HIGH * choices.larger / max(high for _, high in sizes),
        PIECE_RING / ACROSS * choices.larger,
    )
    told = joined(panel.labelled(seen.large, scale, words) for words, seen in shown)
    return element("figure", told, "panel")
