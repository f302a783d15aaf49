"""The page of two runs: both in motion, what differs, two ground lines on one clock."""

import tkinter as tk
from collections.abc import Callable, Sequence
from functools import partial
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.review.compare_actions import choose_athlete_to_compare, lay_over
from tapmark.app.review.two_runs import (
    LEGS_DOWN,
    LEGS_UP,
    HalfView,
    PairGallery,
    Sight,
    both_runs,
)
from tapmark.app.review.view import leaf_row
from tapmark.app.shell.comparing import choose_other, left_and_right
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.columns import browsed
from tapmark.app.widgets.fields import choice
from tapmark.app.widgets.painting import Letters, clear_photo, em_px, paint, window_fonts
from tapmark.app.widgets.pieces import Fresh, box, broken, label, put, surface
from tapmark.marks.days import long_day, run_words, short_day
from tapmark.marks.points import TOE_OFF, TOUCHDOWN
from tapmark.marks.run import ANGLE
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.report.drawing import palette
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.overlay import angle_shapes, mark_shapes, tap_shapes, trail_dot
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, moved
from tapmark.report.pages.content import CompareContent, CompareRow
from tapmark.store.squad import RunAt

TICKS = {"figure": "figures", "lines": "lines and notes", "angles": "angles", "paths": "paths"}
"""What can be drawn over the frames, with its words."""
COUNTED = {"differs": "differ", "moved": "moved", "same": "same", "can't tell": "can't tell"}
COLUMNS = ("first", "second")
NAME_EM, NAME_LINES = 13.0, 2  # that the names keep before the bands are left out
BAND_EM, BAND_MM, LINE_MM = 8.0, 27.0, 5.0


class CompareView(BenchPage):
    """Two runs on the bench: one picture of both, one transport, two ground lines on one clock."""

    zooms = False

    def column(self, column: BenchColumn) -> None:
        self._column, self._fresh = column, Fresh()
        self._rows: tuple[CompareRow, ...] = ()
        look, body, width = self.look, column.body, column.width
        self._fonts, self._em = window_fonts(body), em_px(body)
        column.head.grid_remove()
        leaf_row(column, self.context, "beside")
        body.rowconfigure(3, weight=1)
        self.headline = label(body, 0, style="Head.TLabel", wrap=width, pady=(look.units(0.5), 0))
        self.about = label(body, 1, style="Muted.TLabel", wrap=width)
        line = box(body, 2, grows=1, pady=look.units(0.4))
        self.athlete = choice(line, partial(self._attempt, choose_athlete_to_compare))
        self.run = choice(line, self._choose_run)
        for row, (words, each) in enumerate((("With", self.athlete), ("Run", self.run))):
            label(line, row, words)
            put(each, row, 1, "ew", padx=(look.units(1.5), 0), pady=look.units(0.2))
        inner = box(body, 3, 0, "nsew", grows=0)
        inner.rowconfigure(0, weight=1)
        heads, style = dict.fromkeys(("#0", *COLUMNS), ""), "Beside.Treeview"
        self.table = browsed(inner, 0, self._selected, heads, height=3, style=style)
        for key in COLUMNS:
            self.table.column(key, anchor="e", stretch=False)
        self.table.bind("<Configure>", lambda event: self._lay_out(event.width))
        self._images: list[ImageTk.PhotoImage] = []
        over = box(body, 4, grows=(0, 1), pady=(look.units(0.5), 0))
        label(over, 0, "Over the picture", "Bold.TLabel", columnspan=2)
        self.ticks: dict[str, ttk.Checkbutton] = {}
        for i, (what, words) in enumerate(TICKS.items()):
            change = partial(self._attempt, lay_over, what)
            self.ticks[what] = ttk.Checkbutton(over, text=words, command=change)
            put(self.ticks[what], 1 + i // 2, i % 2, "w").state(["!alternate"])
        self.clocks = TwoClocks(self.bench.large, self.bench.strip.canvas, self.context.state)
        column.action(UPPER_LEFT, "compare by phase", self._phase_words)
        column.action(UPPER_RIGHT, "compare above", self._above_words)
        column.action(LOWER_LEFT, "compare picture", "As picture")

    def _phase_words(self) -> str:
        return "By time" if self.context.state.compare.by_phase else "By key frame"

    def _above_words(self) -> str:
        return "Side by side" if self.context.state.compare.is_above else "Above each other"

    def _attempt(self, action: Callable[[Any, str], None], words: str) -> None:
        self.context.attempt(lambda: action(self.context, words))

    def _choose_run(self, words: str) -> None:
        for where in self.context.state.compare.others:
            if _run_words(where) == words:
                self.context.attempt(partial(choose_other, self.context, where))

    def gallery(self, state: AppState) -> PairGallery | None:
        """Return both runs as one gallery; a new one where either is another."""
        compared, mine = state.compare, state.marking.gallery
        pair = compared.pair if isinstance(compared.pair, PairGallery) else None
        if pair is None or pair.mine is not mine or pair.other is not compared.gallery:
            pair = PairGallery(state, mine, self.context.jobs) if mine else None
            compared.pair = pair
        return pair

    def halves(self, state: AppState, picture: int) -> tuple[HalfView, ...]:
        """Return both runs at a frame of this one."""
        pair = self.gallery(state)
        return pair.halves(picture, state.canvas) if pair else ()

    def below(self) -> tk.Widget:
        return self.clocks.canvas

    def moved(self, state: AppState) -> None:
        self.clocks.show_place(state.marking.picture)

    def still(self, state: AppState, view: Viewport) -> Shapes:
        halves, em = self.halves(state, state.marking.picture), self._em
        shapes: list[Shape] = []
        for half in halves:
            (x, y), where = half.place.left_top, half.one.where
            day, run = short_day(where[1]), run_words(where[2])
            turned = ", turned round" if half.place.mirrored else ""
            leg, room = f"{half.one.run.near_side} leg near", half.place.size[0] - 1.8 * em
            texts = (f"{day}, {run}, {leg}{turned}", f"{day}, {run}{turned}", f"{day}{turned}")
            fit = (text for text in texts if self._fonts.width(text, em, True) <= room)
            for at, text, size in ((1.7, where[0], 1.5), (3.2, next(fit, texts[-1]), 1.0)):
                spot, ink, dark = (x + 0.9 * em, y + at * em), palette.WHITE, palette.CASING
                shapes.append(Label(spot, text, size * em, ink, True, False, "w", dark, 2.0))
            if "lines" in state.compare.over:
                level = y + half.place.size[1] * LEGS_UP / (LEGS_UP + LEGS_DOWN)
                ends = ((x, level), (x + half.place.size[0], level))
                shapes.append(Line(ends, palette.WHITE, 1.0, (3.0, 4.0), palette.CASING, 2.0))
        return tuple(shapes)

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        return self.in_motion(state, view, state.marking.picture)

    def in_motion(self, state: AppState, view: Viewport, picture: int) -> Shapes:
        halves = self.halves(state, picture)
        return tuple(shape for half in halves for shape in self.over(state, half))

    def over(self, state: AppState, half: HalfView) -> Shapes:
        """Return the taps of a key frame; elsewhere joints are seen only where they were tapped."""
        over, frame, unit, place = state.compare.over, half.frame, self.look.unit, half.place
        shapes: list[Shape] = []
        if frame and "figure" in over:
            shapes += tap_shapes(frame, place, unit)
        elif "paths" in over:
            spots = [(path.point, path.at(half.picture)) for path in half.one.sight.paths]
            shapes += [trail_dot(place(at), p, is_past=True, unit=unit) for p, at in spots if at]
        for mark in half.one.run.free_marks:
            is_wanted = ("angles" if mark.kind == ANGLE else "lines") in over
            if mark.picture == half.picture and is_wanted:
                shapes += mark_shapes(mark, place, unit)
        row = self._rows[state.compare.row] if 0 <= state.compare.row < len(self._rows) else None
        if row and frame and "angles" in over:
            is_first = half.place.left_top == (0.0, 0.0)
            told = f"{row.first if is_first else row.second} {row.unit}"
            shapes += angle_shapes(half.one.run, frame, row.key, row.leg, told, place, unit)
        return tuple(shapes)

    def show(self) -> None:
        super().show()
        self._fresh.forget()

    def refresh_column(self) -> None:
        state = self.context.state
        compared, content, where = state.compare, state.compare.content, state.compare.where
        self._column.onward.lead("leave", f"Back to {state.where[0]}", short="Back")
        for what, tick in self.ticks.items():
            tick.state(["selected" if what in compared.over else "!selected"])
        self.clocks.refresh()
        if self._fresh.is_new(where, content, compared.others, state.session.roster):
            self.athlete.configure(values=[athlete.code for athlete in state.session.roster])
            self.athlete.set(where[0] if where else state.where[0])
            self.run.configure(values=[_run_words(each) for each in compared.others])
            self.run.set(_run_words(where) if where else "")
            self._show_content(content, bool(where))

    def _show_content(self, content: CompareContent | None, has_other: bool) -> None:
        self.table.delete(*self.table.get_children())
        self._rows, self._images = content.rows if content else (), []
        if content is None:
            words = "Measuring …" if has_other else "There is no other run of this athlete yet."
            self.headline.configure(text=words)
            self.about.configure(text="")
            return
        counts = [
            f"{n} {words}"
            for word, words in COUNTED.items()
            if (n := sum(row.word == word for row in self._rows))
        ]
        became = [f"{line.name}: {line.word}" for line in content.since]
        notes = *content.refused, *content.labels, *(line.note for line in content.since)
        told = "; ".join(became) or ", ".join(counts)
        self.headline.configure(text=f"{told}." if told else "Both runs in numbers")
        self.about.configure(text=" ".join(filter(None, notes)))
        sides = told_apart(left_and_right(self.context.state))
        for key, words in zip(COLUMNS, sides, strict=True):
            self.table.heading(key, text=words, anchor="e")
        self.table.heading("#0", text="near leg", anchor="w")
        for i, row in enumerate(self._rows):
            self.table.insert("", "end", iid=str(i), values=(row.first, row.second))
        self._lay_out(self.table.winfo_width())
        tested = next((str(i) for i, row in enumerate(self._rows) if row.word), "")
        if content.since and tested:
            self.table.selection_set(tested)
            self.table.see(tested)

    def _lay_out(self, width: int) -> None:
        """Give the values what they need and the names the rest.

        Bands only where names then take two lines at most. Of two visits of one athlete the
        headline has the word of what was tested.
        """
        content = self.context.state.compare.content
        if width < 2 or content is None or not self._rows:
            return
        measure, units = self.look.font("body").measure, self.look.units
        taken = 0
        for key in COLUMNS:
            told = [getattr(row, key) for row in self._rows]
            told.append(str(self.table.heading(key, "text")))
            taken += (need := max(map(measure, told)) + units(1.4))
            self.table.column(key, width=need)
        room = width - taken
        words = content.words

        def names(left: int) -> list[list[str]]:
            made = []
            for row in self._rows:
                name = f"{words.short_row(row.key)}{words.in_brackets(row.foot)}, {row.unit}"
                said = [row.word] if row.word and not content.since else []
                made.append(broken(name, measure, left) + said)
            return made

        named = names(room - units(2 + BAND_EM))
        has_bands = room >= units(NAME_EM + BAND_EM) and max(map(len, named)) <= NAME_LINES
        named = named if has_bands else names(room - units(2))
        self._images = [self._band(row) for row in self._rows] if has_bands else []
        most = max(map(len, named))
        for i, lines in enumerate(named):
            image = self._images[i] if has_bands else ""
            self.table.item(str(i), image=image, text="\n".join(f" {line}" for line in lines))
        tall = most * self.look.font("body").metrics("linespace") + units(0.8)
        self.look.style.configure("Beside.Treeview", rowheight=tall)
        self.table.column("#0", width=room)

    def _band(self, row: CompareRow) -> ImageTk.PhotoImage:
        """Return the band with the left run as an open dot and the right one as a solid one."""
        units = self.look.units
        wide, tall, per_mm = units(BAND_EM), units(4.4), units(BAND_EM) / BAND_MM
        dots = [
            Dot(each.value, each.plus_minus, is_open)
            for each, is_open in zip(row.both, (True, False), strict=True)
            if isinstance(each, Measured)
        ]
        shapes: Shapes = ()
        if row.band:
            drawn = band_shapes(row.band, tuple(dots), BAND_MM - 2.0, LINE_MM)
            shapes += moved(drawn, 0.5, tall / 2 / per_mm)
        fonts = Fonts(per_mm, self._fonts.family)
        return clear_photo(self.table, shapes, (wide, tall), fonts)

    def _selected(self) -> None:
        """Show a row's angle on the pictures, at the last key frame that it needs."""
        state, chosen = self.context.state, self.table.selection()
        i = int(chosen[0]) if chosen else -1
        if i == state.compare.row:
            return
        state.compare.row = i
        if i >= 0:
            row = self._rows[i]
            event = next(reversed(list(catalogue_row(row.key).needs_of(row.leg))), "")
            if state.step.key_frame(event):
                state.go_to(event)
        state.notify()

    def hint(self) -> str:
        state, chosen = self.context.state, self.context.state.compare.row
        if 0 <= chosen < len(self._rows):
            row = self._rows[chosen]
            told = f"{row.name}: {row.first} and {row.second} {row.unit}"
            return f"{told}: {row.word}." if row.word else f"{told}."
        how = "by key frame" if state.compare.by_phase else "by time from touchdown"
        return f"Both go {how}. Space plays, arrows step, 1 to 5 go to a key frame. Escape: back."

    def corner(self) -> str:
        return self.bench.transport.readout or "Same leg length, hips level"


def told_apart(runs: Sequence[RunAt]) -> list[str]:
    """Return short names of runs: their codes; of one athlete the days; of one day the runs."""
    for names in (
        [code for code, _, _ in runs],
        [short_day(dated, with_year=False) for _, dated, _ in runs],
    ):
        if len(set(names)) == len(runs):
            return names
    return [run_words(name) for _, _, name in runs]


def _run_words(where: RunAt) -> str:
    _, dated, name = where
    return f"{long_day(dated)}, {run_words(name)}"


FIRST_EM, ROW_EM = 1.7, 2.5  # from the top to the first ground line, and from one to the next


class TwoClocks:
    """Both steps on one clock from touchdown: contact heavy, flight thin, key frames numbered.

    By key frame, and where times are not known, both stand by their share of the step.
    """

    def __init__(self, parent: tk.Misc, like: tk.Canvas, state: AppState) -> None:
        self._state, self._em, self._fresh = state, em_px(parent), Fresh()
        self._letters = Letters(parent)
        self.canvas = surface(parent, palette.WHITE, has_focus=False)
        self.canvas.configure(height=like.cget("height"))  # nothing moves from page to page
        self.canvas.bind("<Configure>", lambda event: self.refresh())
        self.canvas.bind("<Button-1>", self._pressed)
        self._spots: list[tuple[float, str]] = []
        self._mine: tuple[list[int], list[float]] = [], []

    def refresh(self) -> None:
        """Draw both anew if anything in them changed."""
        state, size = self._state, (self.canvas.winfo_width(), self.canvas.winfo_height())
        runs = [
            (one, [one.seconds_at(f.picture) for f in one.sight.frames]) for one in both_runs(state)
        ]
        event = state.marking.event if state.frame else ""
        drawn = [(one.where, one.sight, times) for one, times in runs]
        if size[0] < 50 or not self._fresh.is_new(drawn, size, event, state.compare.by_phase):
            self.show_place(state.marking.picture)
            return
        em = self._em
        names = told_apart([one.where for one, _ in runs])
        bold, _ = self._letters(em, is_bold=True)
        left = 2.5 * em + max(map(bold.measure, names), default=0)
        right = size[0] - 5 * em
        has_times = all(None not in times for _, times in runs) and not state.compare.by_phase
        self._spots, shapes = [], list[Shape]()
        longest = max((t for _, times in runs for t in times if t is not None), default=0.0)
        for i, (one, times) in enumerate(runs):
            y = (FIRST_EM + ROW_EM * i) * em
            shapes.append(Label((em, y + 0.36 * em), names[i], em, palette.INK, True))
            places = [
                left + (right - left) * (t / (longest or 1.0))
                if has_times and t is not None
                else left + (right - left) * k / max(1, len(times) - 1)
                for k, t in enumerate(times)
            ]
            shapes += self._step(one.sight, places, y, event)
            if times and times[-1] is not None:
                total = f"{1000 * times[-1]:.0f} ms"
                shapes.append(Label((places[-1] + em, y + 0.36 * em), total, em, palette.MUTED))
            if one.is_mine:
                self._mine = [f.picture for f in one.sight.frames], places
        floor = (FIRST_EM + ROW_EM * len(runs) - 1.0) * em
        if has_times and longest:
            for ms in range(0, round(1000 * longest) + 1, 50):
                x = left + (right - left) * ms / (1000 * longest)
                shapes.append(Label((x, floor + em), str(ms), em, palette.MUTED, anchor="c"))
        elif runs:
            words = "key frame by key frame, between two by the same share"
            shapes.append(Label((left, floor + em), words, em, palette.MUTED))
        paint(self.canvas, tuple(shapes), self._letters, "clocks")
        self.show_place(state.marking.picture)

    def _step(self, sight: Sight, places: list[float], y: float, event: str) -> list[Shape]:
        """Return one step: its line, and a stroke and a number for each key frame."""
        em, shapes = self._em, list[Shape]()
        ends = {f.event: x for f, x in zip(sight.frames, places, strict=True)}
        if places:
            line = ((places[0], y), (places[-1], y))
            shapes.append(Line(line, palette.HAIRLINE_DARK, 0.15 * em))
        if TOUCHDOWN in ends and TOE_OFF in ends:
            contact = ((ends[TOUCHDOWN], y), (ends[TOE_OFF], y))
            shapes.append(Line(contact, palette.INK, 0.35 * em))
        last = float("-inf")
        for k, (frame, x) in enumerate(zip(sight.frames, places, strict=True), start=1):
            ink = palette.ACCENT if frame.event == event else palette.INK
            shapes.append(Line(((x, y - 0.5 * em), (x, y + 0.5 * em)), ink, 0.15 * em))
            at = max(x, last + 0.9 * em)
            is_here = frame.event == event
            shapes.append(Label((at, y - 0.8 * em), str(k), 0.95 * em, ink, is_here, anchor="c"))
            self._spots.append((x, frame.event))
            last = at
        return shapes

    def show_place(self, picture: int) -> None:
        """Put the upright line at the moment of a frame of this run."""
        self.canvas.delete("place")
        pictures, places = self._mine
        if len(pictures) < 2:
            return
        k = max(0, min(len(pictures) - 2, sum(p <= picture for p in pictures) - 1))
        span = pictures[k + 1] - pictures[k] or 1
        x = places[k] + (places[k + 1] - places[k]) * (picture - pictures[k]) / span
        tall = (FIRST_EM + ROW_EM + 0.5) * self._em
        if places[0] - 2 * self._em < x < self.canvas.winfo_width():
            fill = palette.ACCENT
            self.canvas.create_line(x, 1.2 * self._em, x, tall, fill=fill, tags="place")

    def _pressed(self, event: Any) -> None:
        if self._spots:
            _, name = min(self._spots, key=lambda spot: abs(spot[0] - event.x))
            self._state.go_to(name)
            self._state.notify()
