"""The rings beside the text: a slider over the steps, their pictures, and rings to be turned."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from ringstep.table.ring_data import RingData, Step
from ringstep.table.ring_space import CAN_TURN, RingSpace

_OF_RING = '(e) => { const r = e.target.closest("[data-ring]"); if (r) emit(r.dataset.ring); }'
_SLID = "(e) => emit(e.target.value)"
# as a property it would be put back while it is moved
_SLIDE = (
    "setTimeout(() => {{ const s = getHtmlElement({}); if (!s) return;"
    " Object.assign(s, {}); s.setAttribute('aria-valuetext', {}); }})"
)
_PLAIN = "To be turned by hand, parts are plain balls and boxes of their size, without holes."
_NO_SPACE = "This browser cannot show rings to be turned by hand, so the pictures stay."
_TIP = "A click on a ring leads to the step that put it in."
_DRAG = "Drag to turn; the wheel or two fingers bring it nearer."
_WORKING = "The rings are being worked out."
_OF_BEFORE = "The rings of the text as it is now are being worked out; these are of the one before."
_DONE = {"fold": "folded", "spread": "spread apart", "turn": "turned over"}


class RingPanel:
    """Shows one `RingData`, a step at a time.

    on_step: is given the line of the recipe whose step is shown, where the maker chose it here.
    """

    def __init__(self, on_step: Callable[[int], None]) -> None:
        self._on_step = on_step
        self._data = RingData((), False)
        self._at = 0
        self._old = False  # what is shown is of an earlier text
        self._space: RingSpace | None = None
        with ui.column().classes("ring-panel"):
            self._status = ui.label().props('role="status"')
            with ui.row().classes("ring-bar"):
                self._back = _button("Step before", lambda: self._go(self._at - 1))
                self._slider = ui.element("input").classes("ring-slider")
                self._slider.props('type="range" min="1" aria-label="Step of the work"')
                self._slider.on("input", self._slid, throttle=0.05, js_handler=_SLID)
                self._on = _button("Step after", lambda: self._go(self._at + 1))
            with ui.element("div").props('aria-live="polite"'):
                self._place = ui.label().classes("message")
                self._sentence = ui.label()
                self._hint = ui.label().classes("quiet")
            with ui.row().classes("ring-names"):
                self._turn = _button("Turn by hand", self._turn_by_hand)
                self._reset = _button("View as at first", self._look)
                self._tip = ui.label().classes("quiet")
            self._pictures = ui.element("div").classes("ring-pictures")
            self._room = ui.element("div").classes("ring-space")
            self._names = ui.row().classes("ring-names")
            self._told = ui.label().classes("quiet help")
        self._draw()

    # -- what the page says ----------------------------------------------------------------------

    def show(self, data: RingData) -> None:
        """Show these steps, as near as may be to the one shown now."""
        if self._data.whole and self._data.steps and not data.whole:
            self.waiting(_OF_BEFORE)
            return
        here = self._step
        self._data, self._at, self._old = data, 0, False
        if here is not None and data.steps:
            steps = enumerate(data.steps)
            near = ((abs(s.line - here.line), s.place != here.place, n) for n, s in steps)
            self._at = min(near)[2]
        self._status.text = "" if data.whole else _WORKING
        if not data.turn or not data.steps:
            self._leave_space()
        self._draw()

    def go_to_line(self, line: int) -> None:
        """Show the step that stands in this line of the recipe, if one does."""
        here, steps = self._step, self._data.steps
        found = [n for n, s in enumerate(steps) if s.line <= line <= s.last_line]
        if here is not None and found:
            place = here.place
            near = min(found, key=lambda n: (steps[n].place != place, abs(n - self._at)))
            self._go(near, tell=False)

    def waiting(self, words: str) -> None:
        """What is shown, if anything is, is of an earlier text."""
        self._status.text, self._old = words if self._data.steps else "", True
        self._fade()

    def trouble(self, words: str) -> None:
        """There is nothing to show; the words say why."""
        self._data, self._at, self._old = RingData((), True), 0, False
        self._leave_space()
        self._draw()
        self._status.text = words

    # -- a step ----------------------------------------------------------------------------------

    @property
    def _step(self) -> Step | None:
        return self._data.steps[self._at] if self._data.steps else None

    def _slid(self, event: GenericEventArguments) -> None:
        self._go(int(event.args) - 1)

    def _go(self, at: int, tell: bool = True) -> None:
        at = max(0, min(at, len(self._data.steps) - 1))
        if at == self._at or not self._data.steps:
            return
        self._at = at
        self._draw()
        if tell:
            self._on_step(self._data.steps[at].line)

    def _draw(self) -> None:
        """Everything as the step that is shown has it."""
        step, count = self._step, len(self._data.steps)
        self._back.set_enabled(self._at > 0)
        self._on.set_enabled(self._at + 1 < count)
        place = f", {step.place}" if step and step.place else ""
        told = f"Step {step.number}{place}: picture {self._at + 1} of {count}" if step else ""
        self._place.text = told
        state = {"max": max(count, 1), "value": self._at + 1, "disabled": count < 2}
        ui.run_javascript(_SLIDE.format(self._slider.id, json.dumps(state), json.dumps(told)))
        self._sentence.text = step.sentence if step else ""
        self._hint.text = f"Hint: {step.hint}" if step and step.hint else ""
        self._tip.text = _TIP if self._space is None else _DRAG
        self._tip.set_visibility(bool(self._data.turn))
        plain = self._space is not None and step is not None and any(r.body for r in step.rings)
        self._told.text = "\n".join([*self._data.told, *[_PLAIN] * plain])
        self._turn.set_visibility(bool(self._data.turn))
        self._turn.text = "Turn by hand" if self._space is None else "Back to the pictures"
        self._reset.set_visibility(self._space is not None)
        self._pictures.set_visibility(self._space is None)
        self._name_rings(step)
        if self._space is not None and step is not None:
            self._space.show(self._data, step)
        elif step is not None:
            self._draw_pictures(step)
        else:
            self._pictures.clear()
        self._fade()

    def _draw_pictures(self, step: Step) -> None:
        self._pictures.clear()
        told = f"before step {step.number}, with arrows for what it does"
        with self._pictures:
            for picture, words, short in (
                (step.earlier, told, "before"),
                (step.later, step.words, "after" if step.earlier else ""),
            ):
                if picture:
                    with ui.element("figure"):
                        # our own drawing, its words escaped where they were put in
                        shown = ui.html(picture, sanitize=False)
                        shown.props["role"], shown.props["aria-label"] = "img", words
                        shown.on("click", lambda e: self._clicked(e.args), js_handler=_OF_RING)
                        ui.label(short)

    def _name_rings(self, step: Step | None) -> None:
        """The rings that the step is about, each a way to the step that placed it."""
        self._names.clear()
        if step is None:
            return
        how = dict.fromkeys(step.new, "new") | {mark: _DONE[move] for mark, move in step.moved}
        with self._names:
            for mark, name in step.names:
                words = f"{name}, {how[mark]}" if mark in how else f"through {name}"
                _button(words, partial(self._clicked, mark)).props("flat dense")

    def _clicked(self, mark: str) -> None:
        """A ring was clicked: show the step that placed it, and say its line."""
        line = next((line for ring, _, line in self._data.rings if ring == mark), 0)
        if not line:
            return
        steps = enumerate(self._data.steps)
        found = [(mark not in s.new, abs(n - self._at), n) for n, s in steps if s.line == line]
        if found:
            self._go(min(found)[2], tell=False)
        self._on_step(line)

    def _fade(self) -> None:
        """Pale where what is shown is of an earlier text."""
        for shown in (self._pictures, self._room, self._names):
            if ("ring-old" in shown.classes) is not self._old:
                shown.classes(toggle="ring-old").props["aria-busy"] = str(self._old).lower()
                shown.update()

    # -- turned by hand --------------------------------------------------------------------------

    def _look(self) -> None:
        if self._space is not None:
            self._space.look()

    async def _turn_by_hand(self) -> None:
        """The rings in space in place of the pictures, or back."""
        if self._space is not None:
            self._leave_space()
        elif self._step and await ui.run_javascript(CAN_TURN, timeout=5):
            with self._room:
                self._space = RingSpace(self._data, self._step, self._clicked)
        else:
            self._status.text = _NO_SPACE
            return
        self._draw()

    def _leave_space(self) -> None:
        if self._space is not None:
            self._space.close()
            self._space = None


def _button(words: str, pressed: Callable[[], Any]) -> ui.button:
    return ui.button(words, on_click=pressed, color=None).props("outline no-caps no-wrap")
