"""The Film page: the clip, what the file says, and the questions about filming."""

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.film.actions import (
    TOPS,
    change_view,
    choose_top,
    found_rate,
    press,
    take_reading,
    use_rate,
    why_not_filmed,
)
from tapmark.app.film.questions import FIVE, FiveQuestions, cost_words, limits, open_questions
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer, answer_rate, rate_choices, rate_words
from tapmark.app.shell.runs import around, read_all, read_part
from tapmark.app.state.form import FieldTrouble, number
from tapmark.app.state.frames_wanted import LongClip
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.bench import (
    LOWER_LEFT,
    UPPER_LEFT,
    UPPER_RIGHT,
    BenchColumn,
    BenchPage,
    box_overlay,
    press_ring,
    runner_hands,
)
from tapmark.app.widgets.fields import Typed, choice, tried, write_in
from tapmark.app.widgets.picture_pane import Hands
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Panel,
    W,
    box,
    broken,
    emptied,
    label,
    put,
    say,
    show,
)
from tapmark.errors import StopwatchUnusable
from tapmark.marks.points import VIEWS
from tapmark.marks.run import SetUp
from tapmark.report.drawing import palette
from tapmark.report.drawing.overlay import reference_shapes
from tapmark.report.drawing.shapes import Label, Shapes
from tapmark.services.true_rate import rate_words as true_rate_words

SAME_PLACE = "Pole and scale are those of the last pass. Mark them again if the camera was moved."


class FilmView(BenchPage):
    """The clip and the questions about filming; a stopwatch takes their place."""

    wants_full = False
    _was_shown: "FiveQuestions | MoreQuestions | StopwatchPanel | None" = None

    def column(self, column: BenchColumn) -> None:
        context, look, place = self.context, self.look, self.bench.place
        self.empty = ttk.Frame(place)
        pad = 0, look.units(2)
        style, wide = "Head.TLabel", look.units(45)
        self.empty_words = label(self.empty, 0, "", style, wrap=wide, sticky="", pady=pad)
        opener = partial(ActionButton, self.empty, context, look)
        self.openers = [opener(name) for name in ("open clip", "open folder", "open stills")]
        for row, made in enumerate(self.openers, start=1):
            put(made, row, 0, "ew", pady=look.units(0.4))
        consent = opener("enter consent", is_primary=True)
        self.consent = put(consent, 4, 0, "ew", pady=(look.units(2), 0))
        self.part = PartPanel(place, context, look)
        self.column_ = column
        column.body.rowconfigure(0, weight=1)
        self.five = FiveQuestions(column, context, look)
        self.more = MoreQuestions(column.body, context, look, column.width)
        self.stopwatch = StopwatchPanel(column.body, context, look, column.width)
        for panel in (self.five, self.more, self.stopwatch):
            put(panel.frame, 0, 0, "new").grid_remove()
        column.action(UPPER_LEFT, "open clip", "Open a clip…", short="Clip…")
        column.action(UPPER_RIGHT, "open folder", "Open stills…", short="Stills…")
        self.back = column.action(LOWER_LEFT, "film questions", "Five questions", short="Back")
        last = partial(column.action, has_key=True, short="Last")
        self.last = last(LOWER_LEFT, "as last time", "As last time")
        self.pass_ = column.action(LOWER_LEFT, "another pass", "Another pass", has_key=True)

    def fit(self, tall: float) -> None:
        self.five.close(tall)

    def hands(self) -> Hands:
        """A press marks the pole or the scale while one is asked for, else the runner's hip."""
        context, hands = self.context, runner_hands(self.context)
        see, box = hands.tap, hands.box

        def tap(at: Point) -> object:
            is_asked = context.state.film.picking
            return context.attempt(lambda: press(context, at)) if is_asked else see(at)

        def unless_asked(action: Callable[..., Any]) -> Callable[..., Any]:
            return lambda *where: not context.state.film.picking and action(*where)

        hands.tap, hands.grab = tap, unless_asked(hands.grab)
        hands.over = unless_asked(hands.over)
        hands.box = box and unless_asked(box)
        return hands

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        """Pole and scale, and the box round the runner."""
        unit = self.look.unit
        return _marked(state, view, unit) + box_overlay(state, view, unit)

    def still(self, state: AppState, view: Viewport) -> Shapes:
        """Return what the clip can and cannot give, in the upper left corner of the picture."""
        if state.film.picking or state.film.stopwatch:
            return ()
        look, measure = self.look, self.look.font("bold").measure
        size, at = float(look.units(1.7)), float(look.units(1.5))
        room, cased = view.canvas[0] - 2 * look.units(2), (palette.CASING, 2 * look.unit)
        lines = [line for said in limits(state) for line in broken(said, measure, room)]
        shapes = []
        for i, line in enumerate(lines):
            spot = at, at + size + i * 1.35 * size
            shapes.append(Label(spot, line, size, palette.WHITE, True, False, "w", *cased))
        return tuple(shapes)

    def cover(self, state: AppState) -> ttk.Frame | None:
        """Return the buttons that open a clip, or the choice of a part of a long one."""
        if state.film.long_clip:
            self.part.refresh(state.film.long_clip)
            return self.part.frame
        gallery = state.marking.gallery
        if gallery and len(gallery.pictures):
            return None
        without = "Choose an athlete on Squad and start a visit."
        words = "Open a clip or a folder of stills." if state.run else without
        lacks = why_not_filmed(self.context)
        self.empty_words.configure(text=lacks or words)
        show(self.consent, bool(lacks))
        return self.empty

    def refresh_column(self) -> None:
        """Show the five questions, the others, or the stopwatch."""
        state = self.context.state
        shown: FiveQuestions | MoreQuestions | StopwatchPanel | None = None
        title, count = "Film", ""
        if state.film.stopwatch:
            shown, title = self.stopwatch, "True rate"
        elif state.run and state.film.more:
            shown, title = self.more, "More about this film"
        elif state.run:
            shown, title = self.five, "Five questions"
            count = f"{len(FIVE) - len(open_questions(state))} of {len(FIVE)}"
        for panel in (self.five, self.more, self.stopwatch):
            if panel is not shown:
                panel.frame.grid_remove()
        if shown is not self._was_shown:
            self.column_.canvas.yview_moveto(0)
            self._was_shown = shown
        if shown:
            shown.frame.grid()
            shown.refresh(state)
        shows_pass = self.pass_.is_available and not self.last.is_available
        here = self.back if shown is self.more else self.pass_ if shows_pass else self.last
        for button in (self.back, self.pass_, self.last):
            show(button, button is here)
        self.column_.onward.lead("page frames", "Choose key frames", short="Frames")
        self.column_.title.configure(text=title)
        self.column_.count.configure(text=count)

    def hint(self) -> str:
        state = self.context.state
        if state.film.long_clip:
            return "The rest of the clip stays where it is; Escape leaves without reading."
        if state.film.stopwatch:
            return "Arrow keys and the bar go through the frames; Escape leaves."
        if not state.marking.gallery:
            has_pole = state.run and state.run.set_up.upright_px
            return SAME_PLACE if has_pole else "Film three passes each way; one is enough to begin."
        told = self.five.unsaid() or cost_words(state)
        if told:
            return told
        if state.runner() is None:
            return "Draw a box round the runner, head to shoes: the picture follows."
        return "All five are answered. Then the key frames, F4."


def _marked(state: AppState, view: Viewport, unit: float) -> Shapes:
    """Return pole and scale as they are marked, and the press just made, in canvas px."""
    if state.run is None:
        return ()
    return reference_shapes(state.run.set_up, view.to_canvas, unit) + tuple(
        press_ring(view.to_canvas(at), unit) for at in state.film.picked
    )


ACROSS = 5
WIDE_EM = 19


class PartPanel(Panel):
    """Stands in the place of the frame until a part of a long clip is chosen."""

    def build(self, frame: ttk.Frame) -> None:
        context, look, gap = self.context, self.look, self.look.units(1)
        self._part_shown, self._photos = Fresh(), list[ImageTk.PhotoImage]()
        self.words = label(frame, 0, wrap=look.units(WIDE_EM * ACROSS), pady=(0, gap))
        self.grid = put(ttk.Frame(frame), 1, 0, "w")
        row = box(frame, 2, grows=4, pady=(gap, 0))
        self.fields: dict[str, ttk.Entry] = {}
        for column, key, words in ((0, "start", "From, s"), (2, "end", "To, s")):
            label(row, 0, words, column=column, padx=(0, look.units(0.8)))
            field = put(ttk.Entry(row, width=8), 0, column + 1, padx=(0, look.units(1.6)))
            field.bind("<Return>", lambda event: self._read())
            self.fields[key] = field
        whole = partial(context.attempt, partial(read_all, context))
        self.whole = put(ttk.Button(row, text="Read all of it", command=whole), 0, 5, padx=gap)
        self.part = put(ttk.Button(row, text="Read this part", command=self._read), 0, 6)
        self.trouble = label(frame, 3, style="Error.TLabel")

    def _read(self) -> None:
        try:
            read_part(self.context, self.fields["start"].get(), self.fields["end"].get())
        except FieldTrouble as trouble:
            self.trouble.configure(text=str(trouble))
            self.fields[trouble.field].state(["invalid"])
            return
        self.context.state.notify()

    def refresh(self, found: LongClip) -> None:
        """Show the clip and the part that is offered."""
        if self.fresh.is_new(found.wish):
            self._show_strip(found)
        if self._part_shown.is_new(found.start_s, found.end_s):
            for key, value in (("start", found.start_s), ("end", found.end_s)):
                self.fields[key].state(["!invalid"])
                write_in(self.fields[key], f"{value:.1f}")
            self.trouble.configure(text="")

    def _show_strip(self, found: LongClip) -> None:
        self.words.configure(text=found.words)
        grid, side = emptied(self.grid), self.look.units(WIDE_EM - 2)
        self._photos = []
        for i, (at_s, image) in enumerate(found.strip):
            small = image.copy()
            small.thumbnail((side, side))
            photo = ImageTk.PhotoImage(small, master=self.frame)
            self._photos.append(photo)
            choose = partial(self.context.attempt, partial(around, self.context, at_s))
            made = ttk.Button(grid, image=photo, text=f"{at_s:.0f} s", command=choose)
            made.configure(compound="top", style="Quiet.TButton")
            put(made, *divmod(i, ACROSS), padx=self.look.units(0.3))


ABOUT = (
    "Film a running stopwatch once with each phone, in the slow motion you use. Go to a frame "
    "where it can be read, type what it shows, and take it. Then go on by ten seconds of the "
    "watch or more, and take a second reading."
)


class StopwatchPanel(Panel):
    """Two readings, what they say, and the name of the phone that is kept with the squad."""

    grows = 1

    def build(self, frame: ttk.Frame) -> None:
        context, look, gap = self.context, self.look, self.look.units(0.8)
        line = partial(label, frame, wrap=self.width, columnspan=3)
        line(0, "True rate with a stopwatch", "Head.TLabel")
        line(1, ABOUT, "Muted.TLabel", pady=(look.units(0.3), look.units(1.2)))
        take, use = partial(take_reading, context.state), partial(use_rate, context)
        self.shown, self.take = self._row(2, "The watch shows", "Take reading", take)
        self.taken = line(3, pady=gap)
        self.phone, self.use = self._row(4, "Name of the phone", "Use and keep", use)
        self.trouble = line(5, "", "Error.TLabel", pady=(gap, 0))
        leave = ttk.Button(self.frame, text="Cancel", command=partial(context.perform, "leave"))
        put(leave, 6, 2, "e", pady=(look.units(1.6), 0))

    def _row(
        self, row: int, words: str, button: str, take: Callable[[str], None]
    ) -> tuple[ttk.Entry, ttk.Button]:
        """Place words, a field and the button that takes what was typed in it."""

        def press() -> None:
            if tried(self.context, lambda: take(entry.get()), entry, self.trouble):
                self.context.state.notify()
                return
            self._mend()
            entry.delete(0, "end")
            self.context.attempt(lambda: None)

        gap = self.look.units(0.8)
        label(self.frame, row, words, padx=(0, gap))
        entry = put(ttk.Entry(self.frame, width=10), row, 1, "ew")
        entry.bind("<Return>", lambda event: press())
        made = ttk.Button(self.frame, text=button, command=press, width=13)
        return entry, put(made, row, 2, "e", padx=(gap, 0))

    def _mend(self) -> None:
        for field in (self.shown, self.phone):
            field.state(["!invalid"])
        self.trouble.configure(text="")

    def refresh(self, state: AppState) -> None:
        """Show the readings and what they say."""
        watch = state.film.stopwatch
        if self.fresh.is_new(watch):
            self.taken.configure(text=taken_words(state))
            for widget in (self.phone, self.use):
                widget.state(["!disabled" if watch and watch.is_whole else "disabled"])
        if not self.frame.winfo_ismapped():
            self._mend()
            self.shown.focus_set()


def taken_words(state: AppState) -> str:
    """Return the readings taken so far, a line each, and the rate that follows from two."""
    readings = state.film.stopwatch.readings if state.film.stopwatch else ()
    lines = [f"Frame {each.picture + 1} shows {each.shown_s:.2f} s." for each in readings]
    try:
        found = found_rate(state)
        lines += [true_rate_words(found)] if found else []
    except StopwatchUnusable as trouble:
        lines.append(str(trouble))
    return "\n".join(lines) or "No reading yet."


NUMBERS = {  # field -> (words, low, high)
    "camera_distance_m": ("camera distance, m", 1, 100),
    "scale_m": ("scale, m", 0.1, 50),
    "leg_cm": ("leg length, cm", 50, 130),
    "effort": ("effort, 1 to 10", 1, 10),
    "speed_mps": ("speed, m/s", 1, 13),
}


class MoreQuestions(Panel):
    """What else can be told of a film: a form that keeps each answer at once."""

    grows = 1

    def build(self, frame: ttk.Frame) -> None:
        look, width = self.look, self.width
        self.entries: dict[str, ttk.Entry] = {}
        self._fill: list[Callable[[SetUp], None]] = []
        self._row = 0
        self.title = self._line("Head.TLabel")
        pad = look.units(0.3), look.units(0.8)
        self.notes = self._line("Muted.TLabel", wrap=width, pady=pad)
        self.view = self._list("Seen from", VIEWS, change_view)
        self.top = self._list("Top of trunk", TOPS, choose_top)
        self._tick("the picture is mirrored", "mirrored", "is_mirrored")
        self.side = self._line("Bold.TLabel", pady=(0, look.units(0.6)))
        self.rate = self._place(ttk.Combobox(frame, width=8), "Filmed at (fps)")
        self._rate = Typed(self.context, self.rate, partial(self._keep_typed, "rate"))
        self.rate.bind("<<ComboboxSelected>>", lambda event: self._rate.commit())
        named = "stopwatch", "With a stopwatch…"
        self._wide(ActionButton(frame, self.context, look, *named))
        self._field("Distance, m", "camera_distance_m")
        self._field("Scale, m", "scale_m")
        self._place_picks()
        self._field("Leg length, cm", "leg_cm")
        self._field("Effort, 1–10", "effort")
        self._field("Speed, m/s", "speed_mps")
        self._tick("has grown since", "growth", "has_grown")
        for field in ("zone", "shoes", "surface", "wind"):
            self._field(field.capitalize(), field)
        self.trouble = self._line("Error.TLabel", wrap=width)

    def _next(self) -> int:
        self._row += 1
        return self._row

    def _line(self, style: str, *, wrap: int = 0, pady: int | tuple[int, int] = 0) -> ttk.Label:
        """Place words over the whole width."""
        return label(self.frame, self._next(), "", style, wrap=wrap, columnspan=2, pady=pady)

    def _place(self, widget: W, words: str) -> W:
        """Place a widget behind its words."""
        row, units = self._next(), self.look.units
        label(self.frame, row, words, padx=(0, units(1.2)))
        return put(widget, row, 1, "ew", pady=units(0.42))

    def _wide(self, widget: W, sticky: str = "ew") -> W:
        """Place a widget over the whole width."""
        pad = self.look.units(0.42) if sticky == "ew" else 0
        return put(widget, self._next(), 0, sticky, columnspan=2, pady=pad)

    def _list(
        self, words: str, choices: tuple[str, ...], keep: Callable[[Context, str], None]
    ) -> ttk.Combobox:
        """Place a list to choose from; what is chosen is kept at once."""

        def chosen(value: str) -> None:
            self.context.attempt(lambda: keep(self.context, value))

        return self._place(choice(self.frame, chosen, values=choices, width=8), words)

    def _place_picks(self) -> None:
        """Place the buttons for what is marked in the frame."""
        row = self._wide(ttk.Frame(self.frame))
        for i, (name, text) in enumerate((("mark pole", "Pole"), ("mark scale", "Scale"))):
            row.columnconfigure(i, weight=1, uniform="half")
            words = partial(self._pick_words, text)
            pick = ActionButton(row, self.context, self.look, name, words)
            put(pick, 0, i, "ew", padx=0 if i else (0, self.look.units(0.5)))

    def _pick_words(self, what: str) -> str:
        """Return whether pole or scale is marked, or being marked."""
        state = self.context.state
        if state.film.picking == what.lower():
            return "Press twice …"
        set_up = state.run.set_up if state.run else SetUp()
        marked = set_up.upright_px if what == "Pole" else set_up.scale_px
        return f"{what} ✓" if marked else f"Mark {what.lower()}"

    def _tick(self, words: str, name: str, field: str) -> None:
        """Place a box to tick; name: what the answer is called in Undo."""
        value = tk.BooleanVar(self.frame, False)
        self._fill.append(lambda set_up: value.set(getattr(set_up, field)))
        tick = ttk.Checkbutton(self.frame, text=words, variable=value)
        tick.configure(command=lambda: self._keep(name, **{field: value.get()}))
        self._wide(tick, "w")

    def _field(self, words: str, field: str) -> None:
        """Place a field to type an answer in."""
        entry = self.entries[field] = self._place(ttk.Entry(self.frame, width=6), words)
        typed = Typed(self.context, entry, partial(self._keep_typed, field))
        self._fill.append(partial(_fill, typed, field))

    def _keep(self, name: str, **answers: object) -> None:
        self.context.attempt(lambda: answer(self.context.state, name, **answers))

    def _keep_typed(self, field: str, text: str) -> str:
        """Keep what was typed; return why it cannot be used, also told below, "" when it can."""
        why = ""
        try:
            if field in NUMBERS:
                self._keep_number(field, text)
            elif field != "rate":
                self._keep(field, **{field: text.strip()})
                return ""
            elif text != rate_words(self.context.state):
                answer_rate(self.context, text)
        except FieldTrouble as trouble:
            why = str(trouble)
        self.trouble.configure(text=why)
        return why

    def _keep_number(self, field: str, text: str) -> None:
        words, low, high = NUMBERS[field]
        value = number(text, field, words, low, high)
        answers: dict[str, object] = {field: value}
        if field == "effort" and value is not None:
            answers = {field: round(value)}
        if field == "leg_cm":
            answers["leg_source"] = "tape" if value else ""
        self._keep(words, **answers)

    def refresh(self, state: AppState) -> None:
        """Show the answers as they stand; a field being typed in keeps its text."""
        run, gallery = state.run, state.marking.gallery
        if run is None:
            return
        set_up = run.set_up
        name, *notes = (gallery.pictures.name, *gallery.notes) if gallery else ("", "")
        rate = rate_words(state)
        if self.fresh.is_new(state.at_hand(), set_up, run.view, name, notes, rate):
            self.title.configure(text=name or "Filming")
            say(self.notes, "\n".join(notes))
            mirrored = ", because the picture is mirrored" if set_up.is_mirrored else ""
            self.side.configure(text=f"You see the {run.near_side} side{mirrored}.")
            for fill in self._fill:
                fill(set_up)
            self.rate.configure(values=rate_choices(state))
            self._rate.fill(rate)
            self.view.set(run.view)
            self.top.set(TOPS[1] if set_up.uses_neck_base else TOPS[0])
        if state.film.more == "rate":
            state.film.more = "open"
            self.rate.focus_set()
            self.rate.selection_range(0, "end")


def _fill(typed: Typed, field: str, set_up: SetUp) -> None:
    """Show an answer in its field: a text, a number or nothing."""
    value = getattr(set_up, field)
    typed.fill(value if isinstance(value, str) else "" if value is None else f"{value:g}")
