"""Named sets of ring sizes: the recipe with the sizes of one of them in place of its own.

Comes in: a `Tree`. Goes out: the same recipe, whose lines of `rings:` have the sizes of a set.
"""

from __future__ import annotations

from dataclasses import replace

from ringstep.language.source import Refused, Span
from ringstep.language.syntax import Name, RingKind
from ringstep.language.tree import SizeLine, Tree
from ringstep.language.words import listed


class NoSize(Refused):
    """The set of sizes asked for is not in the recipe."""


def set_names(recipe: Tree) -> tuple[str, ...]:
    """The names of the sets in the order of the text."""
    return tuple(dict.fromkeys(line.size for line in recipe.sizes))


def sized_names(recipe: Tree) -> dict[str, Span]:
    """Every name that has sizes under `rings:` or in a set, and where it first has them."""
    found: dict[str, Span] = {}
    for kind in (*recipe.written, *(line.kind for line in recipe.sizes)):
        if kind.wire or kind.inside:
            found.setdefault(spoken(kind.name), kind.span)
    return found


def spoken(name: Name) -> str:
    """A name as it is written, 'all' in lower case."""
    return "all" if str(name).casefold() == "all" else str(name)


def of_size(recipe: Tree, size: str | None) -> Tree:
    """The recipe in the sizes of a set; as it is for None. Raises `NoSize`."""
    if size is None:
        return recipe
    if size not in (known := set_names(recipe)):
        if not known:
            raise NoSize(f"the recipe has no set of sizes '{size}': it has no section 'sizes:'")
        raise NoSize(f"the recipe has no set of sizes '{size}'; it has {listed(list(known))}")
    sized = replace(recipe, rings=_rings(recipe, size), size=size)
    if recipe.piece and [_size(k) for k in sized.rings] != [_size(k) for k in recipe.rings]:
        # what was measured, was measured of other rings
        return replace(sized, piece=replace(recipe.piece, samples=()))
    return sized


def with_first_sizes(recipe: Tree) -> Tree:
    """The recipe, where a line of `rings:` gives no sizes with those of the first set."""
    recipe = replace(recipe, written=recipe.rings)
    bare = [kind for kind in recipe.rings if kind.wire is None and kind.inside is None]
    if not bare or not recipe.sizes:
        return recipe
    first = {id(k): k for k in bare}
    sized = _rings(recipe, recipe.sizes[0].size)
    own = [k for k in recipe.rings if id(k) not in first]
    mine = {_key(k.name) for k in own}
    rings = (*own, *(k for k in sized if _key(k.name) not in mine))
    return replace(recipe, rings=rings, size="" if own else recipe.sizes[0].size)


def _size(kind: RingKind) -> tuple[object, ...]:
    at = kind.along
    return (_key(kind.name), kind.mm, at and (at.first, at.last))


def _key(name: Name) -> tuple[str, int | None]:
    return "all" if name.role.casefold() == "all" else name.role, name.index


def _rings(recipe: Tree, size: str) -> tuple[RingKind, ...]:
    """The lines of `rings:` with the sizes of a set: a line of the set for each it has, with the
    look that the recipe gives the ring; and the recipe's own where the set has none. One of these
    that gives only a look has the sizes of its role, or of `all`."""
    lines = [line for line in recipe.sizes if line.size == size]
    found = [_dressed(recipe, line) for line in lines]
    have = {_key(line.kind.name) for line in lines}
    for kind in recipe.written:
        if _key(kind.name) not in have:
            bare = kind.wire is None and kind.inside is None
            wide = have & {(kind.name.role, None), ("all", None)} if bare else set()
            best = max(wide, key=lambda key: key[0] != "all", default=None)
            sizes = [line.kind for line in lines if _key(line.kind.name) == best]
            found += [
                replace(kind, wire=x.wire, inside=x.inside, along=x.along) for x in sizes
            ] or [kind]
    return tuple(found)


def _dressed(recipe: Tree, line: SizeLine) -> RingKind:
    """A line of a set with material, colour and the rest of what `rings:` says of its ring."""
    role, index = _key(line.kind.name)
    plain = {_key(kind.name): kind for kind in reversed(recipe.written)}
    names = ((role, index), (role, None), ("all", None))
    look = next((plain[name] for name in names if name in plain), line.kind)
    return replace(
        line.kind,
        material=look.material,
        colour=look.colour,
        stays_closed=look.stays_closed,
    )
