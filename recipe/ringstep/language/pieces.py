"""Pieces that are made first and joined later: their names in the text, and the recipe of each.

Comes in: a `Source`, or a `Tree` and the pieces it names. Goes out: lines whose pieces are marked
for the line parser, and the tree in which each piece has a recipe of its own.
"""

from __future__ import annotations

import re
from dataclasses import replace

from ringstep.language.promised import Meets
from ringstep.language.read_tree import MARK
from ringstep.language.source import Source
from ringstep.language.syntax import Block, Ref
from ringstep.language.tree import Made, Tree

_NAMED = re.compile(r"\s*piece\s+([^\s:]+)\s*:\s*\Z", re.I)


def named_pieces(source: Source) -> tuple[str, ...]:
    """What the pieces made first are called, in the order of the text."""
    found = (_NAMED.match(line) for line in source.plain)
    return tuple(dict.fromkeys(each[1] for each in found if each))


def marked(text: str, pieces: tuple[str, ...]) -> str:
    """A line in which a sign takes the place of the blanks behind the name of a piece, so that
    every column stays where it is.

    >>> marked("add J through panel  1 last A", ("panel",)).replace(MARK, "_")
    'add J through panel__1 last A'
    """
    names = "|".join(re.escape(name) for name in pieces)
    behind = rf"(?<![^\s,])({names})([ \t]+)(?=[^\s,])"
    return re.sub(behind, lambda found: found[1] + MARK * len(found[2]), text) if names else text


def refs_in(blocks: tuple[Block, ...]) -> tuple[Ref, ...]:
    """Every ring that the steps of some blocks name and do not place."""
    steps = [step for block in blocks for step in block.steps]
    each = (r for s in steps for r in (*s.refs, *s.through, *s.around, *s.inside))
    return tuple(ref for ref in each if not ref.one_another)


def with_pieces(recipe: Tree, made: tuple[Made, ...]) -> Tree:
    """The recipe with its pieces, each with a tree that has what concerns it alone."""
    placed = [{role for block in m.tree.blocks for role in block.placed} for m in made]
    joining = {role for block in recipe.blocks for role in block.placed}
    joins = refs_in(recipe.blocks)
    pieces = []
    for at, piece in enumerate(made):
        others = joining.union(*(roles for n, roles in enumerate(placed) if n != at))
        own = placed[at] | {ref.name.role for ref in refs_in(piece.tree.blocks)}
        named = tuple(r for r in joins if r.of and r.of.name == piece.name.value)
        pieces.append(replace(piece, tree=_alone(piece, own, frozenset(others - own), named)))
    return replace(recipe, made=tuple(pieces), shape=())


def _alone(piece: Made, own: set[str], others: frozenset[str], joins: tuple[Ref, ...]) -> Tree:
    """The recipe of one piece: of rings, parts and promises those that are of its own rings."""
    tree = piece.tree

    def is_own(role: str) -> bool:
        return role in own or role.casefold() == "all"

    varies = any(s.lay and s.lay.value == "varies" for b in tree.blocks for s in b.steps)
    headings = tree.headings - {"shape", "picture", "join"}
    return replace(
        tree,
        rings=tuple(k for k in tree.rings if is_own(k.name.role)),
        written=tuple(k for k in tree.written if is_own(k.name.role)),
        sizes=tuple(x for x in tree.sizes if is_own(x.kind.name.role)),
        parts=tuple(p for p in tree.parts if p.name.role in own),
        meets=tuple(_within(m, own) for m in tree.meets if is_own(m.name.role)),
        lies=tuple(x for x in tree.lies if x.name.role in own),
        folded=tuple(x for x in tree.folded if x.name.role in own),
        coming_out=tuple(
            x
            for x in tree.coming_out
            if x.name.role in own and all(r.name.role != x.name.role for r in joins)
        ),
        ranges=tuple(x for x in tree.ranges if x.name is None or x.name.role in own),
        variants=tree.variants if varies else (),
        picture=None,
        headings=headings | ({"shape"} if tree.shape else set()),
        of=piece.name.value,
        joins=joins,
        elsewhere=others,
    )


def _within(meets: Meets, own: set[str]) -> Meets:
    """A promise without those of its choices that only rings of other pieces can keep, where
    others are left."""
    kept = tuple(c for c in meets.choices if replace(meets, choices=(c,)).roles <= own)
    return replace(meets, choices=kept) if kept else meets
