"""Explain a rule, with a wrong and a right recipe, or a word of the language."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from ringstep.commands.rim import OK, Stop, say, words_of


class Word(NamedTuple):
    """A word or phrase as `grammar/words.md` tells it.

    section: the heading it stands under; example: a line that uses it; meaning: in a few words.
    """

    section: str
    phrase: str
    example: str
    meaning: str


#: A row of a table of words; its second cell is a line of a recipe.
_ROW = re.compile(r"\| (.+?) \| `(.+?)` \| (.+) \|")


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep explain`."""
    parser.add_argument(
        "rule",
        metavar="RULE",
        nargs="*",
        help="as printed in brackets by check, or a word of the language such as picks",
    )


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    from ringstep.checks.rules import all_checks
    from ringstep.language.words import listed, or_nearest

    checks = {c.RULE.name: c for c in all_checks()}
    prose = {name: words_of(one) for name, one in sorted(checks.items())}
    words, beside = _words_page()
    wanted = " ".join(args.rule)
    if not wanted:
        width = max(map(len, checks))
        for name, text in prose.items():
            first = text.splitlines()[0]
            say(f"{name:<{width}}  {checks[name].RULE.severity:<7}  {first}")
        known = ", ".join(dict.fromkeys(w.phrase for w in words))
        told = f"These words of the language are explained too: {known}."
        say(f"\n{_filled(told)}")
        return OK
    if wanted in checks:
        told = prose[wanted]
        if sys.stdout.isatty():
            told = "\n\n".join(map(_filled, told.split("\n\n")))
        say(f"{wanted} ({checks[wanted].RULE.severity})\n\n{told}")
        return OK
    entries = [*_entries(wanted, words), *_beside(wanted, beside)]
    if not entries:
        near = or_nearest(wanted, explained(), "'ringstep explain' lists them all")
        raise Stop(f"there is no rule and no word '{wanted}'{near}")
    if rules := [name for name, text in prose.items() if _speaks_of(wanted, text)]:
        more = f"for more, type 'ringstep explain {rules[0]}'"
        entries.append(f"Rules that speak of it: {listed(rules)}; {more}.")
    say("\n\n".join(map(_filled, (wanted, *entries))))
    return OK


def _filled(text: str) -> str:
    """A paragraph in lines of 88 columns, on a terminal of as many as that has; examples as they
    are."""
    from shutil import get_terminal_size
    from textwrap import fill

    if any(line[:1].isspace() for line in text.splitlines()):
        return text
    width = min(88, get_terminal_size().columns) if sys.stdout.isatty() else 88
    return fill(text, width, break_on_hyphens=False, break_long_words=False)


def explained() -> list[str]:
    """Everything that can be explained, word by word: the rules and the words of the language."""
    from ringstep.checks.rules import all_checks

    words, _ = _words_page()
    return sorted(
        {*(c.RULE.name for c in all_checks()), *(w for x in words for w in x.phrase.split())}
    )


@cache
def _words_page() -> tuple[tuple[Word, ...], tuple[str, ...]]:
    """The tables of words in `grammar/words.md`, and what stands beside them."""
    from ringstep.language.shipped import shipped

    page = (shipped("grammar") / "words.md").read_text(encoding="utf-8")
    words: list[Word] = []
    beside: list[str] = []
    for section in page.split("\n## ")[1:]:
        title, *lines = section.splitlines()
        rows = [_ROW.fullmatch(line) for line in lines]
        words += [Word(title, *row.groups()) for row in rows if row]
        beside += [x for x in lines if "`" in x and not x.startswith(("|", "Under "))]
    return tuple(words), tuple(beside)


def _entries(wanted: str, words: tuple[Word, ...]) -> Iterator[str]:
    """What the tables say of a word: where it is a phrase of its own, else where it is in one."""
    low = wanted.casefold()
    alone = [w for w in words if w.phrase.casefold() == low]
    for word in alone or [w for w in words if low in w.phrase.casefold().split()]:
        meaning = word.meaning[0].upper() + word.meaning[1:]
        lines = (f"{word.section}:", f"  {word.example}", f"  {meaning}.")
        yield "\n".join(lines).replace("`", "'")


def _beside(wanted: str, beside: tuple[str, ...]) -> Iterator[str]:
    """The lines of the page that show a word beside its tables: 'hint', 'all', 'opens', 'mm'."""
    for line in beside:
        if re.search(rf"`{re.escape(wanted)}(?![\w-])", line, re.I):
            yield line.replace("`", "'")


def _speaks_of(wanted: str, prose: str) -> bool:
    """True where the words of a rule quote the word: 'picks 3'."""
    about = prose.partition("\nWrong:")[0]
    return any(
        re.search(rf"(?<![\w-]){re.escape(wanted)}(?![\w-])", quoted, re.I)
        for quoted in re.findall(r"(?<!\w)'([^'\n]+)'", about)
    )
