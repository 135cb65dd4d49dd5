"""The hard floor of the aspect ratio: wires side by side inside a ring. No numpy here.

Ratios for n equal circles in a circle, R/r: closed forms for n <= 4, 6 to 8, 11, 13, 19; others
as published (n = 5: Graham 1968; 9, 10: Pirl 1969; 12: Fodor 2000; 13: Fodor 2003; 19: Fodor
1999). Where the least ratio is not proved (n = 14 to 18, 20 on), and for mixed wire, the area
bound is used instead: circles that do not overlap cannot have more area than the one they lie in.
"""

from __future__ import annotations

import math

from ringstep.space.cell import Cell

_RATIO = {
    1: 1.0,
    2: 2.0,
    3: 1 + 2 / math.sqrt(3),
    4: 1 + math.sqrt(2),
    5: 2.7013016,
    6: 3.0,
    7: 3.0,
    8: 1 + 1 / math.sin(math.pi / 7),
    9: 3.6131259,
    10: 3.8130256,
    11: 1 + 1 / math.sin(math.pi / 9),
    12: 4.0296019,
    13: 2 + math.sqrt(5),
    19: 1 + math.sqrt(2) + math.sqrt(6),
}


def packing_floor(cell: Cell, ring: int) -> tuple[float, bool]:
    """Least inside diameter over the ring's own wire, and whether it is only an area bound."""
    wires = []
    for link in cell.links:
        if link.a == ring:
            wires.append(cell.rings[link.b].wire)
        if link.b == ring:
            wires.append(cell.rings[link.a].wire)
    if not wires:
        return 1.0, False
    own = cell.rings[ring].wire
    if max(wires) - min(wires) < 1e-9 * max(wires) and len(wires) in _RATIO:
        return _RATIO[len(wires)] * wires[0] / own, False
    # the two thickest side by side, or all areas together
    two = sum(sorted(wires)[-2:])
    return max(math.sqrt(sum(w * w for w in wires)), two) / own, True
