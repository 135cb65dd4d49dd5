"""What is said of names that lead nowhere in a piece of strands, and what to type.

Comes in: a view, a snag and the list item in it. Goes out: a message and its help, or help alone.
"""

from __future__ import annotations

from dataclasses import replace

from ringstep.checks.view import View
from ringstep.language.syntax import Name, Ref, joined
from ringstep.language.words import PLACES, listed, nearest, or_nearest
from ringstep.weave.work import Snag

_Told = tuple[str, tuple[str, ...]]


def which_strand(view: View, snag: Snag, ref: Ref) -> _Told:
    """Rings that several strands place, without the name of one."""
    strands = view.weave.work.layout.strands
    names = strands.placing(ref.name.role, ref.name.index) if strands else []
    places = ("last", *ref.places[1:]) if ref.places[0] == "prev" else ref.places
    each = [f"'{replace(ref, places=(*places, name))}'" for name in names]
    told = f"step {snag.step.number} says '{ref}', and strands {listed(names)} each have {ref.name}"
    return told, (f"write {listed(each, 'or')}",)


def no_strand(view: View, snag: Snag, ref: Ref) -> _Told:
    """A name of a strand where there is none, or where none can be named."""
    strands, name, role = view.weave.work.layout.strands, ref.strand, ref.name.role
    says = f"step {snag.step.number} says '{ref}'"
    plain = replace(ref, places=ref.places[:-1])
    if strands is None:
        one = replace(plain, name=Name(name, None, ref.span))
        comma = f"with a comma if two rings are meant: '{one}, {ref.name}'"
        if name in view.weave.roles:
            return f"{says}, and '{name}' is a ring, no word of place", (comma,)
        told = f"{says}, and '{name}' is no word of place"
        if near := nearest(name, PLACES):
            return f"{told}; the nearest is '{near}'", ()
        return told, (f"write '{plain}'",)
    if name not in strands.spans and role in strands.spans and name in view.weave.roles:
        turned = replace(ref, places=(*ref.places[:-1], role), name=Name(name, None, ref.span))
        told = f"{says}, and '{name}' is a ring, '{ref.name}' a strand"
        return told, (f"the strand comes first: write '{turned}'",)
    if name not in strands.spans:
        return f"{says}, and there is no strand {name}{or_nearest(name, list(strands.spans))}", ()
    if snag.block.kind != "finish":
        told = f"step {snag.step.number} names strand {name}, and strands are named in 'finish:'"
        help_ = "a unit goes through rings of its own strand: 'prev …' is its unit before"
        return f"{told} only", (help_,)
    behind = f"a strand is named behind 'first', 'last' or 'every': 'last {name} {ref.name}'"
    return f"{says}, which is no place in this piece", (behind,)


def a_strand(view: View, ref: Ref) -> str:
    """What to type for a strand that is named without its ring; "" for any other name."""
    strands = view.weave.work.layout.strands
    if strands is None or ref.name.role not in strands.spans or not ref.places:
        return ""
    roles = sorted({role for role, _ in strands.placed[ref.name.role]})
    each = [f"'{' '.join((*ref.places, ref.name.role, role))}'" for role in roles]
    return f"{ref.name} is a strand; name its ring as well: {listed(each, 'or')}"


def of_another_strand(view: View, snag: Snag, ref: Ref) -> tuple[str, ...]:
    """Help for a unit that looks for a ring of another strand, or for one that only its first unit
    has before it; none for any other ring."""
    strands, name = view.weave.work.layout.strands, ref.name
    if strands is None or snag.block.kind != "unit":
        return ()
    if own := strands.placing(name.role, name.index):
        told = f"{name} is a ring of strand{'s' * (len(own) > 1)} {listed(own)}"
        return (f"{told}; a unit goes through rings of its own strand and of the start",)
    start, placed = view.weave.layout.block("start"), next(iter(snag.block.placed), "")
    at_start = start is not None and name.role in start.placed
    if not (at_start and placed and "prev" in ref.places):
        return ()
    alike, strand = strands.placing(placed), strands.name_of(snag.place[1])
    several = len(alike) > 1 and strand in alike
    first = joined(placed, alike.index(strand) + 1) if several else placed
    return (
        f"only the first unit of a strand has {name} before it; let the start hang the first"
        f" ring of this strand on it: 'add {first} through {name}'",
        f"then the unit places {first} and goes through 'prev {first}'",
    )
