"""The five questions that every clip is asked, large, and what an open one costs."""

import tkinter as tk
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import (
    FILMED_AT,
    NOT_KNOWN,
    answer,
    answer_rate,
    file_rate_hz,
    last_answers,
    true_rate_hz,
)
from tapmark.app.state.session import AppState
from tapmark.app.widgets.bench import BenchColumn
from tapmark.app.widgets.painting import photo, window_fonts
from tapmark.app.widgets.pieces import ActionButton, Fresh, mark_chosen, put, surface
from tapmark.app.widgets.theme import Look
from tapmark.marks.run import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Run
from tapmark.measures.gates import nothing_graded
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Ring, Shapes
from tapmark.report.drawing.signs import strength_tick

OTHER = "other"
NOMINAL_WITHIN = 0.03  # of a rate by its usual name: phones that say 240 film at 233 to 247
GRADED_FROM_HZ, TIMED_FROM_HZ = 58.8, 117.6  # 60 and 120, as measures.gates counts them


@dataclass(frozen=True)
class Question:
    """One question: its field, its words, the values of its answers, what an open one costs."""

    field: str
    name: str
    words: str
    choices: tuple[str, ...]
    cost: str


FIVE = (
    Question(
        "direction",
        "Direction",
        "Which way does the runner go?",
        (RIGHT_TO_LEFT, LEFT_TO_RIGHT),
        "nothing is judged",
    ),
    Question(
        "context",
        "Kind of run",
        "What was filmed?",
        ("sprint", "race pace", "acceleration", "bend"),
        "nothing is judged",
    ),
    Question(
        "rate",
        "Frame rate",
        "Frames per second?",
        ("240", "120", "60", "30", OTHER, NOT_KNOWN),
        "no times",
    ),
    Question(
        "camera",
        "Camera",
        "How did the camera stand?",
        ("tripod, levelled", "tripod", "hand-held", "panned"),
        "left and right not compared",
    ),
    Question("pain", "Pain", "Pain today?", ("no", "yes"), "no priorities, no drills"),
)
SHORT = {
    "acceleration": "speeding up",
    "tripod, levelled": "level tripod",
    "hand-held": "by hand",
}
"""Answers that are called otherwise in the window; on their buttons the directions have arrows."""
ON_BUTTON = SHORT | {RIGHT_TO_LEFT: "← right to left", LEFT_TO_RIGHT: "left to right →"}


def answer_of(state: AppState, field: str) -> str:
    """Return the answer that stands, as a value of its question; "" for an open one."""
    run = state.run
    if run is None or field in run.set_up.unanswered:
        return ""
    set_up = run.set_up
    if field == "pain":
        return "" if set_up.pain == "not answered" else set_up.pain
    if field == "rate":
        hz = true_rate_hz(state)
        if set_up.slow_factor is None or hz is None:
            return NOT_KNOWN
        usual = (value for value in FIVE[2].choices if value in FILMED_AT)
        return next((n for n in usual if abs(hz / float(n) - 1) <= NOMINAL_WITHIN), OTHER)
    return str(getattr(set_up, field))


def open_questions(state: AppState) -> tuple[Question, ...]:
    """Return the questions that nobody answered yet."""
    return tuple(each for each in FIVE if not answer_of(state, each.field))


def cost_words(state: AppState) -> str:
    """Return what the first open question costs, a sentence; "" when all are answered."""
    left = open_questions(state)
    return f"{left[0].name} is open: {left[0].cost}." if left else ""


def limits(state: AppState) -> tuple[str, ...]:
    """Return what the clip at hand can and cannot give, in plain sentences; () without a clip."""
    gallery, run = state.marking.gallery, state.run
    if gallery is None or run is None:
        return ()
    found = [nothing_graded(run, true_rate_hz(state)) or _rate_limit(state, run)]
    if gallery.n_repeats:
        found.append(f"{gallery.n_repeats} of {len(gallery.pictures)} frames repeat.")
    if gallery.moves:
        found.append("The background moves: the camera was not still.")
    elif not run.set_up.is_static and "camera" not in run.set_up.unanswered:
        found.append("The camera moved: no metres, left and right are not compared.")
    return tuple(each for each in found if each)


def _rate_limit(state: AppState, run: Run) -> str:
    hz = true_rate_hz(state)
    if hz is None:
        return "Filmed at an unknown rate: no times." if run.view == "side" else ""
    if hz < TIMED_FROM_HZ:
        return f"{hz:.0f} frames per second: angles can be judged; times, knees and arms cannot."
    return f"{hz:.0f} frames per second: angles and times can be judged."


LONGEST = "No priorities, no drills. First see a physio."
Note = tuple[str, bool]
"""What stands below a question, and whether it is said strongly."""


NOTES: Mapping[tuple[str, str], Note] = {
    ("direction", ""): ("Open: nothing is judged.", False),
    ("context", ""): ("Open: nothing is judged.", False),
    ("context", "sprint"): ("95 % effort or more, steady speed.", False),
    ("context", "race pace"): ("At the pace of the race, steady.", False),
    ("context", "acceleration"): ("Posture, contact and push are not judged.", True),
    ("context", "bend"): ("From the side, nothing is judged on the bend.", True),
    ("rate", ""): ("Open: no times.", False),
    ("rate", NOT_KNOWN): ("No times. Angles can still be judged.", False),
    ("camera", ""): ("Left and right are compared on a tripod only.", False),
    ("pain", ""): ("Open: no priorities and no drills.", False),
    ("pain", "yes"): (LONGEST, True),
}
"""(question, answer) -> the line below it, as long as the clip has nothing more to say."""


def note_of(state: AppState, field: str) -> Note:
    """Return the line below a question."""
    run, gallery, value = state.run, state.marking.gallery, answer_of(state, field)
    assert run
    set_up, hz, moves = run.set_up, true_rate_hz(state), gallery.moves if gallery else None
    says = NOTES.get((field, value), ("", False))
    match field:
        case "direction" if value:
            mirrored = "mirrored, " if set_up.is_mirrored else ""
            says = f"You see the {mirrored}{run.near_side} side.", False
        case "rate" if value and hz:
            says = _rate_note(hz, set_up.rate_source)
        case "rate" if not value and (plays := file_rate_hz(state)):
            says = f"The file plays {plays:.0f} and does not say.", False
        case "camera" if moves and (not value or set_up.is_static):
            says = "The background moves: did the camera?", True
        case "camera" if value and not set_up.is_static:
            says = "No metres; left and right are not compared.", True
        case "camera" if value and moves is False:
            says = "The background stands still.", False
    last = last_answers(state).get(field)
    if last and not value and not says[1]:
        return f"As last time: {SHORT.get(str(last), last)}", False
    return says


def _rate_note(hz: float, source: str) -> Note:
    if hz < GRADED_FROM_HZ:
        return "Times and angles cannot be judged.", True
    if source.startswith("typed in"):
        return f"{hz:.0f}, as answered.", False
    if source.startswith("stopwatch"):
        return f"{hz:.1f} by the stopwatch.", False
    return f"{hz:.0f} is what the file says.", False


def give(context: Context, field: str, value: str) -> None:
    """Keep an answer; another rate than the usual ones is typed among the other questions."""
    if field != "rate":
        answer(context.state, field, **{field: value})
    elif value == OTHER:
        context.state.film.more = "rate"
    else:
        answer_rate(context, value)


CLOSE_FROM = 57.5
ROWS = ((63.0, 2.9, 3.3), (CLOSE_FROM, 2.5, 2.6), (0.0, 2.1, 0.1))
"""Least height of a column, then what stands above and below the buttons, units; the first are
93 px a question at 96 dots an inch."""
EDGE, LOW_EDGE = 0.5, 0.4  # units around the buttons, for the line that says answered or open
OPEN_WORDS = " not answered"
DASH = (3, 3)


class Asked:
    """One question in the column: words, buttons, a line below; its place never changes height."""

    def __init__(
        self,
        parent: ttk.Frame,
        context: Context,
        look: Look,
        question: Question,
        signs: Mapping[str, ImageTk.PhotoImage],
    ) -> None:
        self._context, self._look, self._question = context, look, question
        self._signs, self._fresh = signs, Fresh()
        self._laid_out = 0, 0
        self._is_open = True
        self._said: Note = "", False
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        self._words = ttk.Label(self.frame, style="Bold.TLabel")
        state = ttk.Label(self.frame, style="Bold.TLabel", compound="left")
        self.state = put(state, 0, 2, "e")
        self.note = ttk.Label(self.frame)
        self._state_px = look.font("bold").measure(OPEN_WORDS) + 2 * look.u
        self._holder = put(ttk.Frame(self.frame), 1, 0, "ew", columnspan=3)
        self._edge = surface(self._holder, palette.PAPER, has_focus=False)
        self._edge.place(x=0, y=0, relwidth=1, relheight=1)
        self.buttons: dict[str, ttk.Button] = {}
        labels = [ON_BUTTON.get(value, value) for value in question.choices]
        for value, text in zip(question.choices, labels, strict=True):
            # its column says how wide it is, with room for bold letters
            made = ttk.Button(self._holder, text=text, width=1, style="Choice.TButton")
            made.configure(command=partial(self._give, value))
            for key, by in (("<Left>", -1), ("<Right>", 1)):
                made.bind(key, partial(self._walk, by=by))
            self.buttons[value] = made
        bold, pad = look.font("bold"), 2 * look.units(0.8)
        self._needs = [bold.measure(text) + pad for text in labels]
        self._holder.bind("<Configure>", lambda event: self._fit(event.width))
        self.close(ROWS[0][0])

    def _fit(self, width: int) -> None:
        """Break the lines, and put the buttons into one row, or into two where they need it."""
        units, is_low = self._look.units, self.is_low
        self._draw_edge()
        rim = units(1)
        room = 0 if is_low else max(1, width - rim)
        self._words.configure(wraplength=max(0, room - self._state_px))
        self.note.configure(wraplength=room)
        is_short = is_low or self._look.font("bold").measure(LONGEST) <= width - rim
        self.frame.rowconfigure(2, minsize=units(self._rows[1] + (0 if is_short else 2)))
        self._show()
        edge = units(LOW_EDGE if is_low else EDGE)
        rows = 1 if sum(self._needs) <= width - 2 * edge else 2
        if (rows, edge) == self._laid_out:
            return
        self._laid_out = rows, edge
        n = -(-len(self.buttons) // rows)
        for column in range(len(self.buttons)):
            self._holder.columnconfigure(column, weight=0, minsize=0)
        for i, button in enumerate(self.buttons.values()):
            row, column = divmod(i, n)
            top = (units(0.2) if is_low else edge) if row == 0 else 0
            left, right = (edge if column == 0 else 0), (edge if column == n - 1 else 0)
            bottom = edge if row == rows - 1 else 0
            put(button, row, column, "ew", padx=(left, right), pady=(top, bottom))
            need = max(self._needs[column::n]) + left + right
            self._holder.columnconfigure(column, minsize=need, weight=1)

    def _draw_edge(self) -> None:
        edge, look = self._edge, self._look
        wide, tall = self._holder.winfo_width(), self._holder.winfo_height()
        edge.delete("all")
        if wide < 2:
            return
        if self._is_open:
            edge.create_rectangle(1, 1, wide - 2, tall - 2, outline=palette.INK, dash=DASH)
        else:
            side, thick = look.units(EDGE), max(2, look.units(0.35))
            y = tall - side + thick / 2
            edge.create_line(side, y, wide - side, y, fill=palette.INK, width=thick)

    def close(self, tall: float) -> None:
        """Ask in words and say the rest below the buttons, or all in one line above them.

        tall: of the column that the five stand in, units.
        """
        self.is_low = is_low = tall < CLOSE_FROM
        self._rows = next(rows for least, *rows in ROWS if tall >= least)
        self.frame.rowconfigure(0, minsize=self._look.units(self._rows[0]))
        self._words.configure(text=self._question.name if is_low else self._question.words)
        self._words.grid(row=0, column=0, columnspan=1 if is_low else 2, sticky="w")
        if is_low:
            self.note.grid(row=0, column=1, columnspan=1, sticky="w", padx=self._look.units(1))
        else:
            self.note.grid(row=2, column=0, columnspan=3, sticky="nw", padx=0)
        self._fit(self._holder.winfo_width())

    def _give(self, value: str) -> None:
        self._context.attempt(lambda: give(self._context, self._question.field, value))

    def _walk(self, event: "tk.Event[tk.Misc]", by: int) -> str:
        named = list(self.buttons.values())
        i = named.index(event.widget)  # type: ignore[arg-type]
        named[min(max(0, i + by), len(named) - 1)].focus_set()
        return "break"  # else the frame would be changed as well

    def refresh(self, state: AppState) -> None:
        """Show the answer and what follows from it."""
        value, note = answer_of(state, self._question.field), note_of(state, self._question.field)
        if not self._fresh.is_new(value, note):
            return
        self._is_open, self._said = not value, note
        for each, button in self.buttons.items():
            mark_chosen(button, each == value)
            is_first = each == (value or next(iter(self.buttons)))
            button.configure(takefocus=is_first)  # one stop of Tab a question; arrows go on
        self.state.configure(image=self._signs["done" if value else "open"])
        self._show()
        self._draw_edge()

    def _show(self) -> None:
        """Show what follows from the answer; `unsaid` is a warning that has no room here."""
        (text, is_strong), look = self._said, self._look
        font = look.font("bold" if is_strong else "body")
        room = self._holder.winfo_width() - look.font("bold").measure(self._question.name)
        room -= font.measure(text) + look.units(5.5)
        has_room = not self.is_low or room >= 0
        self.unsaid = text if is_strong and not has_room else ""
        style = "Bold.TLabel" if is_strong else "Muted.TLabel"
        self.note.configure(text=text if has_room else "", style=style)
        self.state.configure(text=OPEN_WORDS if self._is_open and not self.is_low else "")


def signs_of(parent: tk.Misc, look: Look) -> Mapping[str, ImageTk.PhotoImage]:
    """Return the ring of an open question and the tick of an answered one."""
    side, u, fonts = round(2 * look.u), look.u, window_fonts(parent)
    ring: Shapes = (Ring((side / 2, side / 2), 0.6 * u, None, palette.INK, 0.25 * u),)
    tick = strength_tick((0.3 * u, 1.75 * u), 1.5 * u, palette.INK)
    return {
        name: photo(parent, shapes, (side, side), fonts, palette.PAPER)
        for name, shapes in (("open", ring), ("done", tick))
    }


class FiveQuestions:
    """The five, one below the other, and the way to the others."""

    def __init__(self, column: BenchColumn, context: Context, look: Look) -> None:
        self.frame = ttk.Frame(column.body)
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(0, minsize=look.units(0.2))
        signs = signs_of(self.frame, look)
        self.asked = {each.field: Asked(self.frame, context, look, each, signs) for each in FIVE}
        for row, asked in enumerate(self.asked.values(), start=1):
            put(asked.frame, row, 0, "ew")
        named, style = "more about film", "Row.TButton"
        more = ActionButton(self.frame, context, look, named, style=style, has_key=True)
        put(more, len(FIVE) + 1, 0, "ew")

    def close(self, tall: float) -> None:
        """Put the five as close together as a column so many units tall asks for."""
        for asked in self.asked.values():
            asked.close(tall)

    def unsaid(self) -> str:
        """Return the first warning that has no room in the column."""
        return next((asked.unsaid for asked in self.asked.values() if asked.unsaid), "")

    def refresh(self, state: AppState) -> None:
        for asked in self.asked.values():
            asked.refresh(state)
