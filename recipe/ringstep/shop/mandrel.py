"""From a mandrel to the ring wound on it, and back: how far round wire springs open.

Comes in: sizes in mm and a metal, or one measured coil. Goes out: the inside of the ring in mm, or
`NoRing`, which says why there is none. Wire bent far past its yield, as round a mandrel, springs
back by the same amount of curvature whatever the mandrel: d (1/D - 1/D'), with the wire d and the
mean diameters D as wound and D' as released, is one number for a spool, its spring-back.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ringstep.language.measures import text_mm
from ringstep.language.source import Refused
from ringstep.language.words import listed
from ringstep.shop.metals import density_of

#: Spring-back over Y/E, yield strength over elastic modulus. Elementary plasticity: a round wire
#: bent until it yields right through holds against Y d^3 / 6 and straightens with E pi d^4 / 64.
_BENT_THROUGH = 16 / (3 * pi)

#: The most curvature that may be lost. Beyond it, where a coil opens to more than half as wide
#: again, so much of the wire only bent elastically that mean diameters are off by over 1 %.
_MOST_LOST = 1 / 3

_IS_MEASURED = "wind one coil of your own, measure it and type --coil '8 mm, inside 8.4 mm'"


class NoRing(Refused):
    """A ring or a mandrel that cannot be told; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Typical:
    """Wire of a metal and temper, by what is typical of it. yields: Y/E, a plain ratio."""

    metal: str
    temper: str
    yields: float

    @property
    def words(self) -> str:
        """'half-hard copper'."""
        return f"{self.temper} {self.metal}"

    def springback(self, wire: float) -> float:
        """Its spring-back, a plain ratio; the same for every wire (mm)."""
        return _BENT_THROUGH * self.yields


@dataclass(frozen=True, slots=True)
class Coil:
    """One coil that was wound, let go and measured. mandrel, inside: mm."""

    mandrel: float
    inside: float

    @property
    def words(self) -> str:
        """What stands for the metal in tables."""
        return "your spool"

    def springback(self, wire: float) -> float:
        """The spring-back of its wire (mm), a plain ratio. Raises `NoRing`."""
        if self.inside < self.mandrel:
            raise NoRing(
                f"a coil of {text_mm(self.inside)} mm inside does not come off a mandrel of"
                f" {text_mm(self.mandrel)} mm; write the mandrel first, as in"
                " --coil '8 mm, inside 8.4 mm'"
            )
        wound = self.mandrel + wire
        lost = 1 - wound / (self.inside + wire)
        if lost > _MOST_LOST:
            raise NoRing(
                f"the coil opened from {text_mm(self.mandrel)} to {text_mm(self.inside)} mm inside,"
                " more than half as wide again, and by so springy a coil others cannot be told;"
                " measure one wound on a narrower mandrel"
            )
        return wire / wound * lost


Spool = Typical | Coil

#: Y/E typical of ring wire. From memory, typical only; two spools of one name differ.
TYPICAL = (
    Typical("copper", "soft", 0.0006),
    Typical("copper", "half-hard", 0.0019),
    Typical("copper", "hard", 0.0026),
    Typical("brass", "soft", 0.0011),
    Typical("brass", "half-hard", 0.0032),
    Typical("brass", "hard", 0.0038),
    Typical("aluminium", "soft", 0.0006),
    Typical("aluminium", "half-hard", 0.0017),
    Typical("aluminium", "hard", 0.0040),
    Typical("stainless", "soft", 0.0013),
    Typical("stainless", "spring", 0.0062),
)
#: By the words of the trade; those of two words go first.
_TEMPERS = {
    "half hard": "half-hard", "full hard": "hard", "dead soft": "soft", "spring hard": "spring",
    "annealed": "soft", "soft": "soft", "hard": "hard", "spring": "spring",
}  # fmt: skip
#: How the metals that have a figure are called in the table of densities.
_METALS = {
    "copper": "copper", "brass": "brass", "aluminium": "aluminium", "stainless": "stainless",
    "bright aluminium": "aluminium", "anodised aluminium": "aluminium",
}  # fmt: skip


def known_metals() -> str:
    """Every metal and temper there is a figure for, as a sentence lists them."""
    return listed([one.words for one in TYPICAL])


def typical_of(words: str) -> tuple[Typical, ...]:
    """What is typical of a metal: one temper where the words name it, else each that is known.

    Raises `NoRing` where nothing is known of it.

    >>> [one.words for one in typical_of("half hard copper")], len(typical_of("brass"))
    (['half-hard copper'], 3)
    """
    heard = " ".join(words.casefold().replace("-", " ").split())
    dense = density_of(words)
    name = dense.name if dense else ""
    metal = next((m for start, m in _METALS.items() if name.startswith(start)), None)
    found = tuple(one for one in TYPICAL if one.metal == metal)
    if not found:
        raise NoRing(
            f"how far '{words}' springs back is not known here; known are {known_metals()}; else"
            f" {_IS_MEASURED}"
        )
    temper = next((t for said, t in _TEMPERS.items() if f" {said} " in f" {heard} "), None)
    if temper is None:
        return found
    if chosen := tuple(one for one in found if one.temper == temper):
        return chosen
    raise NoRing(
        f"how far '{words}' springs back is not known here; of {metal} there is"
        f" {listed([one.words for one in found])}; else {_IS_MEASURED}"
    )


def inside_of(mandrel: float, wire: float, spool: Spool, saw: float = 0.0) -> float:
    """The inside in mm of a ring wound on a mandrel, let go, sawn with a blade and closed again.

    mandrel, wire, saw: mm; no saw leaves the coil as it is. Raises `NoRing` where the wire is too
    springy for the mandrel, or the blade takes the ring.
    """
    wound = mandrel + wire
    lost = spool.springback(wire) * wound / wire
    if lost > _MOST_LOST:
        raise _too_springy(mandrel, wire, spool, lost)
    return _opening(wound / (1 - lost) - saw / pi - wire, mandrel, saw)


def mandrel_for(inside: float, wire: float, spool: Spool, saw: float = 0.0) -> float:
    """The mandrel in mm from which a ring of that inside (mm) comes: `inside_of` turned round.

    It is 0 or less where no mandrel is thin enough. Raises `NoRing` where the wire is too springy.
    """
    released = inside + wire + saw / pi
    gained = spool.springback(wire) * released / wire
    wound = released / (1 + gained)
    if gained > _MOST_LOST / (1 - _MOST_LOST):
        raise _too_springy(wound - wire, wire, spool, gained / (1 + gained))
    return wound - wire


def _opening(inside: float, mandrel: float, saw: float) -> float:
    if inside <= 0:
        raise NoRing(
            f"a blade of {text_mm(saw)} mm leaves no opening in a ring wound on"
            f" {text_mm(mandrel)} mm; take a thinner blade or a wider mandrel"
        )
    return inside


def _too_springy(mandrel: float, wire: float, spool: Spool, lost: float) -> NoRing:
    """lost: the share of the curvature that is lost, by the spring-back."""
    what = f"{text_mm(wire)} mm wire ({spool.words}) on a mandrel of {text_mm(mandrel)} mm"
    mend = "take thicker or softer wire, or a narrower mandrel"
    if lost >= _BENT_THROUGH:  # the mandrel bends it no further than it can spring
        return NoRing(f"{what} springs straight again and keeps no bend; {mend}")
    return NoRing(
        f"{what} opens to more than half as wide again, and by how much cannot be told so far out;"
        f" {mend}"
    )
