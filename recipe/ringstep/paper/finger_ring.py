"""A finger ring in words: how its size became a length, and what the whole units come to.

Comes in: a kit. Goes out: words, and the size in numbers.
"""

from __future__ import annotations

from ringstep.language.measures import text_mm
from ringstep.language.typed_size import RingSize
from ringstep.language.words import listed, plural
from ringstep.shop.kit import Kit


def round_finger(kit: Kit) -> str:
    """How a ring size became a length; empty where none is wanted."""
    ring = kit.wish.length
    if not isinstance(ring, RingSize):
        return ""
    return (
        f"ring size {ring.size} is {ring.size} mm round the inside (ISO 8653); the band,"
        f" {text_mm(ring.thick)} mm thick, lies outside it, so its middle is π ×"
        f" {text_mm(ring.thick)} = {text_mm(ring.round_more)} mm longer: "
    )


def ring_size_of(kit: Kit, units: int) -> float | None:
    """The ring size that so many units come to by themselves, with the clasp.

    None where no ring size is wanted, or where the units have no one length.
    """
    ring, length = kit.wish.length, kit.length
    if length is None or length.computed or not isinstance(ring, RingSize):
        return None
    woven = units * length.sample / length.sample_units
    return woven + length.clasp - length.ease - ring.round_more


def comes_to(kit: Kit) -> tuple[str, ...]:
    """The ring size of the whole units there are, and of one unit fewer."""
    length = kit.length
    if length is None or (ring_size := ring_size_of(kit, length.units)) is None:
        return ()
    told = f"{plural(length.units, 'unit')} come to ring size {ring_size:.1f}"
    fewer = ring_size_of(kit, length.units - 1)
    if not length.runs and length.units > 1 and fewer is not None:
        told += f", {plural(length.units - 1, 'unit')} to {fewer:.1f}"
    ends = listed([f"the {kind}" for kind, _ in length.ends])
    if ends and not length.clasp:
        told += f", without {ends}; every mm more is a size more"
    else:
        told += "; a size is 1 mm round"
    return told, *advice(kit)


def advice(kit: Kit) -> tuple[str, ...]:
    """What is not known of a finger ring that is only reckoned; nothing where none is wanted."""
    length = kit.length
    if length is None or not isinstance(kit.wish.length, RingSize):
        return ()
    closed = (
        "these rings make an open chain: what joins its ends to a round is not counted; a recipe"
        " whose piece is a 'loop' counts it",
    )
    return (
        *(() if length.kind == "loop" or length.clasp else closed),
        "measure the thickness on some worked units laid round the finger: it is seldom that of one"
        " ring",
        "computed for a band whose middle keeps its length when it is bent round: try it on a ring"
        " stick before you close it",
    )
