"""The signs beside the steps: what the hand does, each drawn once in a key with its words.

In: the act that a step tells. Out: `Sign`s, and each as SVG. Drawn in black and grey on 32 by 32.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ringstep.paper.page import Html, element, escaped
from ringstep.weave.work import Act

SignName = Literal["front", "back", "fold", "spread", "turn", "times", "again"]

#: What each sign means, in the key.
MEANS: dict[SignName, str] = {
    "times": "so many rings, each put in the same way",
    "front": "goes in from the front: from your side to the far side",
    "back": "goes in from the back: from the far side to yours",
    "fold": "fold back: let the rings fall down along the work, as the arrows show",
    "spread": "push the rings apart, as the arrows show",
    "turn": "turn the work over: what was the back is now the front",
    "again": "repeat these steps so often",
}
_SIDE = 8.0  # mm, of a sign on paper


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign and the words under it."""

    name: SignName
    words: str


def signs_of(act: Act, sides: str) -> list[Sign]:
    """What a step's signs are. sides: '' where no side is said, else 'front', 'back' or both."""
    told: list[Sign] = []
    count = len(act.step.placed)
    if act.step.kind in ("add", "close") and count > 1:
        told.append(Sign("times", f"{count} ×"))
    told += [Sign(side, f"from the {side}") for side in _SIDES if side in sides]
    moves: dict[str, Sign] = {
        "fold back": Sign("fold", "fold back"),
        "spread": Sign("spread", "spread"),
        "turn over": Sign("turn", "turn over"),
    }
    if act.step.kind in moves:
        told.append(moves[act.step.kind])
    return told


def again(count: int) -> Sign:
    """The sign of a section that is worked so often."""
    return Sign("again", f"{count:,} ×")


_SIDES: tuple[Literal["front", "back"], ...] = ("front", "back")


def shown(sign: Sign, larger: float = 1.0) -> Html:
    """A sign with its words under it; larger: as in large print."""
    if sign.name == "times":
        return element("span", element("b", escaped(sign.words)), "sign times")
    told = element("span", escaped(sign.words))
    return element(
        "span", Html(drawn(sign.name, sign.words.replace("×", "times"), larger) + told), "sign"
    )


def drawn(name: SignName, words: str, larger: float = 1.0) -> str:
    """The drawing of a sign; words: what it is called by a screen reader."""
    side = _SIDE * larger * 72 / 25.4
    size = f'width="{side:.1f}pt" height="{side:.1f}pt"'
    return (
        f'<svg role="img" aria-label="sign: {escaped(words)}" xmlns="http://www.w3.org/2000/svg"'
        f' {size} viewBox="0 0 32 32"><g fill="none" stroke="#111111" stroke-width="2.4"'
        f' stroke-linecap="round">{_DRAWN[name]}</g></svg>'
    )


def _line(path: str, look: str = "") -> str:
    return f'<path d="{path}"{look and " " + look}/>'


def _head(x: float, y: float, dx: float, dy: float) -> str:
    """An arrow's head whose tip is at (x, y) and which points along (dx, dy), a unit vector."""
    back, wide = 7.0, 4.0
    corners = [
        (x, y),
        (x - back * dx - wide * dy, y - back * dy + wide * dx),
        (x - back * dx + wide * dy, y - back * dy - wide * dx),
    ]
    points = " ".join(f"{px:.1f},{py:.1f}" for px, py in corners)
    return f'<polygon points="{points}" fill="#111111" stroke="none"/>'


_GREY = 'stroke="#8c8c8c" stroke-width="4"'
_CASED = 'stroke="#ffffff" stroke-width="7" stroke-linecap="butt"'
_RIM = f'<circle cx="16" cy="16" r="9" {_GREY}/>'
_NEAR, _FAR, _S = "M5 27 L16 16", "M16 16 L27 5", 0.7071
# The near end of the arrow lies over the rim of the ring, the far end under it.
_IN = _line(_FAR) + _head(30, 2, _S, -_S) + _RIM + _line(_NEAR, _CASED) + _line("M3 29 L16 16")
_OUT = _line("M16 16 L29 3") + _RIM + _line("M16 16 L7 25", _CASED) + _line("M16 16 L6 26")
_DRAWN: dict[SignName, str] = {
    "times": "",
    "front": _IN,
    "back": _OUT + _head(2, 30, -_S, _S),
    "fold": _line("M13 20 V5", _GREY)
    + _line("M19 20 V5", _GREY)
    + _line("M11 5 C4 5 3 14 4 22")
    + _line("M21 5 C28 5 29 14 28 22")
    + _head(4.6, 29, 0.1, 0.995)
    + _head(27.4, 29, -0.1, 0.995),
    "spread": _line("M15 29 L10 11", _GREY)
    + _line("M17 29 L22 11", _GREY)
    + _line("M13 6 H8")
    + _line("M19 6 H24")
    + _head(1, 6, -1, 0)
    + _head(31, 6, 1, 0),
    "turn": _line("M6 22 H26", _GREY)
    + _line("M7 15 C8 2 24 2 25 11")
    + _head(25.5, 18, 0.1, 0.995),
    "again": _line("M25 9 A11 11 0 1 0 27 17") + _head(28.5, 9.5, 0.5, 0.866),
}


# -- opening and closing a ring ------------------------------------------------------------------

#: What is done with a ring before and after it goes in, picture by picture.
OPENING = (
    ("grip", "Grip the ring on both sides of the cut, the cut on top."),
    ("twist", "Open: twist one end towards you and the other away (seen from above)."),
    ("close", "Close: twist back, a little past, until the ends meet without a gap."),
    ("pulled", "Never pull the ends apart: the ring does not get round again."),
)
_WIRE = 'stroke="#5a5a5a" stroke-width="7" stroke-linecap="butt"'
_JAW = 'fill="#d2d2d2" stroke="#111111" stroke-width="1.4"'


def _jaws(left: str, right: str) -> str:
    return f'<polygon points="{left}" {_JAW}/><polygon points="{right}" {_JAW}/>'


_GRIPS = _jaws("2,14 22,24 19,33 2,31", "98,14 78,24 81,33 98,31")
_ABOVE = _jaws("1,24 21,29 21,37 1,42", "99,24 79,29 79,37 99,42")
_HANDS: dict[str, str] = {
    "grip": _line("M47.5 12.1 A28 28 0 1 0 52.5 12.1", _WIRE) + _GRIPS,
    "twist": _line("M20 33 L47 45", _WIRE)
    + _line("M80 33 L53 21", _WIRE)
    + _ABOVE
    + _line("M34 50 V57")
    + _head(34, 64, 0, 1)
    + _line("M66 16 V9")
    + _head(66, 2, 0, -1),
    "close": _line("M20 33 H49.4", _WIRE)
    + _line("M80 33 H50.6", _WIRE)
    + _ABOVE
    + _line("M40 60 V53")
    + _head(40, 44, 0, -1)
    + _line("M60 6 V13")
    + _head(60, 22, 0, 1),
    "pulled": _line("M30 14 C14 32 24 66 50 66 C76 66 86 32 70 14", _WIRE)
    + _line("M12 8 L88 64", 'stroke="#111111" stroke-width="2.4"')
    + _line("M88 8 L12 64", 'stroke="#111111" stroke-width="2.4"'),
}


def hands(name: str, words: str, wide: float) -> Html:
    """One of the pictures of `OPENING`, `wide` mm."""
    size = f'width="{wide * 72 / 25.4:.0f}pt" height="{wide * 0.72 * 72 / 25.4:.0f}pt"'
    return Html(
        f'<svg role="img" aria-label="{escaped(words)}" xmlns="http://www.w3.org/2000/svg" {size}'
        f' viewBox="0 0 100 72"><g fill="none" stroke="#111111" stroke-width="2.4"'
        f' stroke-linecap="round">{_HANDS[name]}</g></svg>'
    )
