"""Completion as the shells do it: their own programs are asked what they would offer.

bash is asked always; zsh and fish are asked where they are installed (`.ci/run` installs
them); of tcsh only that it reads its script.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import select
import shlex
import shutil
import signal
import subprocess
from functools import cache
from pathlib import Path

import pytest

from ringstep.checks.rules import all_checks
from ringstep.commands.cli import command_names, main
from ringstep.commands.completion import SHELLS
from ringstep.commands.explain import explained
from ringstep.language.shipped import shipped_weaves

Out = pytest.CaptureFixture[str]
BASH = shutil.which("bash") or "bash"


@cache
def script(shell: str) -> str:
    """The script for a shell, as the command prints it."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["completion", shell]) == 0
    return out.getvalue()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with recipes and other files in it."""
    for name in ("cuff.weave", "my cuff.weave", "stock.csv", "page.html", "notes.txt"):
        (tmp_path / name).write_text("", encoding="utf-8")
    (tmp_path / "class").mkdir()
    return tmp_path


def bash_offers(folder: Path, *words: str) -> list[str]:
    """What bash would offer for the last of the words typed behind `ringstep`."""
    program = (
        script("bash")
        + 'COMP_WORDS=(ringstep "$@"); COMP_CWORD=$#; _shtab_ringstep ringstep; printf "%s\\n" '
        + '"${COMPREPLY[@]}"'
    )
    done = subprocess.run(
        [BASH, "--norc", "-c", program, "bash", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    return sorted(line for line in done.stdout.splitlines() if line)


def test_bash_knows_the_function_for_the_command() -> None:
    done = subprocess.run(
        [BASH, "--norc", "-c", f"eval {shlex.quote(script('bash'))}; complete -p ringstep"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "complete -o bashdefault -F _shtab_ringstep ringstep\n"


def test_bash_offers_commands(folder: Path) -> None:
    assert bash_offers(folder, "") == command_names()
    assert bash_offers(folder, "che") == ["check"]
    assert bash_offers(folder, "w") == ["watch", "weaves"]


@pytest.mark.parametrize("command", command_names())
def test_bash_offers_every_option_that_help_tells(folder: Path, command: str, capsys: Out) -> None:
    with pytest.raises(SystemExit):
        main([command, "--help"])
    told = capsys.readouterr().out.split("\noptions:\n")[1]
    flags = set(re.findall(r"(?<![\w-])--?[a-z][a-z-]*", re.sub(r"(?m)(?<=\w)  +.*$", "", told)))
    assert {"-h", "--help"} <= flags
    assert set(bash_offers(folder, command, "-")) == flags


def test_bash_offers_recipes_and_folders(folder: Path) -> None:
    recipes = ["class", "cuff.weave", "my cuff.weave"]
    for command in ("check", "steps", "tidy", "watch", "sizes"):
        assert bash_offers(folder, command, "") == recipes
    assert bash_offers(folder, "check", "cuff.weave", "m") == ["my cuff.weave"]
    assert bash_offers(folder, "check", "--json", "cu") == ["cuff.weave"]


def test_bash_offers_folders_where_a_folder_is_meant_and_recipes_where_a_recipe_is(
    folder: Path,
) -> None:
    for words in (("draw", "cuff.weave", "--to", ""), ("fit", "cuff.weave", "--to", "")):
        assert bash_offers(folder, *words) == ["class"]
    assert "cuff.weave" in bash_offers(folder, "draw", "")


def test_bash_offers_what_an_option_takes(folder: Path) -> None:
    offered = bash_offers(folder, "explain", "")
    assert sorted(offered) == explained()
    assert {"picks", "fold", *(c.RULE.name for c in all_checks())} <= set(offered)
    for word in offered:
        assert main(["explain", word]) == 0, word
    assert bash_offers(folder, "weaves", "--show", "") == sorted(shipped_weaves())
    assert bash_offers(folder, "weaves", "--copy", "byz") == ["byzantine"]
    assert bash_offers(folder, "weaves", "") == []
    assert bash_offers(folder, "new", "cuff", "--kind", "") == ["chain", "loop", "sheet", "tube"]
    assert bash_offers(folder, "completion", "") == sorted(SHELLS)
    assert bash_offers(folder, "sizes", "--stock", "") == ["class", "stock.csv"]
    assert bash_offers(folder, "watch", "--to", "") == ["class", "page.html"]
    assert bash_offers(folder, "draw", "--to", "") == ["class"]
    assert bash_offers(folder, "kit", "--length", "") == []
    assert len(bash_offers(folder, "weaves", "--to", "")) == 6


FOUND = [shell for shell in SHELLS if shutil.which(shell)]


@pytest.mark.parametrize("shell", FOUND)
def test_the_shell_reads_its_script(shell: str, tmp_path: Path) -> None:
    path = tmp_path / "script"
    path.write_text(script(shell), encoding="utf-8")
    done = subprocess.run([shell, "-n", str(path)], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")


def fish_offers(folder: Path, typed: str) -> list[str]:
    """What fish would offer behind the words typed."""
    (folder / "home").mkdir(exist_ok=True)
    (folder / ".script").write_text(script("fish"), encoding="utf-8")
    done = subprocess.run(
        ["fish", "--no-config", "-c", f"source .script; complete -C {shlex.quote(typed)}"],
        cwd=folder,
        capture_output=True,
        text=True,
        env={**os.environ, "HOME": str(folder / "home")},
    )
    assert done.stderr == ""
    return sorted(line.split("\t")[0] for line in done.stdout.splitlines())


def zsh_completes(folder: Path, typed: list[tuple[str, str]]) -> list[str]:
    """The lines that zsh makes of what is typed when the tabulator key is pressed behind it.

    typed: each with the line that is hoped for, so that nobody waits longer than needed.
    """
    import pty  # no Windows has it, and none has zsh

    (folder / ".script").write_text(script("zsh"), encoding="utf-8")
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.execvpe("zsh", ["zsh", "-f"], {**os.environ, "TERM": "dumb", "COLUMNS": "400"})
    try:
        lines = "autoload -Uz compinit; compinit -D -u; eval \"$(<.script)\"; PS1=READY'> '"
        os.write(terminal, f"stty columns 400; {lines}\n".encode())
        _read_until(terminal, "READY> ")
        found = []
        for begun, wanted in typed:
            os.write(terminal, f"{begun}\t".encode())
            told = _read_until(terminal, wanted)
            found.append(told[told.rindex("ringstep ") :].strip())
            os.write(terminal, b"\x15\n")  # ^U empties the line, so that nothing is run
            _read_until(terminal, "READY> ")
        return found
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)


_STEERING = re.compile(r"\x1b\[[?\d;]*[a-zA-Z]|[\r\a]")


def _read_until(terminal: int, mark: str) -> str:
    """What the terminal shows up to a mark, or all it shows before it falls silent."""
    told = ""
    while mark not in told and select.select([terminal], [], [], 5)[0]:
        told = _STEERING.sub("", told + os.read(terminal, 4096).decode("utf-8", "replace"))
    return told


#: What is typed, and the word that its last one becomes.
TYPED = [
    ("ringstep che", "check"),
    ("ringstep check cu", "cuff.weave"),
    ("ringstep explain pick-", "pick-count"),
    ("ringstep weaves --copy byz", "byzantine"),
    ("ringstep new cuff --kind lo", "loop"),
    ("ringstep sizes --stock st", "stock.csv"),
    ("ringstep handout --all", "--all-variants"),
]


@pytest.mark.parametrize("shell", [s for s in FOUND if s in ("zsh", "fish")])
def test_the_shell_completes_what_is_typed(shell: str, folder: Path) -> None:
    if shell == "fish":
        assert [fish_offers(folder, typed) for typed, _ in TYPED] == [[w] for _, w in TYPED]
    else:
        lines = [(typed, f"{typed.rpartition(' ')[0]} {wanted}") for typed, wanted in TYPED]
        assert zsh_completes(folder, lines) == [line for _, line in lines]
