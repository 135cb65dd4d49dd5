"""A first recipe to begin from, which teaches by its comments.

Comes in: what is to be made and what to call it. Goes out: the text of a recipe that checks with
nothing to say, laid out as `ringstep tidy` does. Each one tells how to break it and what to put
back; a test does as it is told.
"""

from __future__ import annotations

import re
import shlex

from ringstep.language.shipped import starters

_UNTITLED = "My first weave"


def title_of(name: str) -> str:
    """A title from the name of a file.

    >>> title_of("evening_class-cuff"), title_of('a "b"')
    ('Evening class cuff', 'A b')
    """
    words = re.sub(
        r'[\s_\-"＂]+', " ", "".join(c if c.isprintable() else " " for c in name)
    ).strip()
    return words[:1].upper() + words[1:] or _UNTITLED


def starter(kind: str, name: str) -> str:
    """The text of a first recipe. kind: of `starters`; name: of its file, without the ending."""
    text = starters()[kind]
    if name.isprintable():
        text = text.replace("FILE.weave", shlex.quote(f"{name}.weave"))
    else:
        text = text.replace("FILE.weave", "FILE")
    return text.replace(f'\nweave "{_UNTITLED}"\n', f'\nweave "{title_of(name)}"\n', 1)
