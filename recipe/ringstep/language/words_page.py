"""The page that says what every word of the language means, to be asked word by word.

Comes in: `grammar/words.md`, which is made from the grammar. Goes out: its words with their meaning
and a line that uses them, by the section of a recipe in which they stand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import NamedTuple

from ringstep.language.shipped import words_text


class Word(NamedTuple):
    """A word or phrase as the page tells it.

    section: the heading it stands under; example: a line that uses it; meaning: in a few words.
    """

    section: str
    phrase: str
    example: str
    meaning: str

    @property
    def sentence(self) -> str:
        """Its meaning as a sentence."""
        return f"{self.meaning[0].upper()}{self.meaning[1:]}.".replace("`", "'")


#: A row of a table of words; its second cell is a line of a recipe.
_ROW = re.compile(r"\| (.+?) \| `(.+?)` \| (.+) \|")
#: What the page calls the lines that stand in no section of their own.
_TITLES = {"title": "The title", "heading": "Headings", "step": "Steps"}


@cache
def words_page() -> tuple[tuple[Word, ...], tuple[str, ...]]:
    """The tables of words, and the lines that stand beside them."""
    words: list[Word] = []
    beside: list[str] = []
    for section in words_text().split("\n## ")[1:]:
        title, *lines = section.splitlines()
        rows = [_ROW.fullmatch(line) for line in lines]
        words += [Word(title, *row.groups()) for row in rows if row]
        beside += [x for x in lines if "`" in x and not x.startswith(("|", "Under "))]
    return tuple(words), tuple(beside)


def beside_words(wanted: str) -> Iterator[str]:
    """The lines of the page that show a word beside its tables: 'hint', 'all', 'opens', 'mm'."""
    for line in words_page()[1]:
        if re.search(rf"`{re.escape(wanted)}(?![\w-])", line, re.I):
            yield line.replace("`", "'")


@cache
def _phrases(rule: str, section: str) -> tuple[tuple[tuple[str, ...], Word], ...]:
    """The phrases that may stand in a line, as words, the longest first."""
    title = _TITLES.get(rule, f"In `{section}:`")
    found = [(tuple(w.phrase.casefold().split()), w) for w in words_page()[0] if w.section == title]
    return tuple(sorted(found, key=lambda each: -len(each[0])))


def phrase_at(rule: str, section: str, words: Sequence[str], at: int) -> Word | None:
    """What is meant by one word of a line: the longest phrase of the language whose words stand in
    it in their order, that word among them.

    rule, section: how the line is read. words: in lower case. at: the place of the word in them.

    >>> phrase_at("step", "unit", "fold back S on the left".split(), 5).phrase
    'on the left'
    """
    for phrase, word in _phrases(rule, section):
        for part, same in enumerate(phrase):
            before, behind = phrase[:part], phrase[part + 1 :]
            if same == words[at] and _ends(before, words[:at]) and _begins(behind, words[at + 1 :]):
                return word
    return None


def meaning_of(rule: str, section: str, before: Sequence[str], phrase: str) -> str:
    """What a word or phrase means where it would follow some words of a line; "" where the page
    does not say."""
    words = phrase.casefold().split()
    found = phrase_at(rule, section, [*before, *words], len(before) + len(words) - 1)
    longer = (w for p, w in _phrases(rule, section) if list(p[: len(words)]) == words)
    word = found or next(longer, None)
    return word.meaning.replace("`", "'") if word else ""


def _begins(phrase: Sequence[str], words: Sequence[str]) -> bool:
    """True where the words of a phrase follow, one after the other, others perhaps between."""
    rest = iter(words)
    return all(word in rest for word in phrase)


def _ends(phrase: Sequence[str], words: Sequence[str]) -> bool:
    """The same of words that stand before."""
    return _begins(phrase[::-1], words[::-1])
