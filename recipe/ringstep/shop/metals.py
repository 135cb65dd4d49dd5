"""Densities of ring metals, found by the words a maker writes for the material.

In: the material text of a ring line. Out: one entry with its source, or None. `_TYPICAL`
marks a figure that stands here from memory, not read again in print.
"""

from __future__ import annotations

from dataclasses import dataclass

from ringstep.shop.list_words import METALS


@dataclass(frozen=True, slots=True)
class Density:
    """How heavy a metal is.

    name: the metal, as printed.
    g_per_cm3: density in grams per cubic centimetre at room temperature.
    source: where the figure comes from.
    heard: the words by which it is known, parted by commas.
    note: what the maker should know when the trade word covers several alloys; else empty.
    """

    name: str
    g_per_cm3: float
    source: str
    heard: str
    note: str = ""


#: Printed for a figure that stands here from memory.
_TYPICAL = "typical figure; ask your supplier"
_ALUMINIUM = "nominal densities table, Aluminum Specification (reprint)"
_ALUMINIUM_NOTE = (
    "'aluminium' covers several alloys, from 2.64 (5356) to 2.71 (1100): ask the supplier which"
)
_CUZN30 = "mill and materials data sheets for C26000"
_PHOSPHOR_BRONZE = "materials data sheet for C51100; typical for C51000"
_STAINLESS = "EN 10088-1; supplier sheets"  # the standard from memory
_TITANIUM = "ASM data sheet, titanium grade 2"
_STERLING = "materials data sheet for sterling silver"

_METALS = (
    Density("aluminium (as 1100)", 2.71, _ALUMINIUM, "aluminium", _ALUMINIUM_NOTE),
    Density("aluminium 1100", 2.71, _ALUMINIUM, "1100 aluminium, aluminium 1100"),
    Density("aluminium 5356", 2.64, _ALUMINIUM, "5356"),
    Density(
        "bright aluminium (as 5356)",
        2.64,
        _ALUMINIUM,
        "bright aluminium",
        "'bright aluminium' is mostly a harder magnesium alloy (common practice, no source); "
        "plain aluminium is 2.71",
    ),
    Density(
        "anodised aluminium (as 1100)",
        2.71,
        _ALUMINIUM,
        "anodised aluminium",
        _ALUMINIUM_NOTE + "; the coloured skin is too thin to count",
    ),
    Density(
        "copper",
        8.92,
        "copper.org, typical; IEC 1913 standard copper has 8.89",
        "copper, c11000",
    ),
    Density("brass CuZn30 (C26000)", 8.53, _CUZN30, "cuzn30, c26000, cw505l"),
    Density(
        "brass (as CuZn30)",
        8.53,
        _CUZN30,
        "brass",
        "'brass' covers several alloys; CuZn37 has 8.44, about 1 % less",
    ),
    Density("brass CuZn37", 8.44, _TYPICAL, "cuzn37, cw508l"),
    Density("red brass CuZn15 (C23000)", 8.75, _TYPICAL, "red brass, cuzn15, c23000"),
    Density(
        "phosphor bronze (C51000, C51100)",
        8.86,
        _PHOSPHOR_BRONZE,
        "phosphor bronze, c51000, c51100",
    ),
    Density(
        "bronze (as phosphor bronze)",
        8.86,
        _PHOSPHOR_BRONZE,
        "bronze",
        "'bronze' is also said of copper-zinc wire, about 8.8, and of silicon bronze, about 8.5",
    ),
    Density("silicon bronze (C65500)", 8.53, _TYPICAL, "silicon bronze, c65500"),
    Density(
        "nickel silver",
        8.7,
        _TYPICAL,
        "nickel silver, german silver",
        "copper, nickel and zinc in several alloys; it holds no silver, and it does hold nickel",
    ),
    Density("carbon steel", 7.85, "published density table, 'steel, rolled'", "steel"),
    Density("stainless steel 304", 7.9, _STAINLESS, "304, 304l"),
    Density("stainless steel 316", 8.0, _STAINLESS, "316, 316l"),
    Density(
        "stainless steel (as 304)",
        7.9,
        _STAINLESS,
        "stainless, stainless steel, surgical steel",
        "'stainless' covers several alloys; 316 has 8.0",
    ),
    Density("titanium grade 2", 4.51, _TITANIUM, "titanium grade 2, grade 2 titanium"),
    Density(
        "titanium (as grade 2)",
        4.51,
        _TITANIUM,
        "titanium",
        "'titanium' covers several grades; grade 5 has 4.43",
    ),
    Density("titanium grade 5", 4.43, _TYPICAL, "titanium grade 5, grade 5 titanium"),
    Density("niobium", 8.57, "materials data sheet for R04210", "niobium"),
    Density("fine silver", 10.49, "published density table", "fine silver, 999"),
    Density("sterling silver", 10.36, _STERLING, "sterling, sterling silver, 925"),
    Density(
        "silver (as sterling)",
        10.36,
        _STERLING,
        "silver",
        "'silver' covers several alloys; fine silver has 10.49, about 1 % more",
    ),
)
# None stands for words that are known, name one metal, and have no figure here: without them
# 'aluminium bronze' would weigh as aluminium.
_BY_WORDS: dict[str, Density | None] = {
    **dict.fromkeys(("aluminium bronze", "tibetan silver")),
    **{words: metal for metal in _METALS for words in metal.heard.split(", ")},
}
_LONGEST = max(words.count(" ") + 1 for words in _BY_WORDS)

_OTHER_SPELLING = {"aluminum": "aluminium", "anodized": "anodised"}

# A metal named before one of these, or after it and 'with' or 'in', is a skin or a colour: the
# ring weighs as what lies beneath.
_ONLY_SKIN_DEEP = frozenset(
    {
        *("plated", "plate", "plating", "coated", "coating", "tone", "toned", "finish", "look"),
        *("colour", "color", "coloured", "colored", "grey", "gray"),
    }
)
# These skins are thick enough to weigh: copper clad aluminium is a fifth heavier than aluminium.
_THICK_SKIN = frozenset(("clad", "filled", "bonded"))


def metal_words() -> tuple[str, ...]:
    """The words of the trade for metals, without grades that are numbers."""
    return tuple(words for words in _BY_WORDS if not any(c.isdigit() for c in words))


def names_metal(words: str) -> bool:
    """Whether a text names any metal that is known, a skin or a colour among them."""
    heard = f" {' '.join(_heard(words))} "
    return any(f" {name} " in heard for name in _BY_WORDS)


def density_of(words: str) -> Density | None:
    """The metal that an author's material text names, case and hyphens ignored; None if unknown.

    Of several matches a grade ('316', '925') wins, then the longest one. What is only plated on
    or a colour ('silver plated copper', 'copper plated with silver') does not count. None also
    when two different metals match equally well ('brass or steel'), when a thick skin is named
    ('copper clad'), or when the metal named has no figure here.
    """
    heard = _heard(words)
    named = _metals_in(heard)
    if not named or not _THICK_SKIN.isdisjoint(heard):
        return None
    best = max(_rank(name) for name in named)
    found = {_BY_WORDS[name] for name in named if _rank(name) == best}
    return found.pop() if len(found) == 1 else None


def _heard(words: str) -> list[str]:
    """The words of a text in one spelling, those of other tongues in English."""
    heard = "".join(c if c.isalnum() else " " for c in words.casefold()).split()
    return " ".join(_OTHER_SPELLING.get(w, METALS.get(w, w)) for w in heard).split()


def _rank(name: str) -> tuple[bool, int]:
    return any(c.isdigit() for c in name), len(name)


def _metals_in(heard: list[str]) -> list[str]:
    """Known names in the text, longest first at each place, without what is only a skin."""
    named: list[str] = []
    at = 0
    while at < len(heard):
        size = next(
            (k for k in range(_LONGEST, 0, -1) if " ".join(heard[at : at + k]) in _BY_WORDS), 0
        )
        if not size:
            at += 1
            continue
        end = at + size
        over = heard[end : end + 2]
        is_skin = _says_skin(over[:1]) and not _says_skin(over, then_what=True)
        under = heard[max(at - 2, 0) : at]
        if not is_skin and not _says_skin(under, then_what=True):
            named.append(" ".join(heard[at:end]))
        at = end
    return named


def _says_skin(words: list[str], *, then_what: bool = False) -> bool:
    """Whether the words are 'plated' or the like, or, then_what, 'plated with' or the like."""
    if then_what:
        return len(words) == 2 and words[0] in _ONLY_SKIN_DEEP and words[1] in ("with", "in")
    return bool(words) and words[0] in _ONLY_SKIN_DEEP
