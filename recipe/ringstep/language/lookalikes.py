"""Names that look the same and are not: 'A' and Cyrillic 'А', 'core' and 'соre', 'I1' and 'l1'.

Comes in: names as typed. Goes out: which of them look alike, and in words how they differ. The idea
and the letters are those of Unicode Technical Standard 39 (confusables), cut down to the Greek and
Cyrillic letters that look like Latin ones in every print.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from ringstep.language.words import nearest

_LOOKS = str.maketrans(
    "I10ΑΒΕΖΗΙΚΜΝΟΡΤΥΧαγινορσυАВЕЅІЈКМНОРСТУХЗаеіјорсухѕԁһԛԝ",
    "llOABEZHlKMNOPTYXayivopouABESlJKMHOPCTYX3aeijopcyxsdhqw",
)
_SCRIPTS = {"LATIN": "Latin", "GREEK": "Greek", "CYRILLIC": "Cyrillic", "FULLWIDTH": "full-width"}


@lru_cache(1024)
def look(name: str) -> str:
    """What a name looks like; two names with one look cannot be told apart on paper.

    >>> look("А1") == look("A1") == look("Ａ１"), look("core") == look("Core")
    (True, False)
    """
    plain = unicodedata.normalize("NFKC", name).translate(_LOOKS)
    return unicodedata.normalize("NFD", plain)


def lookalike(name: str, known: Iterable[str]) -> str | None:
    """The one of some other names that looks like this one; None where none does."""
    looks = look(name)
    return next((one for one in known if one != name and look(one) == looks), None)


def told_apart(name: str, other: str, which: str) -> str:
    """How a name differs from one that looks like it; `which` says what the other one is.

    >>> told_apart("А", "A", "the ring placed")
    "'А' here is the Cyrillic letter, the ring placed is the Latin 'A'"
    >>> told_apart("соre", "core", "the ring placed")
    "'соre' has the Cyrillic letter 'с', the ring placed is 'core' with the Latin 'c'"
    >>> told_apart("I1", "l1", "the ring placed")
    "'I1' has the capital letter 'I', the ring placed is 'l1' with the small letter 'l'"
    """
    pair = next(((a, b) for a, b in zip(name, other, strict=False) if a != b), None)
    if pair is None or len(name) != len(other):
        return f"'{name}' is put together from other characters than '{other}', {which}"
    mine, its = map(_shape if all(c.isascii() for c in pair) else _kind, pair)
    if len(name) == 1:
        return f"'{name}' here is the {_lettered(mine)}, {which} is the {its} '{other}'"
    return (
        f"'{name}' has the {_lettered(mine)} '{pair[0]}', {which} is '{other}' with the {its}"
        f" '{pair[1]}'"
    )


def meant(name: str, known: list[str], which: str) -> str | None:
    """What to say of a name that leads nowhere: the one it looks like, or is nearest to; None where
    there is no such one. which: what the names that are known are, as in `told_apart`."""
    if twin := lookalike(name, known):
        return f"{told_apart(name, twin, which)}; type one of the two again"
    near = nearest(name, known)
    return f"the nearest name is '{near}'" if near else None


def _kind(char: str) -> str:
    """The script of a letter: 'Latin', 'Cyrillic'."""
    return _SCRIPTS.get(unicodedata.name(char, "").partition(" ")[0], _shape(char))


def _shape(char: str) -> str:
    """What kind of character it is, where the script does not tell: 'small letter', 'figure'."""
    if char.isdecimal():
        return "figure"
    return "capital letter" if char.isupper() else "small letter"


def _lettered(kind: str) -> str:
    return kind if kind in ("capital letter", "small letter", "figure") else f"{kind} letter"
