"""Explain a rule, with a wrong and a right recipe, or a word of the language."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator

from ringstep.commands.rim import OK, Stop, say, words_of
from ringstep.language.words_page import Word, beside_words, words_page


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
    words, _ = words_page()
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
    entries = [*_entries(wanted, words), *beside_words(wanted)]
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

    words, _ = words_page()
    return sorted(
        {*(c.RULE.name for c in all_checks()), *(w for x in words for w in x.phrase.split())}
    )


def _entries(wanted: str, words: tuple[Word, ...]) -> Iterator[str]:
    """What the tables say of a word: where it is a phrase of its own, else where it is in one."""
    low = wanted.casefold()
    alone = [w for w in words if w.phrase.casefold() == low]
    for word in alone or [w for w in words if low in w.phrase.casefold().split()]:
        lines = (f"{word.section}:", f"  {word.example}", f"  {word.sentence}")
        yield "\n".join(lines).replace("`", "'")


def _speaks_of(wanted: str, prose: str) -> bool:
    """True where the words of a rule quote the word: 'picks 3'."""
    about = prose.partition("\nWrong:")[0]
    return any(
        re.search(rf"(?<![\w-]){re.escape(wanted)}(?![\w-])", quoted, re.I)
        for quoted in re.findall(r"(?<!\w)'([^'\n]+)'", about)
    )
