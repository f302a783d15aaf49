"""The drawing page: own lines, angles, notes and paths over any frame, with their values."""

from dataclasses import replace
from functools import partial
from tkinter import ttk

from tapmark.app.review import drawing_actions as actions
from tapmark.app.review.actions import read_again
from tapmark.app.review.view import leaf_row
from tapmark.app.shell.why_disabled import waiting_for
from tapmark.app.state.measure_lines import Line, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.columns import browsed
from tapmark.app.widgets.fields import Typed, choice
from tapmark.app.widgets.picture_pane import Hands
from tapmark.app.widgets.pieces import Fresh, box, fold_row, label, mark_chosen, put
from tapmark.app.widgets.table import Cells
from tapmark.marks.run import ANGLE, LINE, NOTE, PATH_POINTS, FreeMark, Run
from tapmark.measures.card import Card
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.free_marks import WHAT, label_of, shown, values_of
from tapmark.measures.paths import SHIN_SWING, path_values, shin_word
from tapmark.measures.result import Measured, Result
from tapmark.report.drawing import palette
from tapmark.report.drawing.overlay import RowShown, mark_shapes, row_shapes, tap_shapes, trail_dot
from tapmark.report.drawing.shapes import Ring, Shape, Shapes
from tapmark.services.visits import card_of

LEAST_ROWS = 3  # of the list, which takes what the column leaves it: its words are to be in sight
TOOLS = ((LINE, "Line  L"), (ANGLE, "Angle  V"), (NOTE, "Note  N"), (actions.PATH, "Path  F"))


class DrawingView(BenchPage):
    """Draw over the frames, and read what that measures beside what the taps do; ungraded."""

    aims = True

    def column(self, column: BenchColumn) -> None:
        self._column, self._fresh, self._values = column, Fresh(), _Values()
        self._read, self._lines = Fresh(), tuple[Line, ...]()
        self._has_dragged = False
        body, look = column.body, self.look
        body.columnconfigure(0, weight=1)
        body.rowconfigure(2, weight=1)
        leaf_row(column, self.context, "draw")
        row = box(body, 0, pady=self.look.units(0.6))
        self.tools = {
            tool: ttk.Button(row, text=text, command=partial(self.context.perform, f"draw {tool}"))
            for tool, text in TOOLS
        }
        fold_row(row, tuple(self.tools.values()), 2, sticky="ew", padx=1, pady=1)
        self._build_path(body)
        listed = box(body, 2, 0, "nsew", grows=0, pady=(look.units(0.8), 0))
        listed.rowconfigure(0, weight=1)
        heads = {"#0": "on this frame", "value": "value ±"}
        self.table = browsed(listed, 0, self._selected, heads, height=LEAST_ROWS)
        self.table.tag_configure("group", font=look.font("bold"))
        self.cells = Cells(self.table, look)
        label(body, 3, "Its words", "Muted.TLabel")
        self.name = put(ttk.Entry(body), 4, 0, "ew", pady=(0, look.units(0.4)))
        self.typed = Typed(self.context, self.name, partial(actions.name_it, self.context))
        self.name.bind("<Return>", lambda event: self._named(), add="+")
        column.action(UPPER_LEFT, "film", "Film", has_key=True)
        column.action(UPPER_RIGHT, "undo")
        column.action(LOWER_LEFT, "delete mark", "Delete")

    def _build_path(self, body: ttk.Frame) -> None:
        row = box(body, 1, grows=1)
        label(row, 0, "Path of", "Muted.TLabel")
        gap, steps = self.look.units(0.5), [str(each) for each in actions.STEPS]
        self.point = choice(row, self._path_chosen, values=PATH_POINTS, width=11)
        put(self.point, 0, 1, "ew", padx=gap)
        label(row, 0, "frames on", "Muted.TLabel", column=2)
        self.by = put(choice(row, self._path_chosen, values=steps, width=2), 0, 3, padx=(gap, 0))

    def _path_chosen(self, words: str) -> None:
        point, by = self.point.get(), int(self.by.get())
        self.context.attempt(lambda: actions.choose_point(self.context.state, point, by))
        self.bench.pane.canvas.focus_set()

    def hands(self) -> Hands:
        state = self.context.state
        return Hands(
            tap=self._tap,
            grab=self._grab,
            over=lambda at, reach: actions.nearest(state, at, reach) if state.run else None,
            drag=self._drag,
            drop=lambda: actions.drop(state),
        )

    def _tap(self, at: Point) -> None:
        state = self.context.state
        found = None if state.review.drawing.tool else self._found
        if found is not None:  # a click on a mark chooses it
            state.review.drawing = replace(state.review.drawing, chosen=found, held=None)
            state.notify()
            return
        self.context.attempt(lambda: actions.press(self.context, at))
        if state.review.drawing.tool == NOTE and state.review.drawing.pressed:
            self.name.delete(0, "end")
            self.name.focus_set()

    def _grab(self, at: Point, reach: float) -> bool:
        state, self._has_dragged = self.context.state, False
        is_near = actions.grab(state, at, reach)
        self._found = state.review.drawing.held[0] if state.review.drawing.held else None
        return is_near

    def _drag(self, at: Point) -> None:
        state, is_first = self.context.state, not self._has_dragged
        self._has_dragged = True
        straight = self.bench.pane.with_shift
        self.context.attempt(
            lambda: actions.drag(state, at, is_straight=straight, is_first=is_first)
        )

    def _named(self) -> None:
        """Return in the field: a note without words is told, and the picture has the keyboard."""
        drawing = self.context.state.review.drawing
        if drawing.tool == NOTE and drawing.pressed:
            self.context.attempt(lambda: actions.name_it(self.context, self.name.get()))
        self.bench.pane.canvas.focus_set()

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        shapes = list(self.in_motion(state, view, state.marking.picture))
        frame, unit = state.frame, self.look.unit
        if state.run and frame and frame.picture == state.marking.picture:
            line = self._line()
            row = RowShown(line.key, line.leg, line.short) if line else None
            figure = (
                partial(row_shapes, state.run, frame, row) if row else partial(tap_shapes, frame)
            )
            shapes = [*figure(view.to_canvas, unit, view.canvas), *shapes]
        chosen = self._chosen(state)
        if chosen and chosen.picture == state.marking.picture:
            at = view.to_canvas(chosen.at_px[0])
            shapes.append(
                Ring(at, 11 * unit, None, palette.WHITE, 2 * unit, palette.CASING, 5 * unit)
            )
        for each in state.review.drawing.pressed:
            shapes += mark_shapes(FreeMark("", 0, (each,)), view.to_canvas, unit)
        return tuple(shapes)

    def _chosen(self, state: AppState) -> FreeMark | None:
        i, marks = state.review.drawing.chosen, state.run.free_marks if state.run else ()
        return marks[i] if i is not None and i < len(marks) else None

    def in_motion(self, state: AppState, view: Viewport, picture: int) -> Shapes:
        """Return the own marks of a frame and the paths, solid as far as they are passed."""
        run, unit = state.run, self.look.unit
        if run is None:
            return ()
        shapes: list[Shape] = []
        if run.set_up.is_static:
            for path in run.paths:
                for each in path.places:
                    at, is_past = view.to_canvas(each.at_px), each.picture <= picture
                    shapes.append(trail_dot(at, path.point, is_past=is_past, unit=unit))
        for mark in run.free_marks:
            if mark.picture == picture:
                text = label_of(self._values.of_mark(state, run, mark))
                shapes += mark_shapes(mark, view.to_canvas, unit, text)
        return tuple(shapes)

    def show(self) -> None:
        super().show()
        self._fresh.forget()

    def refresh_column(self) -> None:
        state, drawing = self.context.state, self.context.state.review.drawing
        frame = state.frame
        here = frame is not None and frame.picture == state.marking.picture
        self._column.title.configure(text=frame.event.capitalize() if frame and here else "Drawing")
        self._column.count.configure(text=f"frame {state.marking.picture + 1}")
        for tool, button in self.tools.items():
            mark_chosen(button, tool == drawing.tool)
        self.point.set(drawing.point)
        self.by.set(str(drawing.by))
        if state.run and drawing.held is None:
            if self._read.is_new(state.run.steps, state.run.set_up):  # a mark changes no measure
                read_again(self.context)
            self._refresh_list(state, state.run)
        if not (drawing.tool == NOTE and drawing.pressed):
            chosen = self._chosen(state)
            self.typed.fill(chosen.words if chosen else "")
        self._column.onward.lead("page sheet", "Sheet")

    def _refresh_list(self, state: AppState, run: Run) -> None:
        picture, reading = state.marking.picture, state.review.reading
        of = run.free_marks, run.paths, run.steps, run.set_up, picture, reading
        if not self._fresh.is_new(*of):
            return
        self.cells.clear()
        self._lines = self._measured_here(state)
        insert = self.cells.insert
        for i, mark in enumerate(run.free_marks):
            quiet, name = () if mark.picture == picture else ("quiet",), mark.words or mark.kind
            insert(f"m {i}", (f"frame {mark.picture + 1}",), f" {name}", quiet)
            for j, result in enumerate(self._values.of_mark(state, run, mark)):
                insert(f"w {i} {j}", (shown(result),), f"    {WHAT[result.key]}", quiet)
        for path in run.paths:
            n = f"{len(path.places)} places"
            insert(f"p {path.point}", (n,), f" path of the {path.point}")
        for j, (what, result) in enumerate(self._values.of_paths(state, run)):
            text = shown(result)
            if isinstance(result, Measured) and result.key == SHIN_SWING:
                text = f"{text}, {shin_word(result)}"
            insert(f"v {j}", (text,), f"  {what}", () if "±" in text else ("quiet",))
        if reading and self._lines:
            insert("measured", ("",), "measured here", ("group",))
        elif reading:
            insert("none", ("",), "no values between key frames", ("quiet",))
        for i, line in enumerate(self._lines):
            insert(f"r {i}", (line.printed,), f" {line.measure}")
        self.cells.lay_out()

    def _measured_here(self, state: AppState) -> tuple[Line, ...]:
        """Return the measures that are shown at this key frame: the last that each one needs."""
        reading, frame = state.review.reading, state.frame
        if reading is None or frame is None or frame.picture != state.marking.picture:
            return ()
        return tuple(
            replace(line, measure=reading.criteria.words.short_row(line.key))
            for line in lines_of(reading)
            if line.key and [*catalogue_row(line.key).needs_of(line.leg)][-1] == frame.event
        )

    def _line(self) -> Line | None:
        """Return the measure that is chosen in the list."""
        kind, *rest = self.table.selection()[0].split() if self.table.selection() else ("",)
        return self._lines[int(rest[0])] if kind == "r" else None

    def _selected(self) -> None:
        chosen = self.table.selection()
        kind, *rest = chosen[0].split() if chosen else ("",)
        state = self.context.state
        if kind in ("m", "w"):
            i = int(rest[0])
            at_hand = state.the_run.free_marks[i].picture, state.review.drawing.chosen
            if at_hand != (state.marking.picture, i):
                self.context.attempt(lambda: actions.to_mark(state, i))
            if kind == "w" and state.run:
                results = self._values.of_mark(state, state.run, state.run.free_marks[i])
                self._tell(results[int(rest[1])])
        elif line := self._line():
            words = (f"{line.name}: {line.printed}.", line.why or f"± mostly {line.mostly}.")
            state.status = " ".join(words)
            state.notify()
        elif kind == "v" and state.run:
            self._tell(self._values.of_paths(state, state.run)[int(rest[0])][1])

    def _tell(self, result: Result) -> None:
        if isinstance(result, Measured):
            words = f"± mostly {result.mostly}; {result.not_graded}."
        else:
            words = result.reason
        self.context.state.status = words
        self.context.state.notify()

    def hint(self) -> str:
        state = self.context.state
        why = waiting_for(state) if state.run else ""
        return why or actions.HINTS.get(
            state.review.drawing.tool,
            "Choose a tool: L line, V angle, N note, F path. Escape: back.",
        )


class _Values:
    """What marks and paths measure, worked out once for each."""

    def __init__(self) -> None:
        self._of: tuple[object, ...] = ()
        self._card = Card()
        self._marks: dict[FreeMark, tuple[Result, ...]] = {}
        self._paths: tuple[tuple[str, Result], ...] | None = None

    def _renew(self, state: AppState, run: Run) -> None:
        of = (run.steps, run.set_up, run.view, run.paths)
        if of != self._of:
            self._of, self._marks, self._paths = of, {}, None
            self._card = card_of(state.squad, [run]) if state.squad else Card()

    def of_mark(self, state: AppState, run: Run, mark: FreeMark) -> tuple[Result, ...]:
        """Return what a mark measures."""
        self._renew(state, run)
        if mark not in self._marks:
            self._marks[mark] = values_of(run, mark, self._card)
        return self._marks[mark]

    def of_paths(self, state: AppState, run: Run) -> tuple[tuple[str, Result], ...]:
        """Return what the paths say about the step at hand."""
        self._renew(state, run)
        if self._paths is None:
            i_step = min(state.marking.i_step, len(run.steps) - 1)
            self._paths = path_values(run, i_step, self._card)
        return self._paths
