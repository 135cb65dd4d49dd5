"""Densities of ring metals, found by the words a maker writes for the material.

In: the material text of a ring line. Out: one entry with its source, or None. In `source`,
'from memory' marks a figure that was not read again in print.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Density:
    """How heavy a metal is.

    name: the metal, as printed.
    g_per_cm3: density in grams per cubic centimetre at room temperature.
    source: where the figure comes from.
    note: what the maker should know when the trade word covers several alloys; else empty.
    """

    name: str
    g_per_cm3: float
    source: str
    note: str = ""


_ALUMINIUM_ASSOCIATION = "nominal densities table, Aluminum Specification (reprint)"
_ALUMINIUM_NOTE = (
    "'aluminium' covers several alloys, from 2.64 (5356) to 2.71 (1100): ask the supplier which"
)
_ALUMINIUM = Density("aluminium (as 1100)", 2.71, _ALUMINIUM_ASSOCIATION, _ALUMINIUM_NOTE)
_ALUMINIUM_1100 = Density("aluminium 1100", 2.71, _ALUMINIUM_ASSOCIATION)
_ALUMINIUM_5356 = Density("aluminium 5356", 2.64, _ALUMINIUM_ASSOCIATION)
_BRIGHT_ALUMINIUM = Density(
    "bright aluminium (as 5356)",
    2.64,
    _ALUMINIUM_ASSOCIATION,
    "'bright aluminium' is mostly a harder magnesium alloy (common practice, no source); "
    "plain aluminium is 2.71",
)
_ANODISED_ALUMINIUM = Density(
    "anodised aluminium (as 1100)",
    2.71,
    _ALUMINIUM_ASSOCIATION,
    _ALUMINIUM_NOTE + "; the coloured skin is too thin to count",
)
_COPPER = Density("copper", 8.92, "copper.org, typical; IEC 1913 standard copper has 8.89")
_CUZN30 = Density("brass CuZn30 (C26000)", 8.53, "mill and materials data sheets for C26000")
_BRASS = Density(
    "brass (as CuZn30)",
    8.53,
    _CUZN30.source,
    "'brass' covers several alloys; CuZn37 has 8.44, about 1 % less",
)
_CUZN37 = Density("brass CuZn37", 8.44, "from memory")
_RED_BRASS = Density("red brass CuZn15 (C23000)", 8.75, "from memory")
_PHOSPHOR_BRONZE = Density(
    "phosphor bronze (C51000, C51100)", 8.86, "materials data sheet for C51100; C51000 from memory"
)
_BRONZE = Density(
    "bronze (as phosphor bronze)",
    8.86,
    _PHOSPHOR_BRONZE.source,
    "'bronze' is also said of copper-zinc wire, about 8.8, and of silicon bronze, about 8.5",
)
_SILICON_BRONZE = Density("silicon bronze (C65500)", 8.53, "from memory")
_NICKEL_SILVER = Density(
    "nickel silver",
    8.7,
    "from memory",
    "copper, nickel and zinc in several alloys; it holds no silver, and it does hold nickel",
)
_STEEL = Density("carbon steel", 7.85, "published density table, 'steel, rolled'")
_STAINLESS_304 = Density("stainless steel 304", 7.9, "EN 10088-1, from memory; supplier sheets")
_STAINLESS_316 = Density("stainless steel 316", 8.0, "EN 10088-1, from memory; supplier sheets")
_STAINLESS = Density(
    "stainless steel (as 304)",
    7.9,
    _STAINLESS_304.source,
    "'stainless' covers several alloys; 316 has 8.0",
)
_TITANIUM_2 = Density("titanium grade 2", 4.51, "ASM data sheet, titanium grade 2")
_TITANIUM = Density(
    "titanium (as grade 2)",
    4.51,
    _TITANIUM_2.source,
    "'titanium' covers several grades; grade 5 has 4.43 (from memory)",
)
_TITANIUM_5 = Density("titanium grade 5", 4.43, "from memory")
_NIOBIUM = Density("niobium", 8.57, "materials data sheet for R04210")
_FINE_SILVER = Density("fine silver", 10.49, "published density table")
_STERLING = Density("sterling silver", 10.36, "materials data sheet for sterling silver")
_SILVER = Density(
    "silver (as sterling)",
    10.36,
    _STERLING.source,
    "'silver' covers several alloys; fine silver has 10.49, about 1 % more",
)

# None stands for words that are known, name one metal, and have no figure here: without them
# 'aluminium bronze' would weigh as aluminium.
_BY_WORDS: dict[str, Density | None] = {
    "aluminium": _ALUMINIUM,
    "1100 aluminium": _ALUMINIUM_1100,
    "aluminium 1100": _ALUMINIUM_1100,
    "5356": _ALUMINIUM_5356,
    "bright aluminium": _BRIGHT_ALUMINIUM,
    "anodised aluminium": _ANODISED_ALUMINIUM,
    "copper": _COPPER,
    "c11000": _COPPER,
    "brass": _BRASS,
    "cuzn30": _CUZN30,
    "c26000": _CUZN30,
    "cw505l": _CUZN30,
    "cuzn37": _CUZN37,
    "cw508l": _CUZN37,
    "red brass": _RED_BRASS,
    "cuzn15": _RED_BRASS,
    "c23000": _RED_BRASS,
    "bronze": _BRONZE,
    "phosphor bronze": _PHOSPHOR_BRONZE,
    "c51000": _PHOSPHOR_BRONZE,
    "c51100": _PHOSPHOR_BRONZE,
    "silicon bronze": _SILICON_BRONZE,
    "c65500": _SILICON_BRONZE,
    "aluminium bronze": None,
    "nickel silver": _NICKEL_SILVER,
    "german silver": _NICKEL_SILVER,
    "tibetan silver": None,
    "steel": _STEEL,
    "stainless": _STAINLESS,
    "stainless steel": _STAINLESS,
    "surgical steel": _STAINLESS,
    "304": _STAINLESS_304,
    "304l": _STAINLESS_304,
    "316": _STAINLESS_316,
    "316l": _STAINLESS_316,
    "titanium": _TITANIUM,
    "titanium grade 2": _TITANIUM_2,
    "grade 2 titanium": _TITANIUM_2,
    "titanium grade 5": _TITANIUM_5,
    "grade 5 titanium": _TITANIUM_5,
    "niobium": _NIOBIUM,
    "silver": _SILVER,
    "fine silver": _FINE_SILVER,
    "999": _FINE_SILVER,
    "sterling": _STERLING,
    "sterling silver": _STERLING,
    "925": _STERLING,
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


def density_of(words: str) -> Density | None:
    """The metal that an author's material text names, case and hyphens ignored; None if unknown.

    Of several matches a grade ('316', '925') wins, then the longest one. What is only plated on
    or a colour ('silver plated copper', 'copper plated with silver') does not count. None also
    when two different metals match equally well ('brass or steel'), when a thick skin is named
    ('copper clad'), or when the metal named has no figure here.
    """
    heard = "".join(c if c.isalnum() else " " for c in words.casefold()).split()
    heard = [_OTHER_SPELLING.get(word, word) for word in heard]
    named = _metals_in(heard)
    if not named or not _THICK_SKIN.isdisjoint(heard):
        return None
    best = max(_rank(name) for name in named)
    found = {_BY_WORDS[name] for name in named if _rank(name) == best}
    return found.pop() if len(found) == 1 else None


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
