"""The words of the language in one place, for reading, for messages and for near-miss help."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache

VERBS = (
    "add",
    "close",
    "reopen",
    "fold back",
    "spread",
    "turn over",
    "hold",
    "tie",
    "tighten",
    "take out",
    "untie",
    "let go",
)
OPTIONS = (
    "through",
    "one another",
    "at one place",
    "around",
    "inside",
    "picks",
    "lay",
    "on the left",
    "on the right",
    "one to each side",
    "skip at edge",
)
PLACES = ("prev", "next", "above", "first", "last", "every")
HEADINGS = (
    "rings",
    "sizes",
    "parts",
    "expect",
    "variants",
    "notes",
    "start",
    "unit",
    "first row",
    "row",
    "again",
    "extra place",
    "shared place",
    "last row",
    "row end",
    "finish",
    "piece",
    "join",
    "shape",
    "picture",
)
PIECE_WORDS = (
    *("chain", "loop", "strands", "sheet", "tube", "rows", "order", "variant", "sample"),
    "made",
)

NUMBER_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
UNITS_OF_SIZE = ("mm", "cm", "in", "inch", "inches", "awg", "swg")

#: Words that are good names for rings and cannot be mistaken where they stand.
_FREE = frozenset(
    {"at", "edge", "end", "over", "out", "untie", "let", "go", "one", "another", "place", "on"}
    | {"the", "left", "right", "each", "side", "picture", "sizes", "strands", "shape"}
    | {"join", "made", "extra", "shared"}
)

#: All words of the language; none may be used as a ring's name.
RESERVED = frozenset(
    word
    for group in (VERBS, OPTIONS, PLACES, HEADINGS, PIECE_WORDS)
    for phrase in group
    for word in phrase.split()
    if word not in _FREE
) | frozenset(
    {
        "weave",
        "hint",
        "meets",
        "wire",
        "colour",
        "varies",
        "front",
        "units",
        "every",
        "repeats",
        "if",
        "there",
        "then",
        "forth",
        "ar",
        "and",
        "of",
        "to",
    }
)


#: What each kind of line is called in messages, and how one reads.
LINE_KINDS = {
    "title": ("the title", 'weave "Simple chain"'),
    "ring_kind": ("a line of 'rings:'", "core  wire 1.2 mm, inside 5 mm, copper"),
    "set_line": ("a line of 'sizes:'", "small  core  wire 0.8 mm, inside 4.3 mm"),
    "part_kind": ("a line of 'parts:'", "bead  glass, 4 mm"),
    "promise": ("a promise", "A meets 4"),
    "variant": ("a variant", "zigzag  lay front, back"),
    "step": ("a step", "add A through prev A"),
    "piece_line": ("a line of 'piece:'", "chain 24 units"),
    "shape_line": ("a line of 'shape:'", "rows 2 to 6  each 1 less"),
}


def reads_like(kind: str) -> str:
    """A kind of line with its example.

    >>> reads_like("promise")
    "a promise reads like 'A meets 4'"
    """
    what, example = LINE_KINDS[kind]
    return f"{what} reads like '{example}'"


def _slips(a: str, b: str, most: int) -> int:
    """Typing slips between two words: letters lost, gained, changed, or two swapped.

    Only up to `most` of them are counted; where there are more, the number says no more than that.
    """
    far = most + 1
    before: list[int] = []
    row = [j if j <= most else far for j in range(len(b) + 1)]
    for i, x in enumerate(a, 1):
        last, before, row = before, row, [far] * (len(b) + 1)
        row[0] = i
        for j in range(max(1, i - most), min(len(b), i + most) + 1):
            y = b[j - 1]
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                cost = min(cost, last[j - 2] + 1)
            row[j] = cost
        if min(row) > most and min(before) > most:
            return far
    return row[-1]


def nearest(word: str, choices: tuple[str, ...] | list[str] | frozenset[str]) -> str | None:
    """The one choice that a typing slip would turn into `word`, or None when none or two fit.

    >>> nearest("throuhg", OPTIONS), nearest("xyz", OPTIONS)
    ('through', None)
    """
    return _nearest(word, tuple(choices))


def or_nearest(word: str, choices: Collection[str], otherwise: str = "") -> str:
    """The end of a message about a word that is none of the choices: which is nearest to it.

    otherwise: said where none is near; all of the choices where it is left out.
    """
    near = nearest(word, tuple(choices))
    otherwise = otherwise or f"it has {listed(list(choices)) or 'none'}"
    return f"; the nearest is '{near}'" if near else f"; {otherwise}"


@lru_cache(1024)  # a name that no step places is asked for wherever it stands
def _nearest(word: str, choices: tuple[str, ...]) -> str | None:
    low = word.casefold()[:40]
    most = min(1 if len(low) < 5 else 2, len(low) - 1)
    letters = set(low)
    scored = sorted(
        (slips, choice)
        for choice in choices
        if choice != word
        # each slip changes the length by one and the letters used by two at most
        and abs(len(folded := choice.casefold()) - len(low)) <= most
        and len(letters.symmetric_difference(folded)) <= 2 * most
        and (slips := _slips(low, folded, most)) <= most
    )
    unsure = len(scored) > 1 and scored[0][0] == scored[1][0]
    return scored[0][1] if scored and not unsure else None


def listed(items: list[str] | tuple[str, ...], last: str = "and") -> str:
    """Words as a sentence lists them.

    >>> listed(["A"]), listed(["A", "B", "C"]), listed(["A", "B"], "or")
    ('A', 'A, B and C', 'A or B')
    """
    words = list(items)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def plural(count: int, word: str) -> str:
    """A count with its word, in the right number.

    >>> plural(1, "ring"), plural(3, "ring"), plural(2, "pass")
    ('1 ring', '3 rings', '2 passes')
    """
    if count == 1:
        return f"1 {word}"
    return f"{count:,} {word}{'es' if word.endswith(('s', 'x')) else 's'}"
