"""Run the README's walk: each `console` block's commands must print what the block shows.

A line that is only `…` stands for any lines. Runs in a scratch folder, so that nothing of the walk
is left in the tree.
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path.cwd()
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")


def steps(block):
    """(command, shown lines) pairs of one block."""
    command, shown = None, []
    for line in block.splitlines():
        if line.startswith("$ "):
            if command:
                yield command, shown
            command, shown = line[2:], []
        elif command:
            shown.append(line.rstrip())
    if command:
        yield command, shown


def fits(shown, printed):
    """True where the printed text is the shown one, `…` standing for any lines."""
    parts = ("\n" + "\n".join(shown).rstrip()).split("\n…")
    pattern = r"(?:\n.*)*?".join(re.escape(p) for p in parts)
    return re.fullmatch(pattern + r"\s*", "\n" + printed.rstrip()) is not None


def main():
    """Run all blocks; 1 where one does not fit."""
    bad = tried = 0
    with tempfile.TemporaryDirectory() as folder:
        for name in ("examples", "library"):
            os.symlink(ROOT / name, Path(folder) / name)
        path = f"{ROOT / '.venv' / 'bin'}{os.pathsep}{os.environ['PATH']}"
        for block in re.findall(r"^```console\n(.*?)^```", TEXT, re.M | re.S):
            for command, shown in steps(block):
                done = subprocess.run(
                    command,
                    shell=True,
                    cwd=folder,
                    text=True,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.STDOUT,
                    env={**os.environ, "PATH": path, "COLUMNS": "100"},
                )
                tried += 1
                if not fits(shown, "\n".join(x.rstrip() for x in done.stdout.splitlines())):
                    bad += 1
                    print(f"README: $ {command}\n--- printed:\n{done.stdout}--- shown:")
                    print("\n".join(shown))
    print(f"README walk: {tried} commands run, {bad} unlike what is shown")
    return 1 if bad or not tried else 0


sys.exit(main())
