"""The rim towards the folder that lies on the table: whatever the page reads or writes.

Comes in: names of files, texts and bytes. Goes out: recipes with what was seen of them on disk,
drafts, and files made of recipes. Nothing outside the folder is reached, by name or by link, and no
text of anybody is written over unasked.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from threading import Lock
from unicodedata import category, normalize

from ringstep.commands.mend import kept_beside
from ringstep.commands.rim import (
    Stop,
    not_a_source,
    reason,
    recipe_bytes,
    write_aside,
    write_new,
)
from ringstep.language.source import Refused, source_from_bytes
from ringstep.language.tidy import written_like
from ringstep.table.files import ChangedMeanwhile, Draft, Opened

#: Bytes of a name, so that what lies beside it may have a longer one (255 is common).
_MOST_OF_NAME = 200
#: Names that stand for devices on Windows, whatever follows the first full stop.
#: Source: Microsoft, 'Naming Files, Paths, and Namespaces' (from memory).
_DEVICE = re.compile(
    r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³]) *(\..*)?", re.IGNORECASE
)
#: In pages that this program made.
_MADE = re.compile(rb'<meta name="generator" content="ringstep ')


class InTheWay(Stop):
    """A file that this program did not make has the name of one that is to be made."""


@dataclass(frozen=True)
class RecipeFolder:
    """The one folder that is read and written.

    root: the folder, links followed. Every method raises `Stop`, in words for the maker.
    """

    root: Path
    #: A half-made file has one name a process, and comparing belongs together with writing.
    _one_at_a_time: Lock = field(default_factory=Lock, repr=False, compare=False)

    @classmethod
    def at(cls, folder: str | Path) -> RecipeFolder:
        """The folder of that path."""
        with _in_words(str(folder)):
            found = cls(Path(folder).resolve())
            found._there()
            return found

    def recipes(self) -> list[str]:
        """The names of the recipes directly in the folder that can be opened, in order."""
        self._there()
        with _in_words(str(self.root)):
            found = []
            for name in os.listdir(self.root):
                with suppress(Stop):
                    if self._recipe(name).is_file():
                        found.append(name)
        return sorted(found, key=lambda name: (name.casefold(), name))

    def opened(self, name: str) -> Opened:
        """Read a recipe. Raises `source.Unreadable` as well."""
        if (seen := self._bytes(name)) is None:
            return Opened("", None)
        return Opened(_text(name, seen), seen)

    def save(self, name: str, text: str, seen: bytes | None, over: bool = False) -> bytes:
        """Write a recipe with the encoding and line ends it had; gives its bytes.

        seen: what was last seen of it. over: write it even though the file changed meanwhile; what
        is there then is kept beside it. Raises `ChangedMeanwhile`, and `source.Unreadable` for a
        text that could not be opened again.
        """
        path, data = self._recipe(name), _written(name, text, seen or b"")
        with self._one_at_a_time:
            now = self._bytes(name)
            if now == data:
                return data
            if now != seen and not over:
                how = "was taken away" if now is None else "was changed"
                raise ChangedMeanwhile(f"{name} {how} meanwhile")
            if now not in (seen, None):
                kept_beside(path, now)
            write_aside(path, data)
        return data

    def new(self, name: str, text: str) -> str:
        """Write a recipe that is not there yet; gives its name, '.weave' added if left out."""
        name = name.strip()
        _plain_name(name)
        name = name if name.lower().endswith(".weave") else f"{name}.weave"
        path, data = self._recipe(name), _written(name, text, b"")
        with _in_words(name):
            alike = {_folded(other): other for other in os.listdir(self.root)}
        if other := alike.get(_folded(name)):  # where capitals are one, it would be that file
            raise Stop(f"{other} is there already and is left as it is; choose another name")
        write_new(path, data)
        return name

    # -- drafts ------------------------------------------------------------------------------------

    def keep_draft(self, name: str, text: str) -> None:
        """Keep a text that is not saved, in a hidden file beside its recipe."""
        recipe, draft = self._recipe(name), self._draft(name)
        with self._one_at_a_time:
            write_aside(draft, text.encode("utf-8", "surrogatepass"))
            with suppress(OSError):  # no recipe yet, or a file system without such rights
                os.chmod(draft, stat.S_IMODE(recipe.stat().st_mode) | stat.S_IWUSR)

    def draft(self, name: str) -> Draft | None:
        """The text kept last, where it is not what the recipe says."""
        path = self._draft(name)
        with _in_words(path.name):
            if not path.is_file():
                return None
            kept = f"{datetime.fromtimestamp(path.stat().st_mtime):%Y-%m-%d %H:%M}"
            text = path.read_bytes().decode("utf-8", "surrogatepass")
        with suppress(Stop, Refused):
            if self.opened(name).text == text:
                return None
        return Draft(text, kept)

    def drop_draft(self, name: str) -> None:
        """Forget the text kept last."""
        with _in_words(f"the draft of {name}"):
            self._draft(name).unlink(missing_ok=True)

    # -- files made of recipes ---------------------------------------------------------------------

    def made(self, name: str, data: bytes, over: bool = False) -> Path:
        """Write a file made of a recipe beside it; gives where it lies.

        over: even in place of a file that this program did not make, but never of a recipe. Raises
        `InTheWay`.
        """
        path = self._inside(name)
        not_a_source(path, *(str(self.root / recipe) for recipe in self.recipes()))
        with self._one_at_a_time:
            with _in_words(name):
                before = path.read_bytes() if path.is_file() else data
            if not (over or before == data or _MADE.search(before[:4096])):
                raise InTheWay(
                    f"{name} is there already, and it is not known that ringstep made it"
                )
            write_aside(path, data)
        return path

    def page(self, name: str) -> bytes:
        """A file that was made of a recipe."""
        with _in_words(name):
            return self._inside(name).read_bytes()

    # -- names and links ---------------------------------------------------------------------------

    def _there(self) -> None:
        if not self.root.is_dir():
            raise Stop(f"there is no folder {self.root}; put it back, then try again")

    def _recipe(self, name: str) -> Path:
        """Where a recipe lies, links followed."""
        if not name.lower().endswith(".weave"):
            raise Stop(f"'{name}' is not the name of a recipe; such a name ends in .weave")
        return self._inside(name)

    def _draft(self, name: str) -> Path:
        """Where the draft of a recipe lies; never a link."""
        self._recipe(name)
        path = self.root / f".{name}.draft"
        if path.is_symlink():
            raise Stop(f"{path.name} is a link, and a draft is none; take it away")
        return path

    def _inside(self, name: str) -> Path:
        """Where a file of that name lies, links followed; never outside the folder."""
        _plain_name(name)
        self._there()
        with _in_words(name):
            path = (self.root / name).resolve()
        if not path.is_relative_to(self.root):
            raise Stop(f"{name} is a link to something outside the folder, so it is left alone")
        return path

    def _bytes(self, name: str) -> bytes | None:
        """The bytes of a recipe; None where there is no such file."""
        path = self._recipe(name)
        with _in_words(name):
            if not path.exists():
                return None
            if not (path.is_file() or path.is_dir()):
                raise Stop(f"{name} is no plain file, so it is not opened")
            return recipe_bytes(str(path))


def _plain_name(name: str) -> None:
    """Raises `Stop` for a name that leads elsewhere, or that some machine cannot keep."""
    if not name or name in (".", ".."):
        why = "it names no file"
    elif {"/", "\\", ":"} & set(name):
        why = "leave out '/', '\\' and ':'; a file lies directly in the folder"
    elif any(category(letter) in ("Cc", "Cs") for letter in name):
        why = "it holds a mark that cannot be shown"
    elif name.startswith("."):
        why = "it begins with a full stop, and such files are hidden"
    elif name.endswith((".", " ")):
        why = "it ends with a full stop or a blank, which Windows leaves out"
    elif _DEVICE.fullmatch(name):
        why = "Windows takes it for the name of a device"
    elif len(name.encode()) > _MOST_OF_NAME:
        why = "it is too long"
    else:
        return
    raise Stop(f"'{name[:_MOST_OF_NAME]}' cannot be used: {why}")


def _folded(name: str) -> str:
    """Alike for names that are one on a machine that does not tell capitals apart."""
    return normalize("NFC", name).casefold()


def _text(name: str, data: bytes) -> str:
    """The lines of a recipe. Raises `source.Unreadable`."""
    return "\n".join(source_from_bytes(data, name).lines)


def _written(name: str, text: str, like: bytes) -> bytes:
    """A text as bytes that can be opened again. Raises `Stop` and `source.Unreadable`."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    try:
        if _text(name, like) == text:
            return like
        data = written_like(like, text)
    except UnicodeEncodeError:
        lines = enumerate(text.split("\n"), 1)
        line = next(n for n, words in lines if any(category(letter) == "Cs" for letter in words))
        raise Stop(f"{name}, line {line}: a file cannot hold half a letter; type it anew") from None
    _text(name, data)
    return data


@contextmanager
def _in_words(what: str) -> Iterator[None]:
    """Turns a mishap with a file into `Stop`."""
    try:
        yield
    except UnicodeError:
        raise Stop(f"{what} is no text") from None
    except (OSError, RuntimeError) as fault:  # RuntimeError: links in a circle
        raise Stop(f"{what} cannot be reached: {reason(fault)}") from None
