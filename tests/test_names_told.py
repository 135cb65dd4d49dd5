"""Names without their rings, and steps forgotten whole: what is said, in `stored/names_told.txt`.

Nothing but errors is looked at; each says its line, one message and what to type.
"""

from __future__ import annotations

import pytest
from helpers import findings
from slips_stored import stored_slips

ALL = stored_slips("names_told")


@pytest.mark.parametrize("name", ALL)
def test_what_is_said_of_a_name_that_leads_nowhere(name: str) -> None:
    slip = ALL[name]
    assert [f.message for f in findings(slip.right) if f.severity == "error"] == []
    lines = slip.wrong.split("\n")
    told = []
    for found in findings(slip.wrong):
        if found.severity == "error":
            told += [lines[found.span.line - 1].strip(), found.message]
            told += [f"- {line}" for line in found.help]
    assert tuple(told) == slip.told
