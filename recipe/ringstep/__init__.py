"""ringstep reads a ring weave written step by step, works out its piece, and judges it.

For those who script:

>>> import ringstep
>>> chain = ringstep.read(text='''
... weave "Simple chain"
... rings:
...   A  wire 1.2 mm, inside 5 mm, copper
... expect:
...   A meets 2
... start:
...   close A
... unit:
...   add A through prev A picks 1
... piece:
...   chain 30 units
... ''')
>>> chain.findings
()
>>> chain.counts.rings[0].placed, chain.counts.links
(31, 30)
>>> [step.sentence for section in chain.steps.sections for step in section.steps]
['Close 1 ring, A.', 'Open 1 ring, A. Pass it through A of the unit before: 1 ring. Close it.']
>>> [(line.name, line.in_class) for line in chain.kit(pieces=8, spares=5).lines]
[('A', 264)]
>>> chain.diagram("unit", form="dot").splitlines()[0]
'graph unit {'

What is wrong with a recipe is told, not raised:

>>> missed = ringstep.read(text=chain.text.replace("A meets 2", "A meets 3"))
>>> [(finding.rule.name, finding.span.line) for finding in missed.findings]
[('neighbour-count', 6)]
>>> missed.kit()  # doctest: +ELLIPSIS
Traceback (most recent call last):
    ...
ringstep.language.source.Refused: the text has errors, so nothing is made from it: line 6, ...

The folders are stations on the way from the text to the page; each imports only from those before
it. Nothing of them is imported before a recipe is read.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from os import PathLike

    from ringstep.checks.view import View
    from ringstep.language.findings import Finding
    from ringstep.language.source import Refused as Refused
    from ringstep.paper.steps_text import StepList
    from ringstep.shop.kit import Kit
    from ringstep.shop.tally import PieceCount
    from ringstep.weave.piece import Weave

__all__ = ["Recipe", "Refused", "read"]


def read(
    path: str | PathLike[str] | None = None,
    *,
    text: str | None = None,
    variant: str | None = None,
    size: str | None = None,
) -> Recipe:
    """Read a recipe from a file or from a text.

    path, text: one of the two. variant: which of the recipe's variants is made; without it the one
    that the piece names, or the first. size: which of its sets of sizes; without it its own.

    Lines that cannot be understood are findings. Raises OSError where a file cannot be read,
    `Refused` (a ValueError) where it holds no text, where it asks for more work than is done, and
    where the recipe has no such variant or size.
    """
    from ringstep.checks.pipeline import view_of
    from ringstep.checks.view import with_size, with_variant
    from ringstep.language.source import MOST_BYTES, source_from_bytes
    from ringstep.weave.effort import within_bounds

    if (path is None) == (text is None):
        raise TypeError("read takes a path, or text=…, and not both")
    if path is not None:
        with open(path, "rb") as file:
            data, name = file.read(MOST_BYTES + 1), str(path)
    else:
        data, name = str(text).encode("utf-8", "surrogatepass"), "the text"
    seen = with_size(with_variant(view_of(source_from_bytes(data, name)), variant), size)
    within_bounds(seen)
    return Recipe(seen)


class Recipe:
    """A recipe that was read; everything is worked out on first use and stays as it is."""

    def __init__(self, view: View) -> None:
        self._view = view

    def __repr__(self) -> str:
        return f"<ringstep.Recipe {self.title!r}>"

    @property
    def title(self) -> str:
        """What the recipe calls the weave; empty where it says nothing."""
        return self._view.recipe.title or ""

    @property
    def text(self) -> str:
        """The recipe as written, its lines ended by a line feed."""
        return "\n".join(self._view.recipe.source.lines)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong and what to type, in the order of the text; empty where it is clean."""
        from ringstep.checks.pipeline import findings_of

        return findings_of(self._view)

    @property
    def weave(self) -> Weave:
        """The piece: every place, ring, act, link and count, as far as the steps could be read."""
        return self._view.weave

    @property
    def steps(self) -> StepList:
        """The numbered step list. Raises `Refused` where the recipe has errors."""
        from ringstep.paper.steps_text import step_list

        return step_list(self._sound())

    @property
    def counts(self) -> PieceCount:
        """Rings and links of the whole piece.

        Raises `Refused` where the recipe has errors, or gives a length that no sample turns into
        units.
        """
        from ringstep.shop.tally import count_piece

        return count_piece(self._sound())

    def kit(
        self,
        *,
        pieces: int = 1,
        spares: float = 0,
        length: str | None = None,
        clasp: str | None = None,
        ease: str | None = None,
        saw_cut: str | None = None,
        pace: float | None = None,
        prices: str | PathLike[str] | None = None,
    ) -> Kit:
        """What to pack and to buy.

        pieces: how many kits. spares: percent of each kind. length, clasp, ease: '19 cm', '7.5 in';
        of the finished piece (also 'ring size 54, 2.5 mm thick'), taken off it, added to it.
        saw_cut: '0.3 mm', lost at each ring. pace: seconds a ring. prices: a CSV table with the
        columns ring, pack, price and currency.

        Raises `Refused` where the recipe has errors or a wish cannot be met, OSError where the
        table cannot be read.
        """
        from ringstep.shop.kit import kit_of
        from ringstep.shop.tables import MOST_BYTES, read_prices
        from ringstep.shop.wish import read_wish

        wish = read_wish(
            length, clasp, ease, str(pieces), str(spares), saw_cut,
            None if pace is None else str(pace),
        )  # fmt: skip
        seen = self._sound()
        if prices is None:
            return kit_of(seen, wish)
        with open(prices, "rb") as file:
            table = read_prices(file.read(MOST_BYTES + 1), str(prices))
        return kit_of(seen, wish, table, str(prices))

    def diagram(
        self,
        shows: int | Literal["unit", "window"] = "unit",
        *,
        form: Literal["svg", "dot"] = "svg",
    ) -> str:
        """One link diagram as a text.

        shows: the number of a step, for the work after it; 'unit', with its links to the units
        around it; or 'window', the piece with its middle left out.

        Raises `Refused` where the recipe has errors or has no such picture, where its steps are too
        many or too large to draw, and for SVG where no drawing program is here.
        """
        from ringstep.draw.diagrams import all_diagrams
        from ringstep.draw.drawing import dot_text, draw_all
        from ringstep.language.source import Refused
        from ringstep.language.words import listed
        from ringstep.weave.effort import drawable

        seen = self._sound()
        drawable(seen.recipe, "'steps' says it in words")
        diagrams = {d.name: d for d in all_diagrams(seen)}
        name = f"step-{shows:02d}" if isinstance(shows, int) else shows
        if name not in diagrams:
            raise Refused(f"there is no diagram '{name}'; there is {listed(list(diagrams))}")
        if form == "dot":
            return dot_text(diagrams[name])
        (picture,) = draw_all([diagrams[name]], "svg").values()
        return picture.decode("utf-8")

    def _sound(self) -> View:
        """The view of a recipe without errors. Raises `Refused`."""
        from ringstep.language.source import Refused

        for finding in self.findings:
            if finding.severity == "error":
                raise Refused(
                    f"{self._view.recipe.source.name} has errors, so nothing is made from it:"
                    f" line {finding.span.line}, {finding.message}"
                )
        return self._view


def __getattr__(name: str) -> object:
    if name == "Refused":
        from ringstep.language import source

        return source.Refused
    raise AttributeError(f"module 'ringstep' has no attribute '{name}'")
