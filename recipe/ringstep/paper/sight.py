"""What a student sees after a step: through how many rings each ring passes, what is finished.

Comes in: a `Weave` and a `Speaker`. Goes out: the words after 'See:'. Every number is counted on
the piece itself, at each of the places where a step is worked; where the places differ, the words
say where a number holds, or give the least and the most.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from ringstep.language.syntax import ROUND_BLOCKS
from ringstep.language.words import listed
from ringstep.paper.sentences import Speaker
from ringstep.weave.phrases import (
    count_words,
    end_phrase,
    number_word,
    ordinal_word,
    piece_phrase,
    place_phrase,
)
from ringstep.weave.piece import Weave
from ringstep.weave.work import Act, Ring

#: A ring as a step names it: its words of place ('new' for one it places), role and number, and
#: which it is of several places that one place shares.
_Slot = tuple[tuple[str, ...], str, int, int]


class _Look(NamedTuple):
    """One ring at one place. now: rings it passes through; done: it gets no more."""

    name: str
    now: int
    done: bool


#: What is seen at one place of a step.
_Sight = dict[_Slot, _Look]


@dataclass(frozen=True)
class Sight:
    """What is seen after the steps of one recipe."""

    weave: Weave
    speaker: Speaker

    @cached_property
    def _finished(self) -> frozenset[Ring]:
        return frozenset(self.weave.finished)

    @cached_property
    def _crowded(self) -> frozenset[tuple[int, _Slot]]:
        """Steps with rings that are the same one at every place, and meet one more with each."""
        found: dict[tuple[int, _Slot], list[Ring]] = {}
        for act in self.weave.work.acts:
            for slot, ring in self._rings(act) if act.last else ():
                found.setdefault((act.step.number, slot), []).append(ring)
        # The second units of strands may all reach back to a ring of the start, and no others.
        most = self.speaker.worked if self.weave.layout.strands else {}
        return frozenset(
            (number, slot)
            for (number, slot), rings in found.items()
            if len(rings) >= max(2, len(most.get(number, ()))) and len(set(rings)) == 1
        )

    def _sight(self, number: int) -> _Sight:
        """What is seen at the place of one act."""
        act = self.weave.work.acts[number]
        flat, rows = self.weave.layout.flat, self.weave.work.layout.rows
        found: _Sight = {}
        for slot, ring in self._rings(act):
            if flat and ring.row == 0 < act.row <= rows:
                continue  # it meets more with every place of the row
            if (act.step.number, slot) in self._crowded:
                continue
            now = self.weave.met_after(ring, number)
            done = ring in self.weave.work.links and now == self.weave.met(ring).total()
            found[slot] = _Look(self.speaker.called(ring), now, done)
        return found

    def words(self, act: Act) -> str:
        """How many rings the rings of a step pass through, as seen where `act` is done."""
        if not act.through:
            return ""
        numbers = self.speaker.worked[act.step.number]
        sights = {n: self._sight(n) for n in numbers}
        own = next(n for n in numbers if self.weave.work.acts[n] is act)
        lead, kept = "", numbers
        odd = [n for n in numbers if not _same(sights[n], sights[own])]
        if self._few(odd, numbers) and all(_names(sights[n]) == _names(sights[own]) for n in odd):
            kept = [n for n in numbers if n not in odd]
        elif self._in_rows(numbers):
            odd, (lead, kept) = [], self._inside(numbers, sights, own)
        else:
            odd, kept = [], _from_on(numbers, sights, own)
            lead = self._since(numbers, kept[0])
        notes = {self._when(n, numbers): sights[n] for n in odd}
        shown = own if own in kept else kept[0]
        act = self.weave.work.acts[shown]
        told = self._told(act, sights[shown], [sights[n] for n in kept], notes)
        return f"{lead}{told}" if told else ""

    def _few(self, odd: list[int], numbers: list[int]) -> bool:
        """True where the odd places can be told one by one."""
        acts = self.weave.work.acts
        single = all(self.weave.stands_for(acts[n]) == 1 for n in odd)
        return not self._in_rows(numbers) and single and 2 * len(odd) <= min(len(numbers), 5)

    def _in_rows(self, numbers: list[int]) -> bool:
        """True where a step is worked along several rows."""
        acts = [self.weave.work.acts[n] for n in numbers]
        along = ("row", "again", *ROUND_BLOCKS)
        return acts[0].block.kind in along and len({a.row for a in acts}) > 1

    def _when(self, number: int, numbers: list[int]) -> str:
        """Which time it is that a step is worked: 'the first time', 'in unit 12'."""
        if number == numbers[0]:
            return "the first time"
        if self.weave.recipe.made:
            return "the last time" if number == numbers[-1] else "once between"
        act, layout = self.weave.work.acts[number], self.weave.work.layout
        if act.block.kind == "row end":
            return f"in row {layout.row_number(act.row)}"
        return f"in {layout.unit_name(act.unit)}"

    def _since(self, numbers: list[int], first: int) -> str:
        """From which time on something holds, as the lead of a clause; of several strands by the
        unit, for nobody counts through them all."""
        at, layout = numbers.index(first), self.weave.work.layout
        unit = self.weave.work.acts[first].unit
        if not at or self.weave.recipe.made:
            return ""
        strands = layout.strands
        if strands and strands.name_of(unit) != strands.name_of(
            self.weave.work.acts[numbers[0]].unit
        ):
            return f"from {layout.unit_name(unit)} on "
        return f"from the {ordinal_word(at + 1)} time on "

    def _inside(
        self, numbers: list[int], sights: dict[int, _Sight], own: int
    ) -> tuple[str, list[int]]:
        """Where in the rows a sight holds, and the acts there; all where it is nowhere the same."""
        layout, acts = self.weave.work.layout, self.weave.work.acts
        if layout.rounds:
            return "", numbers  # what is beside a place differs from round to round
        rooms = [
            (rows, units)
            for units in range(2 * layout.reach + 2)
            for rows in range(2 * layout.row_reach + 2)
            # A place of a shaped sheet may lie away from the edges of its own row alone.
            if layout.shape is None or (rows > layout.row_reach and units >= layout.reach)
        ]
        for rows, units in sorted(rooms, key=sum):
            kept = [
                n
                for n in numbers
                if all(
                    layout.has(acts[n].row - up, acts[n].unit + on)
                    for up in range(rows + 1)
                    for on in range(-units, units + 1)
                )
            ]
            if not kept or _names(sights[kept[0]]) != _names(sights[own]):
                continue
            if all(_same(sights[n], sights[kept[0]]) for n in kept):
                if len(kept) == len(numbers):
                    return "", kept
                return ("away from the edges " if units else "after the first rows "), kept
        return "", numbers

    def _told(self, act: Act, own: _Sight, kept: list[_Sight], notes: dict[str, _Sight]) -> str:
        """The rings that are there in every sight, those with the same words in one breath."""
        rings = dict(self._rings(act))
        seen_of: dict[_Slot, tuple[str, bool, str]] = {}
        for slot, look in own.items():
            seen = [s[slot] for s in kept if slot in s]
            if len(seen) < len(kept) or any(s.name != look.name for s in seen):
                continue  # elsewhere it is another ring, or none
            noted = {when: s[slot] for when, s in notes.items()}
            done = all(s.done for s in (*seen, *noted.values())) and rings[slot] in self._finished
            else_ = [f"{s.now or 'none'} {w}" for w, s in noted.items() if s.now != look.now]
            once = f" ({', '.join(else_)})" if else_ else ""
            seen_of[slot] = count_words(s.now for s in seen), done, once
        groups: dict[tuple[str, bool, str, str], list[str]] = {}
        for slot, (count, done, once) in seen_of.items():
            where = self._where(rings[slot], act)
            if len({told for other, told in seen_of.items() if other[:3] == slot[:3]}) > 1:
                where = f" of the {ordinal_word(slot[3] + 1)} of its places above"
            groups.setdefault((count, done, where, once), []).append(own[slot].name)
        words = []
        for (count, done, where, once), names in groups.items():
            verb = "passes" if len(names) == 1 else "each pass"
            who = listed(names) if len(names) < 4 else f"all {number_word(len(names))}"
            end = f" and {'is' if len(names) == 1 else 'are'} finished" if done else ""
            words.append(f"{who}{where} {verb} through {count}{once}{end}")
        return "; ".join(words)

    def _rings(self, act: Act) -> list[tuple[_Slot, Ring]]:
        movers = act.movers
        found: list[tuple[_Slot, Ring]] = [((("new",), r.role, r.index, 0), r) for r in movers]
        for ref in (r for r in act.step.through if not r.every):
            rings = act.named_by(ref, self.weave.work.layout)
            seats = list(dict.fromkeys(r[2:] for r in rings))
            places = (*ref.places, str(ref.of), ref.of.along) if ref.of else ref.places
            found += [((places, *r[:2], seats.index(r[2:])), r) for r in rings]
        return found

    def _where(self, ring: Ring, act: Act) -> str:
        layout = self.weave.work.layout
        if (ring.row, ring.unit) == (act.row, act.unit):
            return ""
        refs = (*act.step.through, *act.step.refs)
        ref = next((r for r in refs if ring in act.named_by(r, layout)), None)
        if ref is None or (not ref.places and ring.role in layout.recipe.part_roles):
            return ""
        if ref.of:
            return f" {piece_phrase(ref)}"
        return f" {end_phrase(layout, ref, ring, act) or place_phrase(ref.places)}"


def _from_on(numbers: list[int], sights: dict[int, _Sight], own: int) -> list[int]:
    """The acts from that on from which a sight holds.

    Where the sights never come to be the same, at least the rings named should.
    """
    names = _names(sights[own])
    for by_number in (True, False):
        late = numbers
        while late and not all(
            _same(sights[n], sights[own]) if by_number else _names(sights[n]) == names for n in late
        ):
            late = late[1:]
        if own in late and not (by_number and len(numbers) > 2 * len(late)):
            return late
    return numbers


def _same(one: _Sight, other: _Sight) -> bool:
    return _names(one) == _names(other) and all(one[slot].now == other[slot].now for slot in one)


def _names(sight: _Sight) -> dict[_Slot, str]:
    return {slot: look.name for slot, look in sight.items()}
