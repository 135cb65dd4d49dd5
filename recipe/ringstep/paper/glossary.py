"""The words of the craft that a page uses, explained; words that do not occur are left out.

Comes in: all the words of a page. Goes out: the entries that it needs, in alphabetical order.
The explanations are common practice, no source, but for those of the gauges (see `measures`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Entry:
    """term: the word explained; pattern: how it stands in a text; words: what it means."""

    term: str
    pattern: str
    words: str


_ENTRIES = (
    Entry(
        "AR (aspect ratio)",
        r"\bAR\b",
        "the inside diameter of a ring divided by the thickness of its wire; rings of the same AR"
        " weave alike, small or large.",
    ),
    Entry("ID", r"\bID\b", "inside diameter: how wide the opening of a ring is."),
    Entry(
        "AWG, SWG",
        r"\b[AS]WG\b",
        "American Wire Gauge and British Standard Wire Gauge. The same number is another"
        " thickness in the other system, so look at the mm.",
    ),
    Entry(
        "open, close",
        r"\b(open|close|opened|closed)\b",
        "open a ring by twisting its two ends past each other, sideways, never by pulling them"
        " apart; close it by twisting them back until they meet without a gap.",
    ),
    Entry(
        "pass through",
        r"\bpass(es)?\b.{0,12}\bthrough\b",
        "put one end of the open ring into the opening of another ring, so that the two hang"
        " together once it is closed.",
    ),
    Entry("link", r"\blink(s|ed)?\b", "two rings are linked where each passes through the other."),
    Entry(
        "picks up",
        r"\bpicks up\b",
        "how many rings the open ring goes through before it is closed.",
    ),
    Entry("unit", r"\bunits?\b", "the steps that are repeated, and the rings they place."),
    Entry(
        "the unit before",
        r"\bunit before\b",
        "the last unit you finished; at the beginning of the first unit, the rings of the start"
        " where there are any.",
    ),
    Entry(
        "strand",
        r"\bstrands?\b",
        "one of several chains that all begin at the start; the units of each are counted from 1.",
    ),
    Entry("row", r"\brows?\b", "the units that lie side by side in a sheet or round a tube."),
    Entry(
        "front, back",
        r"\bfrom the (front|back)\b|\blay (front|back)\b|\bwrong side\b",
        "the side that faces you as you hold the work, and the side away from you.",
    ),
    Entry(
        "eye",
        r"\beyes?\b(?! protection| often| of the clasp)",
        "the opening that rings lying together share.",
    ),
    Entry(
        "Möbius pair",
        r"\bM(ö|oe|o)bius\b|\blinked\b.{0,12}\bpairs?\b",
        "two rings that pass through the same place and through one another as well; also called"
        " a linked pair.",
    ),
    Entry("pair", r"\bpairs?\b(?! of flat)", "two rings that lie together and go the same way."),
    Entry(
        "fold back",
        r"\bfold(ed|s)?\b.{0,60}\bback\b",
        "turn rings that hang free over to the outside, one to each side, so that they lie along"
        " the rings they hang from.",
    ),
    Entry(
        "spread", r"\bspread\b", "push rings that lie together apart, so that you see between them."
    ),
    Entry("turn over", r"\bturn\b.{0,40}\bover\b", "lay the work with its other side up."),
    Entry("tighten", r"\btighten\b", "pull gently until the rings lie close."),
    Entry("tie", r"\btie\b", "bind with a thread or a twist of wire; it comes off again."),
    Entry("take out", r"\btake\b.{0,20}\bout\b", "open the ring and remove it; the rest stays."),
    Entry(
        "finished",
        r"\bfinished\b",
        "a ring is finished when everything that will ever pass through it is there.",
    ),
    Entry(
        "so-many-in-1",
        r"\b\d+-in-\d+\b",
        "how many others each ring passes through: in a 4-in-1 weave, four.",
    ),
    Entry("doubled", r"\bdoubled\b", "every ring of a plainer weave is two rings side by side."),
    Entry("captive", r"\bcaptive\b", "a ring held in its place by others without being linked."),
    Entry("variant", r"\bvariant\b", "one of several ways to lay the same links."),
)


def glossary(text: str) -> tuple[Entry, ...]:
    """The entries for the words that occur in a text.

    >>> [e.term for e in glossary("Spread both M rings of the unit before apart.")]
    ['spread', 'the unit before', 'unit']
    """
    there = [
        e
        for e in _ENTRIES
        if re.search(e.pattern, text, 0 if e.term in ("ID", "AR (aspect ratio)") else re.I)
    ]
    return tuple(sorted(there, key=lambda e: e.term.casefold()))
