"""The usual cautions, printed with everything a student works from.

They are general advice; local rules and the supplier's declarations go before them.
"""

from __future__ import annotations

from collections.abc import Iterable

from ringstep.language.words import listed
from ringstep.shop.declarations import LOCAL_RULES, declarations

#: The one that stands on a bag by itself.
SMALL_PARTS = "Small rings are a choking hazard: keep them from small children."
CAUTIONS = (
    "Wear eye protection when you cut or close wire; cut ends fly and are sharp.",
    f"{SMALL_PARTS} Pieces for children under three fall under small-parts rules such as 16 CFR"
    " 1501.",
    "For metal worn on the skin, look at the supplier's declaration on nickel and lead (in the EU:"
    " REACH Annex XVII, entries 27 and 63).",
    "Rest your hands and eyes often; stop when a hand hurts.",
    "The piece is jewellery, not protective or load-bearing equipment.",
    "Solder, torch, acid and anodising only with proper training and under local rules.",
)
#: Where wire is wound and coils are sawn.
WINDING = (
    "Wear eye protection when you wind, saw or cut wire; its end whips round when it is let go, and"
    " cut ends fly and are sharp.",
    "Hold the end of the coil and let it unwind slowly; never wind wire round your hand.",
    "Turn the mandrel by hand, or with a machine only as you were taught: no gloves, no loose hair"
    " or sleeves near what turns.",
    "Clamp a coil before you saw it, and saw away from your fingers.",
)

#: Above what `asked_words` says.
ASK = "Ask your supplier for a declaration of"


def asked_short(materials: Iterable[str]) -> str:
    """The same in one sentence, without figures; empty where no metal calls for it."""
    told = [
        f"{ask.what.partition(',')[0]} ({listed(list(ask.of))})" for ask in declarations(materials)
    ]
    return f"Here ask for the declaration of {listed(told)}; local rules go first." if told else ""


def asked_words(materials: Iterable[str]) -> list[str]:
    """What to ask a supplier for, a line for each; empty where no metal calls for it."""
    told = [f"{listed(list(ask.of))}: {ask.what}" for ask in declarations(materials)]
    return [*told, LOCAL_RULES] if told else []
