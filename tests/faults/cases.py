"""Every command in the ways in which it reads or writes files, each in a folder of its own."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pytest
from helpers import BYZANTINE, EXAMPLES, SIMPLE

#: A chain that checks clean, with a sample to tell lengths by.
CHAIN = SIMPLE.replace("30 units\n", "30 units\n  sample 10 units = 41 mm\n")
#: One mend is offered for it.
WRONG = SIMPLE.replace("through prev A", "throuhg prev A")
#: One fault in the links.
MISSED = (EXAMPLES / "missed_ring.weave").read_text(encoding="utf-8")
UNTIDY = SIMPLE.replace("  add A", "     add   A").replace("\n", "\r\n")
SAMPLES = (
    "2026-11-02; 10 units = 41 mm; laid flat; rings wire 1.2 mm, inside 5 mm, copper;"
    " weave 2V30-X1NT, 1 ring a unit\n"
)
PRICES = "ring,pack,price,currency\nA,100,3.80,EUR\n"
#: No heading says which column is the price.
ASKED = "ring;pack;was es macht;currency\nA;100;3,80;EUR\n"
STOCK = (EXAMPLES / "stock.csv").read_text(encoding="utf-8")
OLD_PAGE = "an old page\n"


@dataclass(frozen=True)
class Case:
    """One command as typed. files: what lies in the folder, beside a clean recipe 'it.weave'.

    answers: what is typed when it asks. fresh: the parser is made or read from the cache anew.
    slow: its tests take long.
    """

    words: str
    files: dict[str, str] = field(default_factory=dict)
    answers: str | None = None
    fresh: bool = False
    slow: bool = False

    def all_files(self) -> dict[str, str]:
        """Every file there is before the command runs."""
        return {"it.weave": CHAIN} | self.files


def marked(cases: list[Case]) -> list[Any]:
    """The cases as parameters of tests, the slow ones marked."""
    return [pytest.param(one, marks=[pytest.mark.slow] if one.slow else []) for one in cases]


_LOG = {"it.samples": SAMPLES}
_LISTS = {"p.csv": PRICES}
_MANY = {"all/a.weave": SIMPLE, "all/b.weave": WRONG, "all/c/d.weave": BYZANTINE}

CASES = [
    Case("check it.weave"),
    Case("check it.weave", fresh=True),
    Case("check it.weave", _LOG),
    Case("check it.weave b.weave", {"b.weave": WRONG}),
    Case("check all", _MANY),
    Case("check all --json", _MANY),
    Case("check it.weave --rings"),
    Case("steps it.weave"),
    Case("steps it.weave --markdown"),
    Case("count it.weave --json"),
    Case("alike it.weave", slow=True),
    Case("alike it.weave b.weave", {"b.weave": BYZANTINE}),
    Case("explain pick-count"),
    Case("completion bash"),
    Case("weaves", slow=True),
    Case("weaves --show byzantine"),
    Case("weaves --copy byzantine"),
    Case("weaves --copy byzantine --to new/b.weave"),
    Case("new cuff"),
    Case("new deep/cuff --kind tube"),
    Case("tidy b.weave", {"b.weave": UNTIDY}),
    Case("tidy b.weave c.weave", {"b.weave": UNTIDY, "c.weave": UNTIDY}),
    Case("tidy b.weave --check", {"b.weave": UNTIDY}),
    Case("tidy b.weave --show", {"b.weave": UNTIDY}),
    Case("mend b.weave --yes", {"b.weave": WRONG}),
    Case("mend b.weave --yes", {"b.weave": WRONG, "b.weave.before": SIMPLE}),
    Case("mend b.weave --yes", {"b.weave": MISSED}),
    Case("sample add it.weave --units 10 --measured 42mm --date 2026-11-03"),
    Case("sample add it.weave --units 10 --measured 42mm --date 2026-11-03", _LOG),
    Case("sample it.weave", _LOG),
    Case("sample --csv", _LOG),
    Case("kit it.weave --length 19cm", _LOG),
    Case("kit it.weave --prices p.csv --slip out/slip.html", _LISTS),
    Case("kit it.weave --prices p.csv --slip slip.html", {"slip.html": OLD_PAGE, **_LISTS}),
    Case("kit it.weave --prices p.csv --slip p.csv", _LISTS),
    Case("kit it.weave=2 b.weave=3 --csv", {"b.weave": CHAIN}),
    Case("kit it.weave --prices q.csv", {"q.csv": ASKED}, answers="3\n"),
    Case("kit it.weave --prices q.csv --column price=was_es_macht", {
        "q.csv": ASKED.replace(" es ", "_es_").replace("was ", "was_")
    }),
    Case("lesson it.weave --students 4 --prices p.csv --sheet s.html", _LISTS),
    Case("lesson it.weave --shop-text shop", slow=True),
    Case("lesson it.weave --shop-text shop --json", {"shop/it-shop.txt": OLD_PAGE}, slow=True),
    Case("sizes it.weave --stock s.csv", {"s.csv": STOCK}),
    Case("sizes --stock s.csv", {"s.csv": STOCK}, slow=True),
    Case("sizes all --stock s.csv", {"s.csv": STOCK, "all/a.weave": SIMPLE}),
    Case("mandrel it.weave"),
    Case("mandrel it.weave --json", _LOG),
    Case("draw it.weave --format dot"),
    Case("draw it.weave --to pics", {"pics/mine.txt": OLD_PAGE}),
    Case("draw it.weave --rings", slow=True),
    Case("draw it.weave --rings --film --to pics", slow=True),
    Case("handout it.weave", slow=True),
    Case("handout it.weave --pictures none --rings none", {"it.html": OLD_PAGE}),
    Case("handout it.weave --screen", slow=True),
    Case("handout it.weave --pictures none --rings none --pdf", slow=True),
    Case("handout b.weave --draft --pictures none --rings none", {"b.weave": MISSED}, slow=True),
    Case("fit it.weave --effort 0", slow=True),
    Case("watch it.weave"),
    Case("watch b.weave --to b.html", {"b.weave": WRONG}),
]  # fmt: skip
