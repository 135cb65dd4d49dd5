"""Where strands of a piece run side by side across the work."""

from __future__ import annotations

from ringstep.weave.piece import Weave
from ringstep.weave.work import Ring


def lanes(weave: Weave, unit: float) -> dict[Ring, float]:
    """Where across the work each ring of several strands runs side by side; none for one strand.

    In lengths of `unit` mm; left is positive.
    """
    roles = {r.role for a in weave.work.acts if a.block.kind == "unit" for r in a.new}
    strands: list[set[Ring]] = []
    for ring in (r for r in weave.work.links if r.role in roles):
        joined = [s for s in strands if not s.isdisjoint(weave.work.links[ring])]
        strands = [s for s in strands if s not in joined] + [{ring}.union(*joined)]
    if len(strands) < 2:
        return {}
    sizes = [weave.round_size(r.role, r.index) or (0.0, 0.0) for s in strands for r in s]
    pitch = 1.1 * max(2 * wire + inside for wire, inside in sizes) / unit
    strands.sort(key=lambda s: min(weave.work.placed_by[r] for r in s))
    middle = (len(strands) - 1) / 2
    return {r: (middle - k) * pitch for k, strand in enumerate(strands) for r in strand}
