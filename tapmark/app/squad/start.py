"""What stands on Squad while no squad is open: a drawn sample, the five steps, what to do first."""

import tkinter as tk
from functools import partial
from math import dist
from pathlib import Path
from tkinter import ttk
from typing import Literal

from PIL import Image, ImageTk

from tapmark import disk
from tapmark.app.jobs import Task
from tapmark.app.shell.context import Context
from tapmark.app.shell.squads import use_squad
from tapmark.app.widgets.painting import clear_image, em_px, window_fonts
from tapmark.app.widgets.pieces import ActionButton, Fresh, emptied, label, put, surface
from tapmark.app.widgets.table import cut
from tapmark.app.widgets.theme import Look
from tapmark.marks.points import SIDE_EVENTS, TOUCHDOWN
from tapmark.marks.run import Run
from tapmark.measures.card import Card
from tapmark.measures.compute import measure_visit
from tapmark.measures.result import Measured
from tapmark.report.drawing import palette
from tapmark.report.drawing.figure import FigureLook, figure_shapes
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Label, Line, Ring, Shapes
from tapmark.services.samples import sample_frames
from tapmark.store.files import read_value
from tapmark.store.schema import RUN_FILE

SAMPLE, STILL = "P02", "1-touchdown.jpg"
STEPS = (
    ("Film", "Side-on, on a tripod, in slow motion."),
    ("Frames", "Stop one step at five moments."),
    ("Taps", "Tap hip, knee and ankle: 32 taps."),
    ("Review", "See what is real, what is marking error."),
    ("Sheet", "One page with one thing to try."),
)
"""The five steps after Squad, each with what is done in it."""
CHOICES = (
    (
        "Look round a finished sample",
        "Two drawn runners, marked and read, one of them over a season. Nothing can break.",
        (("open sample", "Open the sample"),),
    ),
    (
        "Practise tapping",
        "Mark a drawn runner whose true joints are known, and see how close you were.",
        (("practise", "Practise"),),
    ),
    (
        "Your own squad",
        "A folder on this computer or on a stick, with a code for each athlete, never a name.",
        (("make squad", "Make a squad…"), ("open squad", "Open a squad…")),
    ),
)
STEPS_EM, FIGURE_EM = 15, 6.5
MOST_RECENT = 4


class StartPicture:
    """The sample's touchdown with one angle, and the five steps on a ground line below it."""

    def __init__(self, parent: ttk.Frame, context: Context, look: Look) -> None:
        self.context, self.look, self._drawn = context, look, Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self.frame = ttk.Frame(parent)
        self.picture = surface(self.frame, palette.HAIRLINE, has_focus=False)
        self.steps = surface(self.frame, palette.WHITE, has_focus=False)
        self._photos: list[ImageTk.PhotoImage] = []
        self.frame.bind("<Configure>", lambda event: self.draw())

    def draw(self) -> None:
        """Draw for the size at hand, beside the window; the steps take what their words need."""
        width, height = self.frame.winfo_width(), self.frame.winfo_height()
        if width < 50 or not self._drawn.is_new(width, height):
            return
        low = self._write_steps(width)
        size = width, max(1, height - low - self.look.units(1))
        self.picture.place(x=0, y=0, width=size[0], height=size[1])
        self.steps.place(x=0, y=height - low, width=width, height=low)
        tall, fonts, em = self.look.units(FIGURE_EM), self._fonts, self._em

        def make(task: Task) -> tuple[Image.Image, list[Image.Image]]:
            run, _ = read_value(sample_frames() / SAMPLE / "run-1.json", RUN_FILE.read)
            with disk.opened(sample_frames() / SAMPLE / STILL) as file, Image.open(file) as still:
                picture = still.convert("RGB")
            return _with_angle(picture, run, size, fonts, em), figures(run, tall, fonts)

        def show(made: tuple[Image.Image, list[Image.Image]]) -> None:
            if not self.picture.winfo_exists():
                return
            picture, drawn = made
            self._photos.clear()
            self.steps.delete("figure")
            self._put(self.picture, picture, 0, 0, "nw")
            for i, image in enumerate(drawn):
                left = round((i + 0.12) * width / len(STEPS))
                self._put(self.steps, image, left, tall, "sw")

        self.context.painter.run("start", make, show, by="window")

    def _put(
        self, canvas: tk.Canvas, image: Image.Image, x: int, y: int, anchor: Literal["nw", "sw"]
    ) -> None:
        self._photos.append(ImageTk.PhotoImage(image, master=canvas))
        canvas.create_image(x, y, image=self._photos[-1], anchor=anchor, tags=("figure",))

    def _write_steps(self, width: int) -> int:
        """Write the five steps and return how tall they stand, px."""
        canvas, look = self.steps, self.look
        canvas.delete("all")
        ground, wide = look.units(FIGURE_EM), width / len(STEPS)
        canvas.create_line(0, ground, width, ground, fill=palette.INK)
        lefts = [round(i * wide) + look.units(1) for i in range(len(STEPS))]
        write = partial(canvas.create_text, anchor="nw", fill=palette.INK)
        bold, body, room = look.font("bold"), look.font("body"), round(wide) - look.units(2.4)
        for i, (name, words) in enumerate(STEPS):
            at = lefts[i] + look.units(0.8)
            write(at, ground + look.units(0.6), text=f"{i + 1}  {name}", font=bold)
            write(at, ground + look.units(2.8), text=words, font=body, width=room)
        taken = max(canvas.bbox(item)[3] for item in canvas.find_all())
        low = int(max(look.units(STEPS_EM), taken + look.units(0.5)))
        for left in lefts:
            canvas.create_line(left, ground, left, low, fill=palette.INK)
        return low


def figures(run: Run, height: int, fonts: Fonts) -> list[Image.Image]:
    """Return the five figures of a run, each on nothing, standing on its lower edge."""
    look = FigureLook(palette.INK, palette.WHITE, palette.HAIRLINE, 1.0)
    poses, tall = step_poses(run, 0), 0.96 * height
    at, size = (0.6 * tall, float(height)), (round(1.2 * tall), height)
    shapes = (figure_shapes(poses[event], 0.92 * tall, at, look) for event in SIDE_EVENTS)
    return [clear_image(each, size, fonts) for each in shapes]


def _with_angle(
    picture: Image.Image, run: Run, size: tuple[int, int], fonts: Fonts, em: float
) -> Image.Image:
    """Return the still filling a size, with shank, plumb line and the angle that was measured."""
    frame = run.steps[0].key_frame(TOUCHDOWN)
    reach = measure_visit([run], Card(())).rows["reach", "near"]
    assert frame and isinstance(reach, Measured)  # the sample is ours
    scale = max(size[0] / picture.width, size[1] / picture.height)
    whole = picture.resize((round(picture.width * scale), round(picture.height * scale)))
    points = ("shoulder", "hip", "near knee", "near ankle")
    places = [frame.at(point) or (0.0, 0.0) for point in points]
    shoulder, hip, knee, ankle = ((x * scale, y * scale) for x, y in places)
    left = round(min(max(0.0, hip[0] - size[0] / 2), whole.width - size[0]))
    head = shoulder[1] - 0.8 * (hip[1] - shoulder[1])
    top = round(min(whole.height - size[1], max(0.0, head - em)))  # the head, not the track
    image = whole.crop((left, top, left + size[0], top + size[1]))
    hip, knee, ankle = ((x - left, y - top) for x, y in (hip, knee, ankle))
    near, plumb = palette.OVERLAY["near leg"].colour, palette.OVERLAY["plumb and pole"]
    below = knee[0], knee[1] + 1.1 * dist(knee, ankle)
    line = partial(Line, casing=palette.CASING, casing_width=4.5)
    label = partial(Label, casing=palette.CASING)
    whose = f"Drawn sample {SAMPLE}, touchdown. Nobody was filmed."
    angle = f"{reach.value:.0f} ± {reach.plus_minus:.0f}°"
    at = knee[0] + 1.2 * em, (knee[1] + ankle[1]) / 2
    shapes: Shapes = (
        line((knee, below), plumb.colour, 2.0, plumb.dash),
        line((hip, knee, ankle), near, 2.0),
        *(Ring(p, 7.0, None, near, 2.0, palette.CASING, 4.5) for p in (hip, knee, ankle)),
        label((0.9 * em, 1.8 * em), whose, em, palette.WHITE, casing_width=2.0),
        label(at, angle, 1.5 * em, palette.WHITE, True, casing_width=2.5),
    )
    paint(image, shapes, fonts)
    return image


class StartColumn:
    """What to do first, each with one sentence; the squads that were open before below."""

    def __init__(self, parent: ttk.Frame, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self._width = width
        pad = look.units(1.7), look.units(1.2)
        self.frame = ttk.Frame(parent, style="White.TFrame", padding=pad)
        self.frame.columnconfigure(0, weight=1)
        label(self.frame, 0, "Begin here", "WhiteTitle.TLabel")
        self.buttons: dict[str, ttk.Button] = {}
        for row, (head, words, actions) in enumerate(CHOICES, start=1):
            box = self._box(row)
            self._rule(box)
            for i in range(2):
                box.columnconfigure(i, weight=1, uniform="half")
            label(box, 1, head, "WhiteHead.TLabel", columnspan=2)
            pad_y, style = look.units(0.6), "WhiteMuted.TLabel"
            label(box, 2, words, style, wrap=width, columnspan=2, pady=pad_y)
            for i, (name, text) in enumerate(actions):
                made = ActionButton(box, context, look, name, text, is_primary=row == 1)
                self.buttons[name] = put(made, 3, i, "ew", padx=(look.units(1.2) if i else 0, 0))
        self.recent = self._box(9)
        self.recent.columnconfigure(0, weight=1)

    def _box(self, row: int) -> ttk.Frame:
        made = ttk.Frame(self.frame, style="White.TFrame")
        return put(made, row, 0, "ew", pady=(self.look.units(1.4), 0))

    def _rule(self, box: ttk.Frame) -> None:
        """Put a thin line at the top of a box."""
        line = ttk.Frame(box, style="Hair.TFrame", height=1)
        put(line, 0, 0, "ew", columnspan=2, pady=(0, self.look.units(1.2)))

    def refresh(self) -> None:
        folders = self.context.settings.value.recent[:MOST_RECENT]
        if not self._fresh.is_new(folders):
            return
        box, look = emptied(self.recent), self.look
        if not folders:
            return
        self._rule(box)
        label(box, 1, "Opened before", "WhiteMuted.TLabel")
        for row, path in enumerate(map(Path, folders), start=2):
            words = f"{path.name}, in {path.parent}"
            text = cut(words, self._width - look.units(2), look.font("body").measure)
            use = partial(self.context.attempt, partial(use_squad, self.context, path))
            put(ttk.Button(box, text=text, style="Quiet.TButton", command=use), row, 0, "ew")
