"""Pictures that an earlier drawing left in a folder: known again by name and by a mark inside.

Comes in: pictures as bytes, and the folder they go to. Goes out: the same pictures with the mark,
and the files of steps that are no more.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterable
from pathlib import Path

_OURS = re.compile(r"(step-\d+|unit|window)\.(svg|png|dot)")
_RINGS = re.compile(r"(rings-\d+)\.(svg)")
_END_OF_PNG = b"\x00\x00\x00\x00IEND\xaeB`\x82"


def _mark(recipe: str) -> str:
    """What stands in each picture of a recipe, whose file is called so."""
    name = "".join(c if c.isascii() and c.isalnum() else f".{ord(c):x}." for c in recipe)
    return f"ringstep picture of {name}"


def marked(pictures: dict[str, bytes], recipe: str) -> dict[str, bytes]:
    """The pictures with the mark of their recipe, by file name."""
    return {name: _with_mark(name, data, _mark(recipe)) for name, data in pictures.items()}


def _with_mark(name: str, data: bytes, mark: str) -> bytes:
    if name.endswith(".png"):
        chunk = b"tEXt" + b"Comment\x00" + mark.encode("utf-8")
        framed = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
        return data.removesuffix(_END_OF_PNG) + framed + _END_OF_PNG
    comment = f"// {mark}\n" if name.endswith(".dot") else f"<!-- {mark} -->\n"
    return data + comment.encode("utf-8")


def leftovers(folder: Path, names: Iterable[str], recipe: str, rings: bool = False) -> list[Path]:
    """Pictures of the recipe in the folder whose step, unit or window is drawn no more.

    names: the pictures there are now. rings: those of real rings instead of diagrams. Files
    that cannot be read are left alone.
    """
    mark, drawn = _mark(recipe).encode("utf-8"), set(names)
    endings = (b"// " + mark + b"\n", b"<!-- " + mark + b" -->\n", mark)
    found = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        name = (_RINGS if rings else _OURS).fullmatch(path.name)
        if not name or name[1] in drawn or path.is_symlink() or not path.is_file():
            continue
        try:
            data = path.read_bytes()
        except OSError:
            continue
        if data.endswith(_END_OF_PNG):
            data = data.removesuffix(_END_OF_PNG)[:-4]
        if data.endswith(endings):
            found.append(path)
    return found
