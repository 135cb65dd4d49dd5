"""Small parts of a hand-out: its lead, and the list of sizes along a piece."""

from __future__ import annotations

from helpers import PERSIAN_LINKED, view
from test_shop_by_hand import GRADED

from ringstep.paper.handout import _sizes, _under_title
from ringstep.paper.handout_steps import Edition
from ringstep.paper.steps_text import step_list


def test_handout_lists_which_size_goes_where_with_a_box_for_each_stretch() -> None:
    told = _sizes(step_list(view(GRADED)))
    assert told.startswith('<section class="whole"><h2>Which size where</h2>\n<p>Take the rings of')
    assert told.count('<input type="checkbox"') == 2
    assert "1.2 × 5 mm" in told
    assert _sizes(step_list(view(PERSIAN_LINKED))) == ""


def test_handout_names_under_its_title_the_variants_that_are_printed() -> None:
    seen = view(PERSIAN_LINKED)
    one, two = (Edition(seen, step_list(seen, name), {}) for name in ("calm", "mirror"))
    assert _under_title([one]).endswith(", variant calm.</p>")
    assert _under_title([one, two]).endswith(", variants calm and mirror.</p>")
    plain = view(GRADED)
    assert "variant" not in _under_title([Edition(plain, step_list(plain), {})])
