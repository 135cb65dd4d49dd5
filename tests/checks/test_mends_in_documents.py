"""Every mend that is offered for a recipe of the documents, typed in."""

from __future__ import annotations

import re

import pytest
from helpers import findings
from test_documents import CASES, Case

from ringstep.language.findings import typed_in

QUOTED = re.compile(r"'([^']*)'")


@pytest.mark.parametrize("case", [c for c in CASES if c.marks], ids=str)
def test_a_mend_typed_in_takes_its_finding_away(case: Case) -> None:
    """What it says to write stands there then, and no more is found than before."""
    told = findings(case.text, case.of_rings)
    for finding in told:
        for mend in finding.mends:
            after = "\n".join(typed_in(tuple(case.text.splitlines()), mend.edits)) + "\n"
            found = findings(after, case.of_rings)
            assert (finding.rule, finding.message) not in [(f.rule, f.message) for f in found]
            assert len(found) <= len(told) + 1
            words = QUOTED.findall(mend.says)
            if not mend.says.startswith("take "):  # which names what is to be gone
                assert not words or any(x in after for x in words), mend.says
