"""The page of words: how a recipe is written, with an example, and every word with its meaning."""

from __future__ import annotations

from itertools import groupby

from ringstep.language.shipped import shipped_text
from ringstep.language.words_page import words_page
from ringstep.paper.page import (
    Frame,
    Html,
    element,
    escaped,
    heading,
    joined,
    paragraph,
    table,
    whole_page,
)

_BEGIN = (
    "A recipe is read aloud: one thing a line. Headings end in a colon; what stands under one is"
    " moved in by two blanks. 'start:' is made once, 'unit:' is what repeats, and 'prev A' is the A"
    " of the unit before. Under 'expect:' stands what must come out, which finds a missed ring."
)


def words_sheet() -> str:
    """The page as HTML."""
    tables = []
    for title, words in groupby(words_page()[0], lambda word: word.section):
        rows = [
            [
                element("strong", escaped(w.phrase)),
                element("code", escaped(w.example)),
                escaped(w.sentence),
            ]
            for w in words
        ]
        caption = title.replace("`", "'")
        tables += [heading(2, caption), table("", ("words", "a line", "what they mean"), rows)]
    lines = map(escaped, shipped_text("simple_chain").split("\n"))
    example = element("pre", Html("\n".join(lines)))
    parts = [heading(1, "The words of a recipe"), paragraph(_BEGIN), example, *tables]
    frame = Frame("The words of a recipe")
    return whole_page(frame, joined(parts), "pre { white-space: pre-wrap; }")
