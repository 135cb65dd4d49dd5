"""Diagrams in words, for those who cannot see them and for the lines under a picture."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ringstep.language.screen import safe
from ringstep.language.syntax import Ref, Side
from ringstep.language.words import listed, plural
from ringstep.weave.phrases import end_phrase, piece_phrase, place_phrase, rings_phrase
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

_DONE = {
    "fold back": "folded back",
    "spread": "spread",
    "hold": "held",
    "tie": "tied",
    "tighten": "tightened",
    "take out": "taken out",
    "untie": "untied",
    "let go": "let go",
    "turn over": "turned over",
}


def _toward(act: Act) -> str:
    """The side that rings are laid to, as its author says it."""
    said = act.step.toward
    if said is None:
        return ""
    return "one to each side" if said.value == "each side" else f"on the {said.value}"


def seen_side(side: Side | None, now: Act, acts: tuple[Act, ...]) -> Side | None:
    """A side of the work as the maker sees it at an act, after all turnings over."""
    over = sum(act.step.kind == "turn over" for act in acts[: acts.index(now) + 1])
    if side is None or not over % 2:
        return side
    return "back" if side == "front" else "front"


@dataclass(frozen=True)
class Teller:
    """Tells what the pictures of one recipe show."""

    weave: Weave

    # -- places ----------------------------------------------------------------------------------

    def unit_words(self, unit: int, near: int | None = None) -> str:
        """A unit of the window as it is counted in the piece: 'start', 'unit 3', 'finish'.

        A window leaves out units, so the count jumps in it. near: the unit of the window that is
        counted as itself, and those around it from there, so that neighbours fit together.
        """
        window = self.weave.work.layout
        if unit < 1:
            return "" if window.flat else "start"
        if unit > window.units:
            if window.flat:
                return "row end" if window.block("row end") else ""
            return "finish"
        if window.strands:
            return self._of_strand(unit)
        near = unit if near is None else min(max(near, 1), window.units)
        if not self.weave.layout.known and near > (window.units + 1) // 2:
            return "last unit" if unit == window.units else ""  # how many there are is not known
        return f"unit {window.number(near) + unit - near}"

    def _of_strand(self, unit: int) -> str:
        """The same in a piece of strands: 'unit 3 of strand left'."""
        window = self.weave.work.layout
        if not window.strands or self.weave.layout.known:
            return window.unit_name(unit)
        strand = window.strands.name_of(unit)
        span = window.strands.spans[strand]
        if unit == span[-1]:
            return f"last unit of strand {strand}"
        return window.unit_name(unit) if unit - span.start < len(span) // 2 else ""

    def caption(self, unit: int, near: int | None = None) -> str:
        """The same as it stands below the rings: of a strand in short, 'left 3'."""
        words, _, strand = self.unit_words(unit, near).partition(" of strand ")
        return words.replace("unit", strand).replace("last ", "last of ") if strand else words

    def row_words(self, row: int, near: int | None = None) -> str:
        """A row of the window as it is counted in the piece; near: as for units."""
        window = self.weave.work.layout
        if not 1 <= row <= window.rows:
            return "start" if row < 1 else "finish"
        near = row if near is None else min(max(near, 1), window.rows)
        return f"row {window.row_number(near) + row - near}"

    def place_words(self, ring: Ring, act: Act | None = None) -> str:
        """Where a ring is, counted as the places around an act: 'unit 3', 'row 2, unit 4'."""
        row, unit = self.near(act)
        words = [self.unit_words(ring.unit, unit)]
        if self.weave.work.layout.flat:
            words.insert(0, self.row_words(ring.row, row))
        return ", ".join(dict.fromkeys(w for w in words if w))

    def near(self, act: Act | None) -> tuple[int, int] | tuple[None, None]:
        """The row and unit that places around an act are counted from; none at the finish."""
        return (None, None) if act is None or act.block.kind == "finish" else (act.row, act.unit)

    def full(self, ring: Ring, act: Act | None = None) -> str:
        """A ring with its place: 'M1, unit 3'."""
        where = self.place_words(ring, act)
        return ", ".join(w for w in (safe(self.weave.name(ring)), where) if w)

    # -- steps -----------------------------------------------------------------------------------

    def names(self, rings: Iterable[Ring]) -> list[str]:
        """Rings of one place by name; long runs of one role are counted."""
        roles: dict[str, list[Ring]] = {}
        for ring in rings:
            roles.setdefault(ring.role, []).append(ring)
        words = []
        for role, group in roles.items():
            many = len(group) > 6
            words += [f"{len(group)} {role}"] if many else [self.weave.name(r) for r in group]
        return [safe(word) for word in words]

    def refs(self, refs: tuple[Ref, ...], act: Act) -> str:
        """What a list names: 'S1 and S2 of the unit before, and M1'."""
        told = []
        for ref in refs:
            if rings := act.named_by(ref, self.weave.work.layout):
                part = ref.name.role in self.weave.recipe.part_roles
                if ref.of:
                    told += [(n, piece_phrase(ref)) for n in self.names(rings)]
                    continue
                where = "" if part else end_phrase(self.weave.work.layout, ref, rings[0], act)
                told += [(n, where or place_phrase(ref.places)) for n in self.names(rings)]
        return rings_phrase(told)

    def into(self, act: Act) -> str:
        """What a step goes through, place by place along the new ring."""
        if len(act.stops) < 2:
            return self.refs(act.step.through, act)
        told = filter(None, (self.refs(stop, act) for stop in act.step.stops))
        return " and further along through ".join(told)

    def side(self, act: Act, acts: tuple[Act, ...]) -> str:
        """The side of entry as the maker sees it at that moment, after all turnings over."""
        side = seen_side(act.side, act, acts)
        return f", entering from the {side}" if side else ""

    def done(self, act: Act, acts: tuple[Act, ...]) -> str:
        """What a step does, in one clause: 'M2 goes through S1 and S2 of the unit before'."""
        step = act.step
        if act.skipped:
            return "this step is left out at the edge"
        if step.kind in ("close", "add", "reopen"):
            who, one = listed(self.names(act.movers)) or "nothing", len(act.movers) == 1
            does: list[str] = []
            if step.kind == "reopen":
                who = self.refs(step.refs, act) or who
                does.append("is opened again" if one else "are opened again")
            if act.through:
                verb = "goes" if one else "each go"
                does.append(f"{verb} through {self.into(act)}{self.side(act, acts)}")
            for how, refs in (("around", step.around), ("inside", step.inside)):
                if held := self.refs(refs, act):
                    does.append(f"{'lies' if one else 'lie'} {how} {held}")
            if step.kind == "close":
                does.append("is closed" if one else "are closed")
            if act.toward:
                does.append(f"{'lies' if one else 'lie'} {_toward(act)}")
            return f"{who} {listed(does)}" if does else f"{who} {'is' if one else 'are'} added"
        who = self.refs(step.refs, act)
        one = len(act.handled) == 1
        if not who and step.refs:
            who = f"{listed([safe(str(r.name)) for r in step.refs])} of the row"
        elif not who:
            who, one = "the work", True
        where = f" {_toward(act)}" if step.toward else ""
        return f"{who} {'is' if one else 'are'} {_DONE[step.kind]}{where}"

    def step(self, act: Act, acts: tuple[Act, ...]) -> str:
        """The picture after a step, in words."""
        where = self.place_words(Ring("", 1, act.row, act.unit), act)
        at = f" ({where})" if where else ""
        return f"After step {act.step.number}{at}: {self.done(act, acts)}."

    # -- the window and the unit -----------------------------------------------------------------

    def meets(self, ring: Ring, others: Iterable[Ring]) -> str:
        """What one ring meets, place by place, nearest first."""
        places: dict[tuple[int, int], list[Ring]] = {}
        for other in sorted(others):
            along = other.unit - ring.unit
            if self.weave.work.layout.rounds:
                along = self.weave.work.layout.round_on(ring[2:], other[2:])
            places.setdefault((ring.row - other.row, along), []).append(other)
        words = []
        for (up, along), rings in sorted(
            places.items(), key=lambda p: (abs(p[0][0]), abs(p[0][1]))
        ):
            way = ("next",) * along if along > 0 else ("prev",) * -along
            where = place_phrase((*("above",) * max(up, 0), *way), "of its unit")
            if up < 0:
                row = "the row below" if up == -1 else f"{-up} rows below"
                where = f"of {row}" if not along else f"{place_phrase(way)} in {row}"
            words.append(f"{listed(self.names(rings))} {where}")
        return f"{safe(self.weave.name(ring))} meets {listed(words) or 'nothing'}"

    def window(self, rings: int, links: int, units: int, rows: int) -> str:
        """The window in words: its rings and links, and how many units and rows are left out."""
        kind = "strands" if self.weave.layout.strands else self.weave.layout.kind
        left = [plural(units, "unit")] if units > 0 else []
        if self.weave.layout.flat and rows > 0:
            left.append(plural(rows, "row"))
        tail = f"; {listed(left)} like those shown are left out" if left else ""
        return f"The links of the {kind}: {plural(rings, 'ring')}, {plural(links, 'link')}{tail}."
