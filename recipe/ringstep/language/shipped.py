"""The rim towards shipped files: the grammar, the library of weaves and the user's cache folder."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

#: The folder of the package itself.
_HERE = Path(__file__).resolve().parents[1]
#: Bytes of the check sum in front of what is kept.
_CHECK = 32


def shipped(folder: str) -> Path:
    """The folder `grammar` or `library`: inside an installed wheel, or beside the package.

    Raises FileNotFoundError when the installation is incomplete.
    """
    for place in (_HERE / "_shipped" / folder, _HERE.parents[1] / folder):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the folder '{folder}' is missing beside {_HERE}")


def grammar_text() -> str:
    """The grammar of one recipe line, for Lark."""
    return (shipped("grammar") / "weave.lark").read_text(encoding="utf-8")


def cache_folder() -> Path | None:
    """Where this user's caches may lie, made when needed; None where nothing can be written.

    The folder is the user's own, never a shared one: what lies in it is loaded as code.
    """
    if chosen := os.environ.get("RINGSTEP_CACHE"):
        base = Path(chosen)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = base / "ringstep"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except (OSError, RuntimeError):
        return None
    return folder if os.access(folder, os.W_OK) else None


def kept(name: str, key: str) -> bytes | None:
    """What `keep` put into the cache folder under that name and key; None where it is not whole."""
    import hashlib

    folder = cache_folder()
    if folder is None:
        return None
    try:
        stored = (folder / name).read_bytes()
    except OSError:
        return None
    check, data = stored[:_CHECK], stored[_CHECK:]
    return data if hashlib.sha256(key.encode() + data).digest() == check else None


def keep(name: str, key: str, data: bytes) -> None:
    """Keep `data` for the next time; where nothing can be written nothing is kept, and that is all.

    key: what the data was made from. It goes into the check sum, so that neither damaged data nor
    data made from something else is read again.
    """
    import hashlib

    folder = cache_folder()
    if folder is None:
        return
    aside = folder / f".{name}.{os.getpid()}.part"
    try:
        aside.write_bytes(hashlib.sha256(key.encode() + data).digest() + data)
        os.replace(aside, folder / name)
    except OSError:
        pass
    finally:  # also where Ctrl-C came in between
        with suppress(OSError):
            aside.unlink()


def shipped_weaves() -> dict[str, Path]:
    """The shipped recipes by name (the file name without its ending), in order."""
    return {path.stem: path for path in sorted(shipped("library").glob("*.weave"))}
