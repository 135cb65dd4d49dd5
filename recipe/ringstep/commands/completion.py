"""Print a completion script for your shell: commands, options, recipes, rules, words and weaves.

bash  add to ~/.bashrc:                   eval "$(ringstep completion bash)"
zsh   add to ~/.zshrc, behind compinit:   eval "$(ringstep completion zsh)"
fish  add to ~/.config/fish/config.fish:  ringstep completion fish | source
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import Literal

from ringstep.commands.rim import OK

SHELLS = ("bash", "zsh", "fish")

#: What may stand in a place: one of several words, a file with an ending, a folder, or anything.
Kind = Literal["words", "file", "folder", "anything"]


@dataclass(frozen=True, slots=True)
class Value:
    """What may be typed in one place. ending: of the files, "" for any; words: the choice."""

    kind: Kind
    words: tuple[str, ...] = ()
    ending: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """An option of a command. value: what follows it, None where nothing does."""

    flags: tuple[str, ...]
    help: str
    value: Value | None


@dataclass(frozen=True, slots=True)
class Command:
    """A command with all that may follow it. places: what its words are."""

    name: str
    help: str
    options: tuple[Option, ...]
    places: tuple[Value, ...]


def arguments(parser: argparse.ArgumentParser) -> None:
    """What can be typed after `ringstep completion`."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("shell", choices=SHELLS, metavar="bash|zsh|fish")


def run(args: argparse.Namespace) -> int:
    """Run the command; see the module."""
    commands = commands_of()
    write = {"bash": bash_script, "zsh": zsh_script, "fish": fish_script}[args.shell]
    sys.stdout.write(write(commands))
    return OK


# -- what can be typed, read off the commands ----------------------------------------------------


def _value(action: argparse.Action, command: str) -> Value:
    """What may be typed for one option or place."""
    from ringstep.commands.explain import explained
    from ringstep.language.shipped import shipped_weaves

    named = action.metavar if isinstance(action.metavar, str) else ""
    if action.choices is not None:
        return Value("words", tuple(str(c) for c in action.choices))
    if named == "RULE":
        return Value("words", tuple(explained()))
    if named == "NAME" and command == "weaves":
        return Value("words", tuple(shipped_weaves()))
    if named == "FOLDER":
        return Value("folder")
    if named.startswith("FILE."):
        return Value("file", ending=named.removeprefix("FILE"))
    if named == "FILE":
        return Value("file", ending="" if action.option_strings else ".weave")
    return Value("anything")


def commands_of() -> tuple[Command, ...]:
    """Every command there is, with the options and places it states in its `arguments`."""
    from ringstep.commands.cli import command_names

    found = []
    for command in command_names():
        module = import_module(f"ringstep.commands.{command.replace('-', '_')}")
        one = argparse.ArgumentParser()
        module.arguments(one)
        shown = [a for a in one._actions if a.help != argparse.SUPPRESS]
        options = tuple(
            Option(
                tuple(a.option_strings),
                (a.help or "").replace("%%", "%"),
                None if a.nargs == 0 else _value(a, command),
            )
            for a in shown
            if a.option_strings
        )
        places = tuple(_value(a, command) for a in shown if not a.option_strings)
        about = (module.__doc__ or "").strip().splitlines()[0].rstrip(".")
        found.append(Command(command, about, options, places))
    return tuple(found)


def _quoted(text: str) -> str:
    """A text in single quotes, for all three shells."""
    return "'" + text.replace("'", "'\\''") + "'"


# -- bash ----------------------------------------------------------------------------------------

_BASH = """\
# Completion of ringstep for bash; made by 'ringstep completion bash'.
_ringstep_files() {{  # folders, and the files that end in $1 and begin like $2; '/': folders only
  local one
  while IFS= read -r one; do
    if [ -d "$one" ] || [ -z "$1" ] || [ "${{one%"$1"}}" != "$one" ]; then
      COMPREPLY+=("$one")
    fi
  done < <(compgen -f -- "$2")
  compopt -o filenames 2>/dev/null || true
}}
_ringstep_words() {{  # the words of $1 that begin like $2
  local one
  while IFS= read -r one; do COMPREPLY+=("$one"); done < <(compgen -W "$1" -- "$2")
}}
_ringstep() {{
  local now="${{COMP_WORDS[COMP_CWORD]}}" before="${{COMP_WORDS[COMP_CWORD-1]}}"
  COMPREPLY=()
  if [ "$COMP_CWORD" -eq 1 ]; then
    _ringstep_words '{names} --help' "$now"
    return
  fi
  case "${{COMP_WORDS[1]}}:$before" in
{values}
  esac
  if [ "${{now#-}}" != "$now" ]; then
    case "${{COMP_WORDS[1]}}" in
{options}
    esac
    return
  fi
  case "${{COMP_WORDS[1]}}" in
{places}
  esac
}}
complete -F _ringstep ringstep
"""


def _bash_value(value: Value) -> str:
    if value.kind == "words":
        return f'_ringstep_words {_quoted(" ".join(value.words))} "$now"'
    if value.kind == "anything":
        return ":"
    ending = "/" if value.kind == "folder" else value.ending
    return f'_ringstep_files {_quoted(ending)} "$now"'


def _first_place(command: Command) -> Value | None:
    """What is offered for the words of a command: files before anything else."""
    return next((p for p in command.places if p.kind != "anything"), None)


def bash_script(commands: tuple[Command, ...]) -> str:
    """The completion script for bash (3.2 and later)."""
    values, options, places = [], [], []
    for command in commands:
        for option in command.options:
            if option.value is not None:
                when = "|".join(f"{command.name}:{flag}" for flag in option.flags)
                values.append(f"    {when}) {_bash_value(option.value)}; return ;;")
        flags = " ".join(flag for option in command.options for flag in option.flags)
        options.append(f'      {command.name}) _ringstep_words {_quoted(flags)} "$now" ;;')
        if place := _first_place(command):
            places.append(f"    {command.name}) {_bash_value(place)} ;;")
    return _BASH.format(
        names=" ".join(c.name for c in commands),
        values="\n".join(values),
        options="\n".join(options),
        places="\n".join(places),
    )


# -- zsh -----------------------------------------------------------------------------------------

_ZSH = """\
#compdef ringstep
# Completion of ringstep for zsh; made by 'ringstep completion zsh'.
_ringstep() {{
  local -a commands
  commands=(
{names}
  )
  if (( CURRENT == 2 )); then
    _describe 'command' commands
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
{cases}
  esac
}}
if [[ $funcstack[1] == _ringstep ]]; then
  _ringstep "$@"
else
  compdef _ringstep ringstep
fi
"""


def _zsh_text(text: str) -> str:
    """Words for a place where ':' and brackets have a meaning."""
    for mark in "\\:[]":
        text = text.replace(mark, f"\\{mark}")
    return text


def _zsh_value(value: Value) -> str:
    match value.kind:
        case "words":
            return f":word:({' '.join(value.words)})"
        case "folder":
            return ":folder:_files -/"
        case "file":
            return ":file:_files" + (f' -g "*{value.ending}(-.)"' if value.ending else "")
    return ":text: "


def _zsh_options(command: Command) -> Iterator[str]:
    for option in command.options:
        for flag in option.flags:
            value = _zsh_value(option.value) if option.value is not None else ""
            yield f"{flag}[{_zsh_text(option.help)}]{value}"


def zsh_script(commands: tuple[Command, ...]) -> str:
    """The completion script for zsh."""
    names = "\n".join(f"    {_quoted(f'{c.name}:{_zsh_text(c.help)}')}" for c in commands)
    cases = []
    for command in commands:
        told = list(_zsh_options(command))
        if command.places:
            told.append(f"*{_zsh_value(_first_place(command) or command.places[0])}")
        lines = " \\\n".join(f"        {_quoted(t)}" for t in told)
        cases.append(f"    {command.name})\n      _arguments \\\n{lines}\n      ;;")
    return _ZSH.format(names=names, cases="\n".join(cases))


# -- fish ----------------------------------------------------------------------------------------


def _fish_value(value: Value) -> str:
    match value.kind:
        case "words":
            return f"-x -a {_fish_quoted(' '.join(value.words))}"
        case "folder":
            return "-x -a '(__fish_complete_directories)'"
        case "file" if value.ending:
            return f"-x -a '(__fish_complete_suffix {value.ending})'"
        case "file":
            return "-r -F"
    return "-x"


def _fish_quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


def fish_script(commands: tuple[Command, ...]) -> str:
    """The completion script for fish."""
    lines = [
        "# Completion of ringstep for fish; made by 'ringstep completion fish'.",
        "complete -c ringstep -f",
    ]
    for command in commands:
        lines.append(
            "complete -c ringstep -n __fish_use_subcommand"
            f" -a {command.name} -d {_fish_quoted(command.help)}"
        )
    for command in commands:
        when = f"complete -c ringstep -n '__fish_seen_subcommand_from {command.name}'"
        for option in command.options:
            flags = " ".join(
                f"-l {f.removeprefix('--')}" if f.startswith("--") else f"-s {f.removeprefix('-')}"
                for f in option.flags
            )
            value = f" {_fish_value(option.value)}" if option.value is not None else ""
            lines.append(f"{when} {flags}{value} -d {_fish_quoted(option.help)}")
        if (place := _first_place(command)) is not None:
            lines.append(f"{when} {_fish_value(place)}")
    return "\n".join(lines) + "\n"
