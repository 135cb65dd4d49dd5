"""One step as sentences a student can follow: what to open, where to go in, what to close.

Comes in: a `View` and an act of its weave. Goes out: text. Rings are called what the author calls
them; places are said from where the student stands.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import lcm

from ringstep.checks.view import View
from ringstep.language.measures import text_mm
from ringstep.language.syntax import ROUND_BLOCKS, Ref, RingKind, Step, StepKind
from ringstep.language.words import listed, plural
from ringstep.weave.joined import Joined
from ringstep.weave.layout import Layout
from ringstep.weave.phrases import (
    count_words,
    end_phrase,
    number_word,
    piece_named,
    piece_phrase,
    place_phrase,
)
from ringstep.weave.work import Act, Ring, pattern_from

_EDGE = " At the edge, where there is nothing to go through, leave this step out."
#: What is said of a step that makes no link: of the rings it handles, and 'it' or 'them'.
_MOVES: dict[StepKind, str] = {
    "fold back": "Fold {0} back{2}.",
    "spread": "Spread {0} apart.",
    "turn over": "Turn {0} over: what was the back is now the front.",
    "hold": "Hold {0}.",
    "tie": "Tie {0} together.",
    "tighten": "Tighten {0}.",
    "take out": "Open {0} and take {1} out.",
    "untie": "Untie {0}.",
    "let go": "Let go of {0}.",
}


@dataclass(frozen=True, slots=True)
class _Kinds:
    """Which of colour, material and size tell the rings of a recipe apart."""

    colour: bool
    material: bool
    size: bool

    @classmethod
    def of(cls, kinds: list[RingKind]) -> _Kinds:
        """What differs among some kinds of ring; nothing where all are alike."""
        colours = {k.colour.casefold() for k in kinds}
        materials = {k.material.casefold() for k in kinds}
        sizes = {k.mm for k in kinds}
        return cls(len(colours) > 1, len(materials) > 1, len(sizes) > 1)

    def words(self, kind: RingKind | None) -> tuple[str, str]:
        """What to say of a ring that is taken from the heap: ('red', ' (1 × 5 mm)').

        A ring without a colour of its own among coloured ones is told by its material.
        """
        if kind is None:
            return "", ""
        colour = kind.colour if self.colour else ""
        material = kind.material if self.material or (self.colour and not colour) else ""
        size = size_words(kind) if self.size else ""
        return f"{colour} {material}".strip(), f" ({size})" if size else ""


@dataclass(frozen=True)
class Speaker:
    """Says the steps of one recipe."""

    view: View

    @property
    def layout(self) -> Layout:
        """The layout of the work that is told."""
        return self.view.weave.work.layout

    # -- which act stands for a step -------------------------------------------------------------

    @cached_property
    def worked(self) -> dict[int, list[int]]:
        """For each step the acts in which it is not left out; no entry where there is none."""
        found: dict[int, list[int]] = {}
        own = {step.number for step in self.view.recipe.steps()}
        for number, act in enumerate(self.view.weave.work.acts):
            if not act.skipped and act.last and act.step.number in own:
                found.setdefault(act.step.number, []).append(number)
        return found

    @cached_property
    def told(self) -> dict[int, Act]:
        """For each step the act that is told: with nothing left out, and as it is most often."""
        acts, weave = self.view.weave.work.acts, self.view.weave
        found = {}
        for step, numbers in self.worked.items():
            least = min(len(acts[n].dropped) for n in numbers)
            often: Counter[tuple[object, ...]] = Counter()
            looks = {}
            for n in numbers:
                if len(acts[n].dropped) == least:
                    rings = (*acts[n].new, *acts[n].through, *acts[n].held, *acts[n].handled)
                    names = tuple(self.called(r) for r in rings)
                    looks[n] = (*names, *(weave.met_after(r, n) for r in rings))
                    often[looks[n]] += weave.stands_for(acts[n])
            most = max(often.values())
            # The first time is seldom as the others: of equals the later one is told.
            look = [x for x, k in often.items() if k == most][-1]
            alike = [n for n in looks if looks[n] == look]
            found[step] = acts[max(alike, key=lambda n: weave.stands_for(acts[n]))]
        return found

    @cached_property
    def kinds(self) -> _Kinds:
        """What tells the rings of the recipe apart."""
        parts = self.view.recipe.part_roles
        used = [(role, i) for role, each in self.view.weave.names.items() for i in each]
        coloured = self.view.weave.colours
        kinds = [
            self._plain(role, i, pictured=bool(coloured and role in coloured.roles))
            for role, i in used
            if role not in parts
        ]
        return _Kinds.of([k for k in kinds if k])

    def _plain(self, role: str, index: int, pictured: bool) -> RingKind | None:
        """The kind of a ring without its colour where the picture says it, and without what
        changes along the piece."""
        kind, *others = self.view.recipe.kinds_of(role, index) or (None,)
        if kind is None:
            return None
        same_look = all(k.look == kind.look for k in others)
        if others:
            kind = replace(kind, wire=None, inside=None)
        if others and not same_look:
            kind = replace(kind, material="", colour="")
        return replace(kind, colour="") if pictured else kind

    def _pictured(self, role: str, index: int, act: Act) -> bool:
        """True where the picture says the colour of a ring that an act places."""
        colours = self.view.weave.colours
        return colours is not None and colours.has(Ring(role, index, act.row, act.unit))

    # -- rings -----------------------------------------------------------------------------------

    def called(self, ring: Ring) -> str:
        """A ring as spoken of in a sentence: 'M1', 'the core ring', 'the clasp'."""
        name = self.view.weave.name(ring)
        if ring.role in self.view.recipe.part_roles:
            return f"the {name}"
        return f"the {name} ring" if name == ring.role and len(name) > 1 else name

    def new_rings(
        self, act: Act, rings: Sequence[tuple[str, int]] | None = None
    ) -> tuple[str, int]:
        """What is taken in hand, '2 rings, S1 and S2', and how many that is.

        rings: those of the step that are meant, all of them where it is left out.

        Single rings of one role named one by one are taken in hand together.
        """
        parts = self.view.recipe.part_roles
        groups: dict[tuple[str, str, str], list[int]] = {}
        for role, index in act.step.placed if rings is None else rings:
            pictured = self._pictured(role, index, act)
            kind = None if role in parts else self._plain(role, index, pictured)
            groups.setdefault((role, *self.kinds.words(kind)), []).append(index)
        words = [self._taken(*key, found, act) for key, found in groups.items()]
        many = len(words) > 1 and any(", " in w for w in words)
        told = f"{', '.join(words[:-1])}, and {words[-1]}" if many else listed(words)
        return told, sum(map(len, groups.values()))

    def _taken(self, role: str, look: str, size: str, indexes: list[int], act: Act) -> str:
        count = len(indexes)
        if role in self.view.recipe.part_roles:
            return plural(count, role)
        called = role if len(role) > 1 else ""
        if called.casefold() in look.casefold().split():
            called = ""  # roles are often called by their colour: no '1 blue blue ring'
        word = " ".join(w for w in (look, called, "ring") if w)
        names = [self.view.weave.name(Ring(role, i, act.row, act.unit)) for i in indexes]
        plain = count > 3 or (names == [role] and len(role) > 1)
        told = f"{plural(count, word)}{'' if plain else f', {listed(names)}'}{size}"
        if self._pictured(role, indexes[0], act):
            told += ", in the colour that the picture has there"
        elif self.view.recipe.graded(role, indexes[0]):
            place = "row" if self.layout.flat else "unit"
            told += f", in the size for this {place}"
            if act.block.kind in ("start", "finish"):
                whole = self.view.weave.layout
                at = whole.rows if self.layout.flat else whole.units
                told = told.removesuffix(f"this {place}")
                told += f"{place} {1 if act.block.kind == 'start' else at}"
        return told

    def ref(self, ref: Ref, act: Act) -> tuple[str, str]:
        """A list item as said to a student, in two parts: 'both S rings', 'of the unit before'."""
        if ref.one_another:
            placed = {role for role, _ in act.step.placed}
            return f"all {f'{placed.pop()} ' if len(placed) == 1 else ''}rings", "before it"
        if ref.every:
            whole = "row" if act.block.kind == "row end" else "piece"
            whole = f"strand {ref.strand}" if ref.strand else f"the {whole}"
            name = f"every {ref.name}{' ring' if len(ref.name.role) > 1 else ''}"
            return name.removesuffix(" ring" * (ref.name.index is not None)), f"of {whole}"
        rings = act.named_by(ref, self.layout)
        if ref.of:
            count, role = len(rings), ref.name.role
            each = "both " if count == 2 else f"all {number_word(count)} "
            named = f"{each * (count > 1)}{piece_named(ref)}"
            named += " ring" * (len(role) > 1 and ref.name.index is None)
            return f"{named}{'s' * (count > 1)}", piece_phrase(ref)
        here = "of this unit" if act.block.kind in ("unit", "row", "again", *ROUND_BLOCKS) else ""
        if act.block.kind == "row end" and not rings:
            return f"all {ref.name.role} rings", "of the row"
        where = place_phrase(ref.places)
        role, count = ref.name.role, len(rings)
        if rings and role not in self.view.recipe.part_roles:
            where = end_phrase(self.layout, ref, rings[0], act) or where
        if ref.name.index is None and count > 1:
            how = "both" if count == 2 else f"all {number_word(count)}"
            named, where = f"{how} {role} rings", where or here
        elif rings and ref.name.index is not None:
            named = self.view.weave.name(rings[0])
        elif role in self.view.recipe.part_roles:
            acts, placed_by = self.view.weave.work.acts, self.view.weave.work.placed_by
            taken = here and not ref.places and rings and acts[placed_by[rings[0]]] is act
            named = f"a new {role}" if taken else f"the {role}"
        elif len(role) == 1 or count != 1:
            named = str(ref.name)
        else:
            named, where = f"the {role} ring", where or here
        if ref.if_there:
            where = f"{where} (where there is one)".strip()
        return named, where

    def refs(self, refs: tuple[Ref, ...], act: Act, joint: str = "and through") -> str:
        """A list as said to a student; rings that stand in one place are told in one breath."""
        groups: list[tuple[list[str], str]] = []
        for ref in refs:
            named, where = self.ref(ref, act)
            if groups and groups[-1][1] == where:
                groups[-1][0].append(named)
            else:
                groups.append(([named], where))
        told = [f"{listed(names)} {where}".strip() for names, where in groups]
        if len(told) < 2:
            return "".join(told)
        between = ", " if joint == "and" else f", {joint.removeprefix('and ')} "
        return f"{between.join(told[:-1])} {joint} {told[-1]}"

    # -- steps -----------------------------------------------------------------------------------

    def side(self, step: Step, act: Act) -> str:
        """From which side the ring goes in, as the beginning of a sentence."""
        if step.lay is None:
            return ""
        if step.lay.value != "varies":
            return f"From the {step.lay.value}, "
        variant = self.view.chosen
        if variant is None:
            return ""
        layout, sides, block = self.view.weave.layout, variant.sides, act.block
        if block.kind in ("start", "finish", "row end") or isinstance(block.label, int):
            unit = layout.units + 1 if block.kind in ("finish", "row end") else act.unit
            units = [0 if layout.flat and block.kind == "finish" else unit]
        elif self._in_runs:
            runs = [s for s in layout.along if block in s.blocks]
            units = [s.first + at for s in runs for at in range(min(s.count, len(sides)))]
        else:
            turns = layout.order if block in layout.order else (block,)
            units = [
                unit
                for unit in range(1, lcm(len(turns), len(sides)) + 1)
                if turns[(unit - 1) % len(turns)] is block
            ]
        turn = [(unit, sides[(unit - pattern_from(layout.recipe)) % len(sides)]) for unit in units]
        if len({side for _, side in turn}) == 1:
            return f"From the {turn[0][1]}, "
        rows = self.view.recipe.piece
        counted = (
            ", counted as in the first row" if layout.flat and rows and rows.back_and_forth else ""
        )
        alternate = len(sides) == 2 and block not in layout.order[1:] and len(turn) == 2
        if self._in_runs and len(sides) == 2:
            alternate, turn = True, sorted((2 - unit % 2, side) for unit, side in set(turn))
            turn = [turn[0], turn[-1]]
        if alternate:
            return (
                f"In the 1st, 3rd, 5th … unit from the {turn[0][1]}, in the 2nd, 4th, 6th …"
                f" from the {turn[1][1]}{counted}, "
            )
        told = ", ".join(f"unit {unit} from the {side}" for unit, side in turn)
        return f"In turn ({told}, and so on{counted}), "

    @property
    def _in_runs(self) -> bool:
        """True where named units are worked in runs, once, and do not take turns."""
        along = self.view.weave.layout.along
        if self.view.weave.layout.strands:
            return True
        return len({s.blocks for s in along}) > 1 and all(len(s.blocks) == 1 for s in along)

    def sentence(self, act: Act) -> str:
        """The whole step."""
        step = act.step
        if move := _MOVES.get(step.kind):
            them = "them" if len(act.handled) > 1 else "it"
            if step.kind == "take out" and any(
                self.view.recipe.stays_closed(r.role, r.index) for r in act.handled
            ):
                move = "Open what {0} hang{3} on, take {1} out, and close it again."
            words = move.format(
                self.refs(step.refs, act, "and") or "the work",
                them,
                fold_side(step),
                "s" if them == "it" else "",
            )
        else:
            words = self._linking(step, act)
        if isinstance(self.layout, Joined) and (often := self.layout.times(step)) > 1:
            words = f"{often} times, once at each place along: {words[:1].lower()}{words[1:]}"
        return words + _EDGE * step.skip_at_edge

    def brief(self, act: Act) -> str:
        """The same in few words, for a page that has told how a ring is opened and closed."""
        step = act.step
        plain = step.kind == "add" and step.through and not (step.first_closed or step.one_another)
        if not plain or isinstance(self.layout, Joined):
            return self.sentence(act)
        rings, count = self.new_rings(act)
        side, one = self.side(step, act), count == 1
        told = f"{side}{rings}{'' if one else ', one after the other'}, {self._into(act)}."
        words = [told, *self._held(act, one), self.toward(act)]
        return sentence(" ".join(filter(None, words))) + _EDGE * step.skip_at_edge

    def _into(self, act: Act) -> str:
        """What new rings go through, and how many that is."""
        places = (self.refs(stop, act) for stop in act.step.stops)
        into = " and, further along the new ring, through ".join(places)
        into += ", at one place" if act.step.at_one_place else ""
        return f"through {into}: {self.picks(act)}"

    def _held(self, act: Act, one: bool) -> list[str]:
        """How new rings are held without being linked, a sentence each."""
        return [
            f"{'It lies' if one else 'They lie'} {how} {self.refs(refs, act, 'and')} and"
            f" {'is' if one else 'are'} held there without being linked."
            for how, refs in (("around", act.step.around), ("inside", act.step.inside))
            if refs
        ]

    def toward(self, act: Act) -> str:
        """On which side new rings come to lie, as the student sees it: a sentence, or nothing."""
        step = act.step
        if step.toward is None or not act.new:
            return ""
        ready = " ready" if step.kind == "close" else ""
        if step.toward.value != "each side":
            return f"Lay {'it' if len(act.new) == 1 else 'them'}{ready} on the {step.toward.value}."
        sides = [listed([self.called(ring) for ring in act.new[side::2]]) for side in (0, 1)]
        return f"Lay {sides[0]}{ready} on the left and {sides[1]} on the right."

    def _linking(self, step: Step, act: Act) -> str:
        """A step that places rings or opens some again."""
        if step.kind == "reopen":
            rings, one = f"{self.refs(step.refs, act, 'and')} again", len(act.handled) < 2
        else:
            opened = step.placed[1:] if step.first_closed else step.placed
            rings, count = self.new_rings(act, opened)
            one = count == 1
        held = self._held(act, one)
        lies = filter(None, [self.toward(act)])
        words: list[str] = []
        if step.kind == "close":
            recipe = self.view.recipe
            parts = [r for r in step.placed if r[0] in recipe.part_roles]
            words += [f"Lay {self.new_rings(act, parts)[0]} ready."] if parts else []
            others = [r for r in step.placed if r not in parts]
            for verb, stay in (("Close", False), ("Lay", True)):
                named, many = self.new_rings(
                    act, [r for r in others if recipe.stays_closed(*r) == stay]
                )
                tail = f" ready: {'it stays' if many == 1 else 'they stay'} closed" if stay else ""
                words += [f"{verb} {named}{tail}."] if many else []
            return " ".join((*words, *lies, *held))
        each = "it" if one else "each"
        if step.first_closed:
            words.append(f"Close {self.new_rings(act, step.placed[:1])[0]}.")
        words += [f"Open {rings}{'' if one else ', one after the other'}."]
        if step.through:
            side = self.side(step, act)
            verb = "pass" if side else "Pass"
            words.append(f"{side}{verb} {each} {self._into(act)}.")
        return " ".join((*words, *held, f"Close {each}.", *lies))

    def picks(self, act: Act) -> str:
        """How many rings a step goes through: '3 rings', with a part among them '3 picked up'."""
        parts, acts = self.view.recipe.part_roles, self.view.weave.work.acts
        whole = [acts[n] for n in self.worked[act.step.number]]
        counts = [a.picks for a in whole if len(a.dropped) == len(act.dropped)]
        count, once = act.picks, ""
        if counts[0] != count and set(counts[1:]) == {count}:
            once = f" ({counts[0] or 'none'} the first time)"
            counts = counts[1:]
        once += " for the last one" if act.step.one_another else ""
        if any(r.role in parts for r in act.through):
            return f"{count} picked up{once}"
        return f"{count_words(counts)}{once}"


def sentence(words: str) -> str:
    """Words with a capital at their beginning and a stop at their end."""
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '!', '?')) else '.'}"


def fold_side(step: Step) -> str:
    """Where folded rings come to lie, as the end of a clause."""
    if step.toward is None:
        return ""
    side = step.toward.value
    return ", one to each side" if side == "each side" else f" on the {side}"


def size_words(kind: RingKind) -> str:
    """The size of a ring kind in few words: '1 × 5 mm'."""
    wire, inside = kind.mm
    return f"{text_mm(wire)} × {text_mm(inside)} mm" if wire and inside else ""


def short_kind(kind: RingKind) -> str:
    """A ring kind in few words: '1 × 5 mm, red copper'."""
    look = f"{kind.colour} {kind.material}".strip()
    closed = "stays closed" if kind.stays_closed else ""
    return ", ".join(w for w in (size_words(kind), look, closed) if w)
