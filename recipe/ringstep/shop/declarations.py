"""Which declarations to ask a supplier for, by the metals of a kit. A caution, no advice.

Comes in: what an author calls the materials. Goes out: frozen `Ask`s, only where a metal calls for
one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ringstep.shop.metals import density_of

#: Said once behind all of them.
LOCAL_RULES = "this is a caution, no advice: local rules go first"


@dataclass(frozen=True, slots=True)
class Ask:
    """What to ask for. of: the metals, as the trade calls them; what: the declaration, in words."""

    of: tuple[str, ...]
    what: str


# REACH (Regulation (EC) 1907/2006), Annex XVII. Entry 27: pierced posts below 0.2, skin contact at
# most 0.5 µg/cm² a week, coatings to hold two years; EN 1811:2023 is the test, harmonised by OJ
# C/2023/1604.
_NICKEL = (
    "nickel release, at most 0.5 µg/cm² a week on the skin, below 0.2 for posts in pierced ears (EU"
    " REACH entry 27, tested to EN 1811:2023)"
)
_COATED = "for a plated ring the coating has to keep that for two years"
# Entry 63, Regulation (EU) 836/2012: lead below 0.05 % by weight of each part.
_LEAD = "lead, below 0.05 % by weight (EU REACH entry 63)"
# The standard composition of C26000 permits lead up to 0.07 %.
_C26000 = "brass sold as C26000 may hold up to 0.07 %, which is more"
# Entry 23, paragraph 10, Regulation (EU) 494/2011: not 0.01 % or more of the metal of each part
# (ECHA, questions and answers on entry 23, no. 158).
_CADMIUM = "cadmium, below 0.01 % by weight (EU REACH entry 23)"

# Which metals may hold what: nickel in stainless steel and nickel silver and lead in brass by their
# standard compositions; the rest common practice, no source. 'carbon steel' is what plain 'steel'
# is taken for, and is mostly sold plated.
_WITH_NICKEL = frozenset({"stainless steel", "carbon steel", "nickel silver"})
_WITH_LEAD = frozenset({"brass", "red brass", "bronze", "phosphor bronze", "nickel silver"})
_WITH_CADMIUM = frozenset({"brass", "sterling silver", "silver"})
_SKIN = ("plated", "plating", "coated", "coating", "electroplated")
_GRADES = ("CuZn", "304", "316")


def declarations(materials: Iterable[str]) -> tuple[Ask, ...]:
    """What to ask for, nickel first; nothing for metals that call for none or are not known.

    >>> [ask.what.split(",")[0] for ask in declarations(["C26000 brass", "copper"])]
    ['lead', 'cadmium']
    """
    found: dict[str, dict[str, None]] = {"nickel": {}, "lead": {}, "cadmium": {}}
    plated = False
    for words in dict.fromkeys(materials):
        metal = density_of(words)
        name = _trade_name(metal.name) if metal else ""
        coat = any(word in words.casefold().split() for word in _SKIN)
        plated |= coat
        if name in _WITH_NICKEL or coat:
            found["nickel"][words if coat else _called(name)] = None
        if name in _WITH_LEAD:
            found["lead"][_called(name)] = None
        if name in _WITH_CADMIUM:
            found["cadmium"][_called(name)] = None
    more = {
        "nickel": f"{_NICKEL}; {_COATED}" if plated else _NICKEL,
        "lead": f"{_LEAD}; {_C26000}" if any("brass" in of for of in found["lead"]) else _LEAD,
        "cadmium": _CADMIUM,
    }
    return tuple(Ask(tuple(of), more[what]) for what, of in found.items() if of)


def _trade_name(name: str) -> str:
    """A metal without its grade: 'brass (as CuZn30)' is brass, 'stainless steel 316' as well."""
    plain = name.partition(" (")[0]
    return " ".join(word for word in plain.split() if not word.startswith(_GRADES))


def _called(name: str) -> str:
    """A metal as its buyer calls it."""
    return "steel" if name == "carbon steel" else name
