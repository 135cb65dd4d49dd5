"""A recipe's text in its one layout, as the shipped recipes are laid out.

Comes in: a `Source`, or the bytes of a file. Goes out: the same recipe, every line where its like
always stands. What the author wrote in words of their own (names, hints, notes, comments) is kept
mark for mark; only blanks, capitals of the language's words and the order of options change. The
result is read again before it is handed out, and must be the same recipe.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from ringstep.language.findings import Trouble
from ringstep.language.parse import HINT_LINE, LINE_RULES, parse, parser
from ringstep.language.pieces import marked, named_pieces
from ringstep.language.read_tree import MARK
from ringstep.language.reading_sections import NOTHING_TO_JOIN, explain_section
from ringstep.language.screen import columns
from ringstep.language.source import Source, Span, source_from_bytes, source_from_text
from ringstep.language.tree import Tree

#: How deep a line stands, in blanks.
MARGIN, LINE, HINT = 0, 2, 4
#: The order in which the options of a step are written.
OPTIONS = ("ON", "ONE", "THROUGH", "AT", "AROUND", "INSIDE", "PICKS", "LAY", "SKIP")
#: Sections that are small tables: what stands first on a line has a column of its own.
_TABLES = frozenset({"rings", "sizes", "parts", "variants", "notes"})

_NOTE_LINE = re.compile(r"\s*(\S+)(\s*)(.*?)\s*\Z", re.S)
_NUMBERED = re.compile(r"(.*?\D)(\d+)\Z", re.S)

#: The kinds of tokens that hold what the author wrote; all others are words of the language.
WRITTEN = frozenset(
    {"NAME", "INT", "DECIMAL", "FRACTION", "STRING", "COMMA", "EQUAL", "NAMED_PIECE"}
)
#: A token of the line reader: its kind, its text and its columns.
_Token = Any


class Unsettled(Exception):
    """A recipe that is left as it is; the text says on which line and why."""


@dataclass(frozen=True, slots=True)
class Tidied:
    """A recipe's text in its one layout.

    lines: without line ends. changed: the lines of the text as it was that are now different.
    """

    lines: tuple[str, ...]
    changed: tuple[int, ...]


@dataclass(slots=True)
class _Laid:
    """One line on its way: its number in the text, how deep it stands, its words, its comment.

    first, second: what stands in columns of their own in a table, "" elsewhere.
    """

    number: int
    indent: int
    first: str
    words: str
    comment: str
    table: int = 0
    second: str = ""


# -- words ---------------------------------------------------------------------------------------


def _tokens(text: str, rule: str) -> list[_Token]:
    """The words of a line, those of the language told from the author's. The pieces that a joining
    step names are marked in it."""
    return list(parser().parse_interactive(text, start=rule).iter_parse())


def _word(token: _Token) -> str:
    """A word as it is written: words of the language in lower case, `AR` as the trade writes it."""
    if token.type in WRITTEN:
        return re.sub(f"{MARK}+", " ", str(token)).rstrip()
    return "AR" if token.type == "AR" else " ".join(token.lower().split())


def _joined_names(tokens: list[_Token], from_first: int) -> list[str]:
    """The words of a line, with ring names written in one way: `M1`, `core 1`.

    from_first: how many of the tokens, from the first, may be names of rings.
    """
    words: list[str] = []
    at = 0
    while at < len(tokens):
        token, after = tokens[at], tokens[at + 1] if at + 1 < len(tokens) else None
        counted = at > 0 and tokens[at - 1].type == "INT"
        if token.type != "NAME" or at >= from_first or counted:
            words.append(_word(token))
        elif after is not None and after.type == "NAME":  # a strand, before its ring
            words.append(str(token))
        elif after is not None and after.type == "INT":
            words.append(f"{token}{'' if len(token) == 1 else ' '}{after}")
            at += 1
        elif (found := _NUMBERED.match(token)) and len(found[1]) > 1:
            words.append(f"{found[1]} {found[2]}")
        else:
            words.append(str(token))
        at += 1
    return words


def _spaced(words: list[str]) -> str:
    return " ".join(words).replace(" ,", ",")


def _line_words(tokens: list[_Token], rule: str) -> list[str]:
    """The words of a line that is not a step, one by one."""
    if rule == "set_line":
        return [str(tokens[0]), *_line_words(tokens[1:], "ring_kind")]
    names = 1 if rule in ("ring_kind", "part_kind") else 0
    if rule == "promise" and tokens[0].type == "NAME":
        verb = next((t.type for t in tokens if t.type not in WRITTEN), "")
        names = 1 if verb in ("MEETS", "LIES", "AR", "COMES", "FOLDED") else 0
    words = _joined_names(tokens, names)
    if rule == "ring_kind" and len(words) > 1 and words[1] in ("unit", "units", "row", "rows"):
        behind = 5 if words[3] == "to" else 3  # 'A units 1 to 8' stands in one column
        words[:behind] = [" ".join(words[:behind])]
    return words


def _step_words(tokens: list[_Token]) -> tuple[str, str]:
    """A step with its options in their order, and in the order they were written."""
    groups: list[tuple[int, list[_Token]]] = [(-1, [])]
    for before, token in zip([None, *tokens], tokens, strict=False):
        inside = before is not None and before.type in ("SKIP", "AT")  # 'skip at', 'at one'
        if token.type == "THEN" and before is not None and before.type == "COMMA":
            groups[-1][1].pop()  # 'M, then prev M'
        if token.type in OPTIONS and not inside:
            groups.append((OPTIONS.index(token.type), []))
        groups[-1][1].append(token)
    told = [(at, _spaced(_joined_names(part, len(part)))) for at, part in groups]
    in_order = sorted(told, key=lambda group: group[0])
    return " ".join(t for _, t in in_order), " ".join(t for _, t in told)


# -- lines ---------------------------------------------------------------------------------------


class _Setter:
    """Goes through a recipe line by line and lays each out."""

    def __init__(self, source: Source, recipe: Tree) -> None:
        self.source = source
        self.pieces = named_pieces(source)
        self.notes = {note.span.line for note in recipe.notes}
        self.section: str | None = None
        self.sections = 0

    def lines(self) -> list[_Laid]:
        found = []
        for number, (raw, plain) in enumerate(
            zip(self.source.lines, self.source.plain, strict=True), 1
        ):
            comment = raw[len(plain) :].rstrip()
            if plain.strip():
                found.append(self.line(number, raw, plain, comment))
            else:
                indent = MARGIN if not plain else LINE  # settled when the next line is known
                found.append(_Laid(number, indent, "", "", comment))
        return found

    def in_steps(self) -> bool:
        """Whether the lines of the section are steps."""
        return self.section is not None and self.section.split(" ")[0] not in LINE_RULES

    def line(self, number: int, raw: str, plain: str, comment: str) -> _Laid:
        laid = _Laid(number, LINE, "", "", comment, self.sections)
        if number in self.notes:
            topic, gap, words = _NOTE_LINE.match(plain).groups()  # type: ignore[union-attr]
            start = plain.index(topic)
            words = raw[start + len(topic) + len(gap) :][: len(words)]
            topic = raw[start : start + len(topic)]
            # Two blanks make a column of the topic; one blank is a sentence, kept as it is.
            as_table = len(gap) > 1 or "\t" in raw[start + len(topic) :][: len(gap)]
            laid.first, laid.words = (topic, words) if as_table else ("", f"{topic} {words}")
        elif self.in_steps() and (hint := HINT_LINE.match(plain)):  # its words may end in ':'
            laid.indent, laid.words = HINT, f"hint {raw[hint.start(1) : hint.end(1)]}"
        elif plain.rstrip().endswith(":"):
            tokens = _tokens(plain.rstrip()[:-1], "heading")
            words = [_word(t) for t in tokens if t.type not in WRITTEN]
            named = words[0] in ("unit", "picture", "piece")
            self.section = words[0] if named else " ".join(words)
            self.sections += 1
            laid.indent, laid.words = MARGIN, _spaced([_word(t) for t in tokens]) + ":"
        elif self.section is None:
            verb, title = _tokens(plain, "title")
            inside = raw[title.column : title.end_column - 2]
            laid.indent, laid.words = MARGIN, f'{_word(verb)} "{inside}"'
        elif self.section in LINE_RULES:
            rule = LINE_RULES[self.section]
            words = _line_words(_tokens(plain, rule), rule)
            if self.section in _TABLES:
                laid.first, words = words[0], words[1:]
            if self.section == "sizes":
                laid.second, words = words[0], words[1:]
            elif self.section == "shape":
                rows = 4 if words[2] == "to" else 2
                laid.first, words = " ".join(words[:rows]), words[rows:]
            laid.words = _spaced(words)
        else:
            laid.words, as_written = _step_words(
                _tokens(marked(plain, self.pieces) if self.section == "join" else plain, "step")
            )
            if comment and _cut(f"{laid.words}  {comment}") != laid.words:
                laid.words = as_written  # '#18' behind a name in '…wire' would be read as a gauge
        laid.words = laid.words.rstrip()
        return laid


def _cut(line: str) -> str:
    """A line without its comment."""
    return source_from_text(line).plain[0].rstrip()


def _settle_comments(lines: list[_Laid]) -> None:
    """A comment on a line of its own stands at the margin, or as deep as what it is about."""
    depth = LINE
    for laid in reversed(lines):
        if laid.words or laid.first:
            depth = laid.indent
        elif laid.comment and laid.indent:
            laid.indent = depth or LINE
    for laid in lines:
        if laid.words or laid.first:
            break
        laid.indent = MARGIN


def _settle_blanks(lines: list[_Laid]) -> list[_Laid]:
    """One empty line at most between two lines, none before the first or behind the last."""
    kept: list[_Laid] = []
    empty: _Laid | None = None
    for laid in lines:
        if not (laid.words or laid.first or laid.comment):
            empty = empty or laid
            continue
        if empty and kept:
            kept.append(empty)
        kept.append(laid)
        empty = None
    return kept


def _bodies(lines: list[_Laid]) -> list[str]:
    """Every line without its comment, the columns of each table in line."""
    widths: dict[tuple[int, int], int] = {}
    for laid in lines:
        for at, cell in enumerate((laid.first, laid.second)):
            widths[laid.table, at] = max(widths.get((laid.table, at), 0), columns(cell))
    told = []
    for laid in lines:
        cells = [
            cell + " " * (widths[laid.table, at] - columns(cell) + 2)
            for at, cell in enumerate((laid.first, laid.second))
            if cell
        ]
        told.append(f"{' ' * laid.indent}{''.join(cells)}{laid.words}".rstrip())
    return told


def _with_comments(lines: list[_Laid], bodies: list[str]) -> list[str]:
    """Every line with its comment; those of like lines that follow one another share a column."""
    runs: list[list[tuple[_Laid, str]]] = []
    shared = None  # how deep the lines stand with whose comments the next may share its column
    for laid, body in zip(lines, bodies, strict=True):
        depth = laid.indent if laid.comment and body and laid.indent != MARGIN else None
        if depth is not None and depth == shared:
            runs[-1].append((laid, body))
        else:
            runs.append([(laid, body)])
        shared = depth
    told: list[str] = []
    for run in runs:
        column = max(columns(body) for _, body in run) + 2
        for laid, body in run:
            gap = column - columns(body) if body else laid.indent
            told.append(f"{body}{' ' * gap}{laid.comment}" if laid.comment else body)
    return told


# -- the whole recipe ----------------------------------------------------------------------------


def meaning(part: Any) -> Any:
    """A piece of the tree without its places, so that two texts of one recipe compare equal."""
    if isinstance(part, tuple):
        return tuple(meaning(p) for p in part if not isinstance(p, Span | Source))
    if is_dataclass(part):
        held = [getattr(part, f.name) for f in fields(part)]
        kept = [meaning(h) for h in held if not isinstance(h, Span | Source)]
        return (type(part).__name__, *kept)
    return part


def comments_of(source: Source) -> tuple[str, ...]:
    """The comments of a text in their order, each from its mark on."""
    pairs = zip(source.lines, source.plain, strict=True)
    found = (raw[len(plain) :].rstrip() for raw, plain in pairs)
    return tuple(comment for comment in found if comment)


def _first_unread(recipe: Tree, troubles: tuple[Trouble, ...]) -> Trouble | None:
    """The first line that could not be read; a section still missing hinders nothing.

    Where there is nothing to join, lines under 'join:' that cannot be read are not told.
    """
    missing = {t for t in explain_section(recipe) if t.message != NOTHING_TO_JOIN[0]}
    return min((t for t in troubles if t not in missing), key=lambda t: t.span.line, default=None)


def tidy(source: Source) -> Tidied:
    """Lay a recipe out. Raises `Unsettled` where a line cannot be read, so that nothing is guessed.

    >>> tidy(source_from_text('UNIT :\\n add  A Picks 1 through prev A#x', "a")).lines
    ('unit:', '  add A through prev A picks 1  #x')
    """
    recipe, troubles = parse(source)
    if trouble := _first_unread(recipe, troubles):
        raise Unsettled(f"line {trouble.span.line} cannot be read: {trouble.message}")
    laid = _Setter(source, recipe).lines()
    _settle_comments(laid)
    laid = _settle_blanks(laid)
    lines = tuple(_with_comments(laid, _bodies(laid)))
    after = source_from_text("\n".join(lines), source.name)
    again, troubles = parse(after)
    if (
        _first_unread(again, troubles)
        or meaning(again) != meaning(recipe)
        or comments_of(after) != comments_of(source)
    ):
        raise Unsettled("it would not be the same recipe in the one layout")
    now = {one.number: line for one, line in zip(laid, lines, strict=True)}
    changed = [n for n, line in enumerate(source.lines, 1) if now.get(n) != line]
    if changed and changed[-1] == len(source.lines) and not source.lines[-1]:
        changed.pop()  # what follows the last line end is not a line
    elif source.lines[-1] and len(source.lines) not in changed:
        changed.append(len(source.lines))  # the last line gets its line end
    return Tidied(lines, tuple(changed))


def _line_end(text: str) -> str:
    """The line end that a text uses most."""
    windows = text.count("\r\n")
    counts = {
        "\n": text.count("\n") - windows,
        "\r\n": windows,
        "\r": text.count("\r") - windows,
    }
    return max(counts, key=lambda end: counts[end])


def tidy_bytes(data: bytes, name: str) -> tuple[bytes, Tidied]:
    """The bytes of a recipe laid out; its encoding, its mark and its line ends stay as they are.

    Raises `Unsettled`, and `source.Unreadable` where the bytes are no text.
    """
    tidied = tidy(source_from_bytes(data, name))
    return written_like(data, "".join(f"{line}\n" for line in tidied.lines)), tidied


def written_like(data: bytes, text: str) -> bytes:
    """A text in the encoding, with the mark and the line ends, of some bytes."""
    mark, encoding = b"", "utf-8"
    for start, called in (
        (b"\xff\xfe", "utf-16-le"),
        (b"\xfe\xff", "utf-16-be"),
        (b"\xef\xbb\xbf", "utf-8"),
    ):
        if data.startswith(start):
            mark, encoding = start, called
    end = _line_end(data[len(mark) :].decode(encoding))
    return mark + text.replace("\n", end).encode(encoding)
