"""Diagrams: what they show, where it lies, and that no text of an author can upset them.

Meaning is tested on the `Diagram`s themselves; pictures only for what a program could spoil.
"""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path

import pytest
from helpers import BYZANTINE, DOUBLED, LIBRARY, SIMPLE, SPIRAL

from ringstep.checks.pipeline import view_of
from ringstep.checks.view import View
from ringstep.draw import drawing
from ringstep.draw.diagrams import all_diagrams, chosen_acts, step_diagrams
from ringstep.draw.drawing import NoProgram, dot_text, dot_texts, draw_all
from ringstep.draw.pictures import MARGIN, MM, Diagram
from ringstep.language.source import source_from_text

SVG = "{http://www.w3.org/2000/svg}"
WEAVES = sorted(p.stem for p in LIBRARY.glob("*.weave"))

PERSIAN_LINKED = """\
weave "Linked middle pairs"
rings:
  all  wire 1.2 mm, inside 7.0 mm, aluminium
variants:
  calm    lay front
  mirror  lay back
start:
  close 2 H
  add M1 through H picks 2
  add M2 through H, M1 picks 3 lay varies
  add 2 S through M picks 2
  fold back S
unit:
  spread prev M
  add M1 through prev S picks 2
  add M2 through prev S, M1 picks 3 lay varies
  add 2 S through M, prev M picks 4
  fold back S
piece:
  chain 24 units
finish:
  take out first H
"""

HELD = """\
weave "Held"
rings:
  A  wire 1.2 mm, inside 5 mm, copper
  big  wire 2 mm, inside 12 mm, copper
parts:
  clasp  a clasp
start:
  add A through clasp
unit:
  add A through prev A
  add big around A
piece:
  chain 9 units
"""

LOOP = """\
weave "Loop"
rings:
  all  wire 1.0 mm, inside 4.5 mm, brass
start:
  close A
unit:
  add A through prev A, prev prev A if there lay front
piece:
  loop 57 units
finish:
  add A1 through last A, last prev A, first A picks 3 lay front
  add A2 through A1, last A, first A, first next A picks 4 lay front
"""

HOSTILE_NAMES = ("<b>x<b>", "&amp", "a\\N\\\\", "'q'`$", "%s", "環", "\\l", "<>")
HOSTILE = (
    'weave "Nasty"\nrings:\n  all  wire 1.2 mm, inside 5 mm, copper\nstart:\n  close start0\n'
    "unit:\n  add A through prev start0\n"
    + "".join(f"  add {name} through A\n" for name in HOSTILE_NAMES)
    + "piece:\n  chain 1 units\n"
)


def view(text: str) -> View:
    """A recipe's view."""
    return view_of(source_from_text(text, "t.weave"))


@cache
def shipped(stem: str) -> tuple[View, tuple[Diagram, ...]]:
    """A shipped weave with its diagrams, worked out once."""
    seen = view((LIBRARY / f"{stem}.weave").read_text(encoding="utf-8"))
    return seen, tuple(all_diagrams(seen, None))


def called(diagram: Diagram, mark: str) -> set[frozenset[str]]:
    """The lines of a mark, each as the two rings in words."""
    full = {n.key: n.full for n in diagram.nodes}
    return {
        frozenset((full[x.a], full[x.b])) for x in diagram.lines if x.mark == mark and x.b in full
    }


def marked(diagram: Diagram, mark: str) -> set[str]:
    """The rings of a mark, in words."""
    return {n.full for n in diagram.nodes if n.mark == mark}


# -- what the diagrams show ----------------------------------------------------------------------


def test_a_mobius_step_shows_its_three_links_and_nothing_else_as_new() -> None:
    # Known by hand: M2 goes through both S of the unit before (here the start) and through M1.
    step = step_diagrams(view(PERSIAN_LINKED))[8]
    assert called(step, "new") == {
        frozenset(("M2, unit 1", "S1, start")),
        frozenset(("M2, unit 1", "S2, start")),
        frozenset(("M2, unit 1", "M1, unit 1")),
    }
    assert marked(step, "new") == {"M2, unit 1"}
    assert marked(step, "through") == {"S1, start", "S2, start", "M1, unit 1"}
    # H1 and H2 through two M; S1, S2 through two M, and M1 of the unit; M1–M2 of the start.
    assert len(called(step, "old")) == 4 + 1 + 4 + 2


def test_a_folded_step_shows_four_links_and_then_the_fold_shows_none() -> None:
    steps = step_diagrams(view(BYZANTINE))
    assert called(steps[5], "new") == {
        frozenset((f"C{i}, unit 1", f"B{k}, start")) for i in (1, 2) for k in (1, 2)
    }
    assert marked(steps[8], "handled") == {"B1, unit 1", "B2, unit 1"}
    assert called(steps[8], "new") == set()
    assert marked(steps[8], "new") == set()


def test_a_step_that_reaches_two_back_waits_for_the_unit_that_has_both() -> None:
    step = step_diagrams(view(SPIRAL))[2]
    assert called(step, "new") == {
        frozenset(("A, unit 2", "A, unit 1")),
        frozenset(("A, unit 2", "A, start")),
    }


@pytest.mark.parametrize("stem", WEAVES)
def test_every_step_shows_exactly_its_own_links_as_new(stem: str) -> None:
    seen, diagrams = shipped(stem)
    work, names = seen.weave.work, {d.name: d for d in diagrams}
    chosen = chosen_acts(work)
    assert set(chosen) == {s.number for s in seen.recipe.steps()}
    for number, at in chosen.items():
        act, diagram = work.acts[at], names[f"step-{number:02d}"]
        rings = {n.key: n.ring for n in diagram.nodes}
        movers = act.handled if act.step.kind == "reopen" else act.new
        wanted = {frozenset((a, b)) for a in movers for b in act.through}
        shown = [
            frozenset((rings[x.a], rings[x.b]))
            for x in diagram.lines
            if x.mark == "new" and x.b in rings
        ]
        assert set(shown) == wanted
        assert len(shown) == len(wanted)
        held = {frozenset((rings[x.a], rings[x.b])) for x in diagram.lines if x.mark == "held"}
        assert held >= {frozenset((a, b)) for a in act.new for b in act.held}
        assert {n.ring for n in diagram.nodes if n.mark == "new"} == set(movers)
        assert {n.ring for n in diagram.nodes if n.mark == "through"} == (
            set(act.through) | set(act.held)
        ) - set(movers)


@pytest.mark.parametrize("stem", WEAVES)
def test_no_diagram_shows_a_link_that_is_not_in_the_work(stem: str) -> None:
    seen, diagrams = shipped(stem)
    work = seen.weave.work
    made = {
        frozenset((a, b))
        for act in work.acts
        for a in (act.handled if act.step.kind == "reopen" else act.new)
        for b in (*act.through, *act.held)
    }
    for diagram in diagrams:
        if diagram.name == "key":
            continue
        rings = {n.key: n.ring for n in diagram.nodes}
        drawn = [frozenset((rings[x.a], rings[x.b])) for x in diagram.lines if x.b in rings]
        assert set(drawn) <= made
        assert len(drawn) == len(set(drawn))


def test_a_ring_taken_out_is_marked_then_and_gone_from_the_window() -> None:
    diagrams = {d.name: d for d in all_diagrams(view(PERSIAN_LINKED))}
    assert marked(diagrams["step-11"], "out") == {"H1, start", "H2, start"}
    assert not any(n.ring.role == "H" for n in diagrams["window"].nodes)
    assert any(n.ring.role == "H" for n in diagrams["step-10"].nodes)


def test_a_held_ring_is_dashed_and_a_part_is_a_box() -> None:
    steps = step_diagrams(view(HELD))
    assert called(steps[3], "held") == {frozenset(("big, unit 1", "A, unit 1"))}
    assert called(steps[3], "new") == set()
    assert [n.full for n in steps[1].nodes if n.box] == ["clasp, start"]
    assert drawing.LINE_LOOKS["held"]["style"] == "dashed"
    text = dot_text(steps[1])
    assert len(re.findall(r"shape=box", text)) == 1


def test_the_seam_of_a_loop_goes_to_a_second_copy_of_its_first_rings() -> None:
    step = step_diagrams(view(LOOP))[4]
    copies = {n.full for n in step.nodes if n.again}
    assert copies == {"A, start", "A, unit 1"}
    assert called(step, "new") == {
        frozenset(("A2, finish", other))
        for other in ("A1, finish", "A, unit 57", "A, start", "A, unit 1")
    }


def test_the_unit_tells_its_own_links_from_those_to_its_neighbours() -> None:
    unit = next(d for d in all_diagrams(view(BYZANTINE)) if d.name == "unit")
    # Known by hand: C–A and A–B, four links each, inside; B–C four to either side.
    assert sum(x.mark == "new" for x in unit.lines) == 8
    assert sum(x.mark == "beyond" and x.b is not None for x in unit.lines) == 8
    assert len([n for n in unit.nodes if n.mark == "through"]) == 6
    assert {c.text for c in unit.captions} == {"unit before", "this unit", "next unit"}


def test_diagrams_cost_the_same_for_ten_units_and_for_ten_million() -> None:
    small = all_diagrams(view(SIMPLE.replace("30 units", "100 units")))
    large = all_diagrams(view(SIMPLE.replace("30 units", "10000000 units")))
    assert [d.name for d in small] == [d.name for d in large]
    assert [len(d.nodes) for d in small] == [len(d.nodes) for d in large]
    assert "A, unit 10000000" in {n.full for n in large[-2].nodes}


def test_a_long_chain_written_in_one_go_is_broken_into_lines() -> None:
    steps = "".join(f"  add A{i} through A{i - 1}\n" for i in range(2, 41))
    text = f"{SIMPLE.split('expect')[0]}start:\n  close A1\n{steps}piece:\n  chain 1 units\n"
    window = next(d for d in all_diagrams(view(text)) if d.name == "window")
    assert len(window.nodes) == 40
    assert window.frame[2] - window.frame[0] + 2 * MARGIN <= 170 * MM
    assert len({round(n.at[1]) for n in window.nodes}) == 4


# -- words ---------------------------------------------------------------------------------------


def test_alt_says_which_ring_goes_through_which() -> None:
    steps = step_diagrams(view(PERSIAN_LINKED))
    assert steps[8].alt == (
        "After step 8 (unit 1): M2 goes through S1 and S2 of the unit before, and M1,"
        " entering from the front."
    )
    assert steps[10].alt == "After step 10 (unit 1): S1 and S2 are folded back."
    assert steps[11].alt == "After step 11 (finish): H1 and H2 of the start are taken out."
    assert "from the back" in step_diagrams(view(PERSIAN_LINKED), "mirror")[8].alt


def test_alt_of_the_unit_counts_every_neighbour() -> None:
    unit = next(d for d in all_diagrams(view(DOUBLED)) if d.name == "unit")
    assert unit.alt == (
        "One unit and its links: A1 meets A1 and A2 of the unit before and A1 and A2 of the next"
        " unit; A2 meets A1 and A2 of the unit before and A1 and A2 of the next unit."
    )


# -- tones and shapes ----------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (definition 'relative luminance'; from memory)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    low, high = sorted((luminance(a), luminance(b)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_known_values() -> None:
    # Published: black on white 21; Okabe-Ito blue #0072B2 on white 5.19 (facts computed from it).
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#0072B2", "#FFFFFF") == pytest.approx(5.19, abs=0.01)


def test_labels_and_outlines_have_the_contrast_that_wcag_asks_for() -> None:
    # WCAG 2.2, 1.4.3 AA: text 4.5; 1.4.11: what carries meaning 3.
    for looks in (drawing._PLAIN_NODE | own for own in drawing.NODE_LOOKS.values()):
        assert contrast(looks["fontcolor"], looks["fillcolor"]) >= 4.5
        assert contrast(looks["color"], "#FFFFFF") >= 3
    for looks in drawing.LINE_LOOKS.values():
        assert contrast(looks["color"], "#FFFFFF") >= 3
    assert contrast(drawing.FAINT, "#FFFFFF") >= 4.5


def test_in_greyscale_new_gone_through_and_other_rings_differ() -> None:
    looks = (drawing._PLAIN_NODE | drawing.NODE_LOOKS[m] for m in ("new", "through", "other"))
    tones = [luminance(look["fillcolor"]) for look in looks]
    assert tones[0] + 0.15 < tones[1] < tones[2] - 0.15


def test_marks_differ_without_any_colour_at_all() -> None:
    text = dot_text(next(d for d in all_diagrams(view(HELD)) if d.name == "key"))
    shapes = set()
    for line in text.splitlines():
        if re.match(r"\s*n\d+ ", line):
            shapes.add(
                tuple(re.findall(r"\b(penwidth|style|shape|peripheries)=(\"[^\"]*\"|\S+)", line))
            )
    assert len(shapes) == 7
    looks = {
        tuple(sorted((k, v) for k, v in x.items() if k != "color"))
        for x in drawing.LINE_LOOKS.values()
    }
    assert len(looks) == 4


# -- names of any kind ---------------------------------------------------------------------------


def svg_labels(svg: bytes) -> list[str]:
    """The labels of the rings in an SVG, their lines put together."""
    root = ET.fromstring(svg)
    groups = [g for g in root.iter(f"{SVG}g") if re.search(r"-n\d+$", g.get("id", ""))]
    return ["".join(t.text or "" for t in g.iter(f"{SVG}text")) for g in groups]


def test_hostile_names_are_shown_letter_for_letter() -> None:
    diagrams = all_diagrams(view(HOSTILE))
    window = next(d for d in diagrams if d.name == "window")
    assert {n.ring.role for n in window.nodes} >= set(HOSTILE_NAMES)
    labels = svg_labels(draw_all([window], "svg")["window.svg"])
    assert set(labels) >= set(HOSTILE_NAMES)


def test_direction_marks_and_control_characters_do_not_reach_the_picture() -> None:
    text = SIMPLE.replace("add A through prev A", "add A through prev A\n  add B\u202ex through A")
    svg = b"".join(draw_all(all_diagrams(view(text)), "svg").values()).decode()
    assert "\u202e" not in svg
    assert "\u202e" not in b"".join(dot_texts(all_diagrams(view(text))).values()).decode()


def test_long_names_are_told_whole_in_the_tip() -> None:
    name = "averylongnamethatgoesonandonandon"
    text = SIMPLE.replace("add A through prev A", f"add A through prev A\n  add {name} through A")
    svg = draw_all(all_diagrams(view(text)), "svg")["step-03.svg"].decode()
    assert f"<title>{name}, unit 1</title>" in svg


# -- files ---------------------------------------------------------------------------------------


def test_svg_can_stand_in_a_page_and_is_told_in_words() -> None:
    diagrams = all_diagrams(view(PERSIAN_LINKED))
    pictures = draw_all(diagrams, "svg")
    assert list(pictures) == [f"{d.name}.svg" for d in diagrams]
    ids: list[str] = []
    for diagram in diagrams:
        text = pictures[f"{diagram.name}.svg"].decode("utf-8")
        assert text.startswith("<svg ")
        assert "<!" not in text
        assert "<?" not in text
        root = ET.fromstring(text)
        assert root.get("role") == "img"
        assert root.get("aria-label") == diagram.alt
        ids += [e.get("id", "") for e in root.iter() if e.get("id")]
        drawn = {e.get("id") for e in root.iter(f"{SVG}g")}
        assert {f"{diagram.name}-{n.key}" for n in diagram.nodes} <= drawn
    assert len(ids) == len(set(ids))


def test_png_of_every_diagram() -> None:
    diagrams = all_diagrams(view(SIMPLE))
    pictures = draw_all(diagrams, "png")
    assert list(pictures) == [f"{d.name}.png" for d in diagrams]
    assert all(p.startswith(b"\x89PNG\r\n\x1a\n") for p in pictures.values())


@pytest.mark.parametrize("form", ["svg", "png"])
def test_all_pictures_of_a_format_take_one_run_of_the_program(
    form: drawing.Format, monkeypatch: pytest.MonkeyPatch
) -> None:
    runs: list[object] = []
    real = subprocess.run

    def counted(*args: object, **options: object) -> object:
        runs.append(args)
        return real(*args, **options)  # type: ignore[call-overload]

    monkeypatch.setattr(drawing.subprocess, "run", counted)
    assert len(draw_all(all_diagrams(view(PERSIAN_LINKED)), form)) == 14
    assert len(runs) == 1


def test_without_a_program_dot_files_are_made_and_the_text_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(drawing.PROGRAM_VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(drawing.sys, "executable", str(tmp_path / "python"))
    diagrams = all_diagrams(view(SIMPLE))
    with pytest.raises(NoProgram, match=r"pip install graphviz-pure.* system's Graphviz"):
        draw_all(diagrams, "svg")
    assert list(dot_texts(diagrams)) == [f"{d.name}.dot" for d in diagrams]


def test_the_program_beside_python_is_found_in_an_environment_that_is_not_active(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(drawing.PROGRAM_VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert Path(drawing.find_program()).parent == Path(sys.executable).parent


def test_a_wrong_name_in_the_environment_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(drawing.PROGRAM_VARIABLE, "no-such-program-here")
    with pytest.raises(NoProgram, match="RINGSTEP_DOT names 'no-such-program-here'"):
        draw_all(all_diagrams(view(SIMPLE)), "svg")


def test_a_program_that_fails_is_quoted_with_its_first_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Python itself knows no option -K: it fails and says so.
    monkeypatch.setenv(drawing.PROGRAM_VARIABLE, sys.executable)
    with pytest.raises(NoProgram, match=r"failed: .*-K") as caught:
        draw_all(all_diagrams(view(SIMPLE)), "svg")
    assert "\n" not in str(caught.value)


def test_a_program_that_never_ends_is_stopped(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    stub = tmp_path / "slow"
    stub.write_text(f"#!{sys.executable}\nimport time\ntime.sleep(60)\n", encoding="utf-8")
    stub.chmod(0o755)
    monkeypatch.setenv(drawing.PROGRAM_VARIABLE, str(stub))
    monkeypatch.setattr(drawing, "SECONDS_LEAST", 0.2)
    monkeypatch.setattr(drawing, "SECONDS_EACH", 0.0)
    with pytest.raises(NoProgram, match="was stopped after"):
        draw_all(all_diagrams(view(SIMPLE)), "svg")
