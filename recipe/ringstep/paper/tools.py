"""The tools a piece is made with: what everyone needs, and what a step asks for.

Comes in: a recipe as read. Goes out: words.
"""

from __future__ import annotations

import re

from ringstep.language.tree import Tree

TOOLS = ("two pairs of flat-jawed pliers", "good light", "a tray that keeps rings from rolling")
#: What a hint asks for beside rings and pliers.
_THREAD = re.compile(r"\b(thread|string|(twist|piece|bit|length) of wire)\b", re.IGNORECASE)
THREAD = "thread or a twist of wire, to tie with"


def tools_of(recipe: Tree) -> tuple[str, ...]:
    """Everything that one person at work needs beside rings and parts."""
    tied = any(step.kind == "tie" or _THREAD.search(step.hint) for step in recipe.every_step())
    return (*TOOLS, THREAD) if tied else TOOLS
