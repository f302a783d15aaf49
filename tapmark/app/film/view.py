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
    side_words,
    take_reading,
    use_rate,
    why_not_filmed,
)
from tapmark.app.film.questions import FiveQuestions, cost_words, limits
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer, answer_rate, rate_choices, rate_words
from tapmark.app.shell.runs import around, read_all, read_part
from tapmark.app.shell.stepping import box_corners
from tapmark.app.state.form import FieldTrouble, number
from tapmark.app.state.session import AppState, LongClip
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.bench import (
    LOWER_LEFT,
    UPPER_LEFT,
    UPPER_RIGHT,
    BenchColumn,
    BenchPage,
    runner_hands,
)
from tapmark.app.widgets.picture_pane import Hands, box_overlay, film_overlay
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Typed,
    broken,
    choice,
    label,
    put,
    wrapped,
)
from tapmark.app.widgets.theme import Look
from tapmark.errors import StopwatchUnusable
from tapmark.marks.points import VIEWS
from tapmark.marks.run import SetUp
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Label, Shapes
from tapmark.services.true_rate import rate_words as true_rate_words

SAME_PLACE = "Pole and scale are those of the last pass. Mark them again if the camera was moved."


class FilmView(BenchPage):
    """The clip and the questions about filming."""

    wants_full = False

    def column(self, column: BenchColumn) -> None:
        """Put the questions into the column; a stopwatch takes their place."""
        context, look = self.context, self.look
        self.empty = ttk.Frame(self.bench.place)
        self.empty_words = wrapped(ttk.Label(self.empty, style="Head.TLabel"), look.units(45))
        self.empty_words.grid(row=0, column=0, pady=(0, look.units(2)))
        self.openers = [
            ActionButton(self.empty, context, look, name).grid(
                row=row, column=0, sticky="ew", pady=look.units(0.4)
            )
            for row, name in enumerate(("open clip", "open folder", "open stills"), start=1)
        ]
        self.consent = ActionButton(self.empty, context, look, "enter consent", is_primary=True)
        self.consent.grid(row=4, column=0, sticky="ew", pady=(look.units(2), 0))
        self.part = PartPanel(self.bench.place, context, look)
        self.column_ = column
        column.body.rowconfigure(0, weight=1)
        self.five = FiveQuestions(column, context, look)
        self.more = MoreQuestions(column.body, context, look, column.width)
        self.stopwatch = StopwatchPanel(column.body, context, look, column.width)
        for panel in (self.five, self.more, self.stopwatch):
            panel.frame.grid(row=0, column=0, sticky="new")
            panel.frame.grid_remove()
        self.buttons = [
            column.action(UPPER_LEFT, "open clip", "Open a clip…"),
            column.action(UPPER_RIGHT, "open folder", "Open stills…"),
        ]
        self.back = column.action(LOWER_LEFT, "film questions")
        self.last = column.action(LOWER_LEFT, "as last time", "As last time", has_key=True)
        self.pass_ = column.action(LOWER_LEFT, "another pass", "Another pass", has_key=True)

    def fit(self, tall: float) -> None:
        """Put the five questions close together where there is little height."""
        self.five.close(tall)

    def hands(self) -> Hands:
        """A press marks the pole or the scale while one is asked for, else the runner's hip."""
        context = self.context
        hands = runner_hands(context)
        see, box, grab, over = hands.tap, hands.box, hands.grab, hands.over

        def tap(at: Point) -> object:
            is_asked = context.state.film.picking
            return context.attempt(lambda: press(context, at)) if is_asked else see(at)

        def draw(start: Point, end: Point) -> object:
            return None if context.state.film.picking or box is None else box(start, end)

        hands.tap, hands.box = tap, draw
        hands.grab = lambda at, reach: not context.state.film.picking and grab(at, reach)
        hands.over = lambda at, reach: not context.state.film.picking and over(at, reach)
        return hands

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        """Pole and scale, and the box round the runner."""
        unit = self.look.unit
        return film_overlay(state, view, unit) + box_overlay(box_corners(state), view, unit)

    def still(self, state: AppState, view: Viewport) -> Shapes:
        """Return what the clip can and cannot give, in the upper left corner of the picture."""
        if state.film.picking or state.film.stopwatch:
            return ()
        look, font = self.look, self.look.font("bold")
        size = float(look.units(1.7))
        room = view.canvas[0] - 2 * look.units(2)
        lines = [line for said in limits(state) for line in broken(said, font.measure, room)]
        at, cased = float(look.units(1.5)), (palette.CASING, 2 * look.unit)
        spots = ((at, at + size + i * 1.35 * size) for i in range(len(lines)))
        return tuple(
            Label(spot, line, size, palette.WHITE, True, False, "w", *cased)
            for spot, line in zip(spots, lines, strict=True)
        )

    def cover(self, state: AppState) -> ttk.Frame | None:
        """Return the buttons that open a clip, or the choice of a part of a long one."""
        for opener in self.openers:
            opener.refresh()
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
        self.consent.button.grid() if lacks else self.consent.button.grid_remove()
        return self.empty

    def refresh_column(self) -> None:
        """Show the five questions, the others, or the stopwatch."""
        state = self.context.state
        shown = self._shown(state)
        for panel in (self.five, self.more, self.stopwatch):
            if panel is not shown:
                panel.frame.grid_remove()
        if shown is not self._was_shown:
            self.column_.canvas.yview_moveto(0)
            self._was_shown = shown
        self.stopwatch.refresh(state)
        if shown is self.five:
            self.five.frame.grid()
            self.five.refresh(state)
        elif shown is self.more:
            self.more.refresh(state)
        words = (("Open a clip…", "Clip…"), ("Open stills…", "Stills…"))
        for button, (text, short) in zip(self.buttons, words, strict=True):
            button.refresh(self._either(text, short))
        self.back.refresh(self._either("Five questions", "Back"))
        self.last.refresh(self._either("As last time", "Last"))
        self.pass_.refresh()
        can_pass = self.pass_.action.is_available(self.context)
        shows_pass = can_pass and not self.last.action.is_available(self.context)
        here = self.back if shown is self.more else self.pass_ if shows_pass else self.last
        for button in (self.back, self.pass_, self.last):
            button.button.grid() if button is here else button.button.grid_remove()
        self.column_.onward.refresh("page frames", "Choose key frames", short="Frames")
        titles = {self.five: "Five questions", self.more: "More about this film"}
        self.column_.title.configure(text=titles.get(shown, "True rate") if shown else "Film")
        self.column_.count.configure(text=self.five.count(state) if shown is self.five else "")

    def _either(self, text: str, short: str) -> str:
        """Return what fits on a button below the column."""
        room = self.column_.width / 2 - self.look.units(4.2)
        return short if room < self.look.font("bold").measure(text) else text

    _was_shown: "FiveQuestions | MoreQuestions | StopwatchPanel | None" = None

    def _shown(self, state: AppState) -> "FiveQuestions | MoreQuestions | StopwatchPanel | None":
        if state.film.stopwatch:
            return self.stopwatch
        if state.run is None:
            return None
        return self.more if state.film.more else self.five

    def hint(self) -> str:
        """What to do now."""
        state = self.context.state
        if state.film.long_clip:
            return "The rest of the clip stays where it is; Escape leaves without reading."
        if state.film.stopwatch:
            return "Arrow keys and the bar go through the frames; Escape leaves."
        if not state.marking.gallery and state.run and state.run.set_up.upright_px:
            return SAME_PLACE
        if not state.marking.gallery:
            return "Film three passes each way; one is enough to begin."
        if self.five.unsaid():
            return self.five.unsaid()
        if cost_words(state):
            return cost_words(state)
        if state.runner() is None:
            return "Draw a box round the runner, head to shoes: the picture follows."
        return "All five are answered. Then the key frames, F4."


ACROSS = 5
WIDE_EM = 19


class PartPanel:
    """Stands in the place of the frame until a part of a long clip is chosen."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self._fresh_part = Fresh()
        self._photos: list[ImageTk.PhotoImage] = []
        self.frame = ttk.Frame(parent)
        wide = look.units(WIDE_EM * ACROSS)
        self.words = label(self.frame, 0, wrap=wide, pady=(0, look.units(1)))
        self.grid = put(ttk.Frame(self.frame), 1, 0, "w")
        self._build_fields()

    def _build_fields(self) -> None:
        context, look, box = self.context, self.look, ttk.Frame(self.frame)
        box.grid(row=2, column=0, sticky="ew", pady=(look.units(1), 0))
        self.fields: dict[str, ttk.Entry] = {}
        for i, (key, words) in enumerate((("start", "From, s"), ("end", "To, s"))):
            label(box, 0, words, column=2 * i, padx=(0, look.units(0.8)))
            field = put(ttk.Entry(box, width=8), 0, 2 * i + 1, padx=(0, look.units(1.6)))
            field.bind("<Return>", lambda event: self._read())
            self.fields[key] = field
        box.columnconfigure(4, weight=1)
        whole = partial(context.attempt, partial(read_all, context))
        made = ttk.Button(box, text="Read all of it", command=whole)
        self.whole = put(made, 0, 5, padx=look.units(1))
        self.part = put(ttk.Button(box, text="Read this part", command=self._read), 0, 6)
        self.trouble = label(self.frame, 3, style="Error.TLabel")

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
        if self._fresh.is_new(found.wish):
            self._show_strip(found)
        if self._fresh_part.is_new(found.start_s, found.end_s):
            for key, value in (("start", found.start_s), ("end", found.end_s)):
                self.fields[key].state(["!invalid"])
                self.fields[key].delete(0, "end")
                self.fields[key].insert(0, f"{value:.1f}")
            self.trouble.configure(text="")

    def _show_strip(self, found: LongClip) -> None:
        self.words.configure(text=found.words)
        for child in self.grid.winfo_children():
            child.destroy()
        self._photos = []
        for i, (at_s, image) in enumerate(found.strip):
            small = image.copy()
            small.thumbnail((self.look.units(WIDE_EM - 2), self.look.units(WIDE_EM - 2)))
            photo = ImageTk.PhotoImage(small, master=self.frame)
            self._photos.append(photo)
            choose = partial(self.context.attempt, partial(around, self.context, at_s))
            made = ttk.Button(self.grid, image=photo, text=f"{at_s:.0f} s", command=choose)
            made.configure(compound="top", style="Quiet.TButton")
            put(made, i // ACROSS, i % ACROSS, padx=self.look.units(0.3))


ABOUT = (
    "Film a running stopwatch once with each phone, in the slow motion you use. Go to a frame "
    "where it can be read, type what it shows, and take it. Then go on by ten seconds of the "
    "watch or more, and take a second reading."
)


class StopwatchPanel:
    """Two readings, what they say, and the name of the phone that is kept with the squad."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self._fresh = context, Fresh()
        gap = look.units(0.8)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        line = partial(label, self.frame, wrap=width, columnspan=3)
        line(0, "True rate with a stopwatch", "Head.TLabel")
        line(1, ABOUT, "Muted.TLabel", pady=(look.units(0.3), look.units(1.2)))
        self.shown, self.take = self._row(2, "The watch shows", "Take reading", self._take, gap)
        self.taken = line(3, pady=gap)
        self.phone, self.use = self._row(4, "Name of the phone", "Use and keep", self._use, gap)
        self.trouble = line(5, "", "Error.TLabel", pady=(gap, 0))
        leave = ttk.Button(self.frame, text="Cancel", command=lambda: context.perform("leave"))
        self.leave = put(leave, 6, 2, "e", pady=(look.units(1.6), 0))

    def _row(
        self, row: int, words: str, button: str, action: Callable[[], None], gap: int
    ) -> tuple[ttk.Entry, ttk.Button]:
        label(self.frame, row, words, padx=(0, gap))
        entry = put(ttk.Entry(self.frame, width=10), row, 1, "ew")
        entry.bind("<Return>", lambda event: action())
        made = ttk.Button(self.frame, text=button, command=action, width=13)
        return entry, put(made, row, 2, "e", padx=(gap, 0))

    def _take(self) -> None:
        if self._tried(lambda: take_reading(self.context.state, self.shown.get()), self.shown):
            self.shown.delete(0, "end")

    def _use(self) -> None:
        if self._tried(lambda: use_rate(self.context, self.phone.get()), self.phone):
            self.phone.delete(0, "end")

    def _tried(self, action: Callable[[], None], field: ttk.Entry) -> bool:
        """Run an action and show why it failed below the fields; return whether it succeeded."""
        try:
            action()
        except StopwatchUnusable as trouble:
            field.state(["invalid"])
            self.trouble.configure(text=str(trouble))
            self.context.state.notify()
            return False
        self._mend()
        self.context.attempt(lambda: None)
        return True

    def _mend(self) -> None:
        for field in (self.shown, self.phone):
            field.state(["!invalid"])
        self.trouble.configure(text="")

    def refresh(self, state: AppState) -> None:
        """Show the readings and what they say; take no room until asked for."""
        if state.film.stopwatch is None:
            self.frame.grid_remove()
            self._fresh.forget()
            return
        is_new = not self.frame.winfo_ismapped()
        self.frame.grid()
        if self._fresh.is_new(state.film.stopwatch):
            self.taken.configure(text=taken_words(state))
            is_whole = state.film.stopwatch.is_whole
            for widget in (self.phone, self.use):
                widget.state(["!disabled" if is_whole else "disabled"])
        if is_new:
            self._mend()
            self.shown.focus_set()


def taken_words(state: AppState) -> str:
    """Return the readings taken so far, a line each, and the rate that follows from two."""
    readings = state.film.stopwatch.readings if state.film.stopwatch else ()
    lines = [f"Frame {each.picture + 1} shows {each.shown_s:.2f} s." for each in readings]
    try:
        found = found_rate(state)
    except StopwatchUnusable as trouble:
        return "\n".join([*lines, str(trouble)])
    return "\n".join([*lines, true_rate_words(found)] if found else lines) or "No reading yet."


NUMBERS = {  # field -> (words, low, high)
    "camera_distance_m": ("camera distance, m", 1, 100),
    "scale_m": ("scale, m", 0.1, 50),
    "leg_cm": ("leg length, cm", 50, 130),
    "effort": ("effort, 1 to 10", 1, 10),
    "speed_mps": ("speed, m/s", 1, 13),
}


NARROW = 47  # units: below, a column has no room for two fields beside each other


class MoreQuestions:
    """What else can be told of a film: a form that keeps each answer at once."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent)
        for column in (1, 3):
            self.frame.columnconfigure(column, weight=1, uniform="field")
        self._width = width
        self._is_narrow = width < look.units(NARROW)
        self.entries: dict[str, ttk.Entry] = {}
        self._show: list[Callable[[SetUp], None]] = []
        self._row = 0
        self._build_source()
        self._build_runner()
        self._build_camera()
        self._build_day()
        self.trouble = self._line("Error.TLabel", wrap=width)

    def _line(self, style: str, **options: Any) -> ttk.Label:
        """Place words over the whole width."""
        return label(self.frame, self._next(), "", style, columnspan=4, **options)

    def _next(self) -> int:
        self._row += 1
        return self._row

    def _build_source(self) -> None:
        pad = self.look.units(0.3), self.look.units(0.8)
        self.title = self._line("Head.TLabel")
        self.notes = self._line("Muted.TLabel", wrap=self._width, pady=pad)

    def _label(self, words: str, row: int, column: int = 0) -> None:
        pad = (0 if column == 0 else self.look.units(1.5), self.look.units(1.2))
        label(self.frame, row, words, column=column, padx=pad)

    def _place(self, widget: tk.Widget, row: int, column: int = 1, span: int = 1) -> None:
        put(widget, row, column, "ew", columnspan=span, pady=self.look.units(0.42))

    def _wide(self, widget: tk.Widget, words: str = "") -> None:
        """Place what needs room: beside its words, or over the whole width where it is narrow."""
        row = self._next()
        if words:
            self._label(words, row)
        is_whole = self._is_narrow
        self._place(widget, row, 0 if is_whole else 1, 4 if is_whole else 3)

    def _list(
        self, words: str, choices: tuple[str, ...], keep: Callable[[Context, str], None]
    ) -> ttk.Combobox:
        """Place a list to choose from; what is chosen is kept at once."""
        row, context = self._next(), self.context

        def chosen(value: str) -> None:
            context.attempt(lambda: keep(context, value))

        self._label(words, row)
        box = choice(self.frame, chosen, values=choices, width=8)
        self._place(box, row, span=3)
        return box

    def _build_runner(self) -> None:
        self.view = self._list("Seen from", VIEWS, change_view)
        self.top = self._list("Top of trunk", TOPS, choose_top)
        tick = self._tick("the picture is mirrored", "mirrored", "is_mirrored")
        put(tick, self._next(), 0, "w", columnspan=4)
        self.side = self._line("Bold.TLabel", pady=(0, self.look.units(0.6)))
        row = self._next()
        self._label("Filmed at (fps)", row)
        self.rate = ttk.Combobox(self.frame, width=8)
        self._place(self.rate, row, span=3)
        named = "stopwatch", "With a stopwatch…"
        self.watch = ActionButton(self.frame, self.context, self.look, *named)
        self._wide(self.watch.button)
        self._rate = Typed(self.context, self.rate, self._keep_rate)
        self.rate.bind("<<ComboboxSelected>>", lambda event: self._rate.commit())

    def _build_camera(self) -> None:
        self._fields(("Distance, m", "camera_distance_m"), ("Scale, m", "scale_m"))
        box = ttk.Frame(self.frame)
        self._wide(box, "" if self._is_narrow else "In the frame")
        self.picks = {}
        for i, (name, text) in enumerate((("mark pole", "Pole"), ("mark scale", "Scale"))):
            box.columnconfigure(i, weight=1, uniform="half")
            self.picks[name] = ActionButton(box, self.context, self.look, name, text).grid(
                row=0, column=i, sticky="ew", padx=(0, self.look.units(0.5)) if i == 0 else 0
            )

    def _build_day(self) -> None:
        self._fields(("Leg length, cm", "leg_cm"), ("Effort, 1–10", "effort"))
        self._fields(("Speed, m/s", "speed_mps"))
        tick = self._tick("has grown since", "growth", "has_grown")
        if self._is_narrow:
            put(tick, self._next(), 0, "w", columnspan=4)
        else:
            put(tick, self._row, 2, "w", columnspan=2, padx=(self.look.units(1.5), 0))
        self._fields(("Zone", "zone"), span=3)
        self._fields(("Shoes", "shoes"), ("Surface", "surface"))
        self._fields(("Wind", "wind"), span=3)

    def _tick(self, words: str, label: str, field: str) -> ttk.Checkbutton:
        value = tk.BooleanVar(self.frame, False)
        self._show.append(lambda set_up: value.set(getattr(set_up, field)))
        return ttk.Checkbutton(
            self.frame,
            text=words,
            variable=value,
            command=lambda: self._keep(label, **{field: value.get()}),
        )

    def _fields(self, *named: tuple[str, str], span: int = 1) -> None:
        """Put fields to type in beside each other; named: (words, answer)."""
        if self._is_narrow and len(named) > 1:
            for each in named:
                self._fields(each, span=3)
            return
        row = self._next()
        span = 3 if self._is_narrow else span
        for column, (words, field) in zip((0, 2), named, strict=False):
            entry = ttk.Entry(self.frame, width=6)
            self._label(words, row, column)
            self._place(entry, row, column + 1, span)
            keep = self._keep_number if field in NUMBERS else self._keep_text
            typed = Typed(self.context, entry, partial(keep, field))
            self._show.append(partial(_fill, typed, field))
            self.entries[field] = entry

    def _keep(self, label: str, **answers: object) -> None:
        self.context.attempt(lambda: answer(self.context.state, label.lower(), **answers))

    def _keep_rate(self, text: str) -> str:
        try:
            if text != rate_words(self.context.state):
                answer_rate(self.context, text)
        except FieldTrouble as trouble:
            return self._told(str(trouble))
        return self._told("")

    def _keep_number(self, field: str, text: str) -> str:
        words, low, high = NUMBERS[field]
        try:
            value = number(text, field, words, low, high)
        except FieldTrouble as trouble:
            return self._told(str(trouble))
        answers: dict[str, object] = {field: value}
        if field == "effort":
            answers = {field: None if value is None else round(value)}
        if field == "leg_cm":
            answers["leg_source"] = "tape" if value else ""
        self._keep(words, **answers)
        return self._told("")

    def _keep_text(self, field: str, text: str) -> str:
        self._keep(field, **{field: text.strip()})
        return ""

    def _told(self, trouble: str) -> str:
        """Show why the typed text cannot be used, "" when it can, and return it."""
        self.trouble.configure(text=trouble)
        return trouble

    def refresh(self, state: AppState) -> None:
        """Show the answers as they stand; a field being typed in keeps its text."""
        run, gallery = state.run, state.marking.gallery
        if run is None:
            return
        self.frame.grid()
        for name, button in self.picks.items():
            button.refresh(_pick_words(name, run.set_up, state.film.picking))
        self.watch.refresh()
        notes = (gallery.pictures.name, *gallery.notes) if gallery else ("", "")
        whose = state.at_hand()
        if self._fresh.is_new(whose, run.set_up, run.view, notes, rate_words(self.context.state)):
            self.title.configure(text=notes[0] or "Filming")
            self.notes.configure(text="\n".join(notes[1:]))
            self.notes.grid() if notes[1:] else self.notes.grid_remove()
            self.side.configure(text=side_words(run.set_up, run.near_side))
            for show in self._show:
                show(run.set_up)
            self.rate.configure(values=rate_choices(self.context.state))
            self._rate.fill(rate_words(self.context.state))
            self.view.set(run.view)
            self.top.set(TOPS[1] if run.set_up.uses_neck_base else TOPS[0])
        if state.film.more == "rate":
            state.film.more = "open"
            self.rate.focus_set()
            self.rate.selection_range(0, "end")


def _pick_words(name: str, set_up: SetUp, picking: str) -> str:
    what = name.split()[-1]
    if picking == what:
        return "Press twice …"
    is_there = set_up.upright_px if what == "pole" else set_up.scale_px
    return f"{what.capitalize()} ✓" if is_there else f"Mark {what}"


def _fill(typed: Typed, field: str, set_up: SetUp) -> None:
    """Show an answer in its field: a text, a number or nothing."""
    value = getattr(set_up, field)
    typed.fill(value if isinstance(value, str) else "" if value is None else f"{value:g}")
