"""The tools a piece is made with: what everyone needs, and what a step asks for.

Comes in: a recipe as read. Goes out: words.
"""

from __future__ import annotations

from ringstep.language.tree import Tree

TOOLS = ("two pairs of flat-jawed pliers", "good light", "a tray that keeps rings from rolling")
THREAD = "thread or a twist of wire, to tie with"


def tools_of(recipe: Tree) -> tuple[str, ...]:
    """Everything that one person at work needs beside rings and parts."""
    tied = any(step.kind == "tie" for step in recipe.every_step())
    return (*TOOLS, THREAD) if tied else TOOLS
