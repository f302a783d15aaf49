"""Two runs side by side: hips held still, legs of one length, both running the same way."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any

from PIL import Image, ImageTk

from tapmark.app.review.compare_actions import (
    Placing,
    Sight,
    choose_athlete_to_compare,
    cut,
    other_picture,
    sights,
)
from tapmark.app.review.pair_player import Cutter, Pair, PairPlayer
from tapmark.app.shell.comparing import choose_other, here, left_and_right
from tapmark.app.shell.context import Context
from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.session import AppState, Where
from tapmark.app.widgets.painting import em_px, window_fonts
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    fold,
    label,
    put,
    wrap_within,
    wrapped,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.marks.days import long_day, run_words
from tapmark.report.drawing import palette
from tapmark.report.drawing.overlay import tap_shapes, trail_dot
from tapmark.report.drawing.painter import paint
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.pages.content import CompareContent

NEAREST = Image.Resampling.NEAREST
WORDS_EM = 60
TIME_EM = 22  # of what is said of the moment: a key frame and its time
COLUMNS = ("first", "second", "word")
PLAY_WIDTH = 6  # letters: Play and Hold take the same room, or the halves change their size
STEPS = (
    ("compare ten back", "−10"),
    ("compare back", "−1"),
    ("compare on", "+1"),
    ("compare ten on", "+10"),
)


class CompareView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._fonts, self._em = window_fonts(parent), em_px(parent)
        self._fresh = Fresh()
        self._photos: list[ImageTk.PhotoImage | None] = [None, None]
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        for column in (0, 1):
            side.large.columnconfigure(column, weight=1, uniform="half")
        self._build_halves(side.large)
        self.player = PairPlayer(side.frame, context, self._cutter_of, self._show_pair)
        self._build_steps(side.large)
        self._build_words(side.words, look.units(side.width_em))
        gap = (0, look.units(1))
        self.phase = ActionButton(side.foot, context, look, "compare by phase", "By key frame")
        self.phase.grid(row=0, column=0, sticky="w", padx=gap)
        self.picture = ActionButton(side.foot, context, look, "compare picture", "As picture").grid(
            row=0, column=1, sticky="e", padx=gap
        )
        ActionButton(side.foot, context, look, "leave", "Back").grid(row=0, column=2, sticky="e")
        side.column.follow_keyboard()
        return side.frame

    def _build_halves(self, parent: ttk.Frame) -> None:
        look = self.look
        self.captions, self.canvases, self._items = [], [], []
        for column in (0, 1):
            caption = ttk.Label(parent, style="Bold.TLabel")
            caption.grid(row=0, column=column, sticky="sw", pady=(0, look.units(0.6)))
            canvas = tk.Canvas(
                parent,
                background=palette.HAIRLINE,
                highlightthickness=2,
                highlightcolor=palette.ACCENT,
                highlightbackground=palette.HAIRLINE,
                takefocus=column == 0,
                width=1,
                height=1,
            )
            pad = (0, look.units(0.5)) if column == 0 else (look.units(0.5), 0)
            canvas.grid(row=1, column=column, sticky="nsew", padx=pad)
            canvas.bind("<Configure>", partial(self._resized, caption=caption))
            self.captions.append(caption)
            self.canvases.append(canvas)
            self._items.append(canvas.create_image(2, 2, anchor="nw"))

    def _resized(self, event: Any, caption: ttk.Label) -> None:
        wrapped(caption, event.width)
        self.context.state.notify()

    def _build_steps(self, parent: ttk.Frame) -> None:
        look = self.look
        box = put(ttk.Frame(parent), 2, 0, "ew", columnspan=2, pady=(look.units(1.2), 0))
        box.columnconfigure(2, weight=1)
        steps, events = ttk.Frame(box), ttk.Frame(box)
        steps.grid(row=0, column=0, sticky="w")
        for column, (name, text) in enumerate(STEPS):
            ActionButton(steps, self.context, look, name, text).grid(
                row=0, column=column, padx=(0, look.units(0.6))
            )
        self.play = ActionButton(steps, self.context, look, "compare play", "Play")
        self.play.grid(row=0, column=len(STEPS), padx=(0, look.units(0.6)))
        self.play.button.configure(width=PLAY_WIDTH)
        self.events: list[ttk.Button] = []
        for i in range(5):
            button = ttk.Button(
                events,
                text=str(i + 1),
                width=2,
                command=partial(self.context.perform, f"compare frame {i + 1}"),
            )
            button.grid(row=0, column=i, padx=(0, look.units(0.6)))
            self.events.append(button)
        time = self.time = ttk.Label(box, style="Muted.TLabel", anchor="e")
        wrap_within(time, box)
        usual = ttk.Frame(box, width=look.units(TIME_EM))  # never shown: what the time needs

        def lay_out(is_folded: bool) -> None:
            pad = look.units(0.6)
            events.grid(row=1 if is_folded else 0, column=0 if is_folded else 1, sticky="w", pady=0)
            time.grid(row=2 if is_folded else 0, column=0 if is_folded else 2, columnspan=3)
            time.grid_configure(sticky="w" if is_folded else "e")
            time.configure(anchor="w" if is_folded else "e")
            events.grid_configure(pady=(pad if is_folded else 0, 0), padx=0 if is_folded else pad)

        fold(box, (steps, events, usual), look.units(1.2), lay_out)

    def _build_words(self, words: ttk.Frame, width: int) -> None:
        look = self.look
        label(words, 0, "Side by side", "Title.TLabel", columnspan=2, pady=(0, look.units(1)))
        words.columnconfigure(0, weight=0)
        words.columnconfigure(1, weight=1)
        self.athlete = self._choice(
            words, 1, "With", partial(choose_athlete_to_compare, self.context)
        )
        self.run = self._choice(words, 2, "Run", self._chose_run)
        self.about = wrapped(ttk.Label(words, style="Muted.TLabel"), width)
        self.about.grid(row=3, column=0, columnspan=2, sticky="w", pady=look.units(0.8))
        self.table = ttk.Treeview(words, columns=COLUMNS, selectmode="browse", height=12)
        self.cells = Cells(self.table, look, spare_to="#0")
        self.table.heading("#0", text="measure, near leg", anchor="w")
        for key in COLUMNS:
            self.table.column(key, anchor="e")
        self.table.grid(row=4, column=0, columnspan=2, sticky="nsew")
        words.rowconfigure(4, weight=1)

    def _choice(self, parent: ttk.Frame, row: int, words: str, keep: Any) -> ttk.Combobox:
        label(parent, row, words)
        box = ttk.Combobox(parent, state="readonly")
        box.grid(
            row=row,
            column=1,
            sticky="ew",
            padx=(self.look.units(1.5), 0),
            pady=self.look.units(0.4),
        )
        box.bind(
            "<<ComboboxSelected>>", lambda event: self.context.attempt(lambda: keep(box.get()))
        )
        return box

    def _chose_run(self, words: str) -> None:
        others = self.context.state.compare.others
        found = next((where for where in others if _run_words(where) == words), None)
        if found:
            choose_other(self.context, found)

    def show(self) -> None:
        self._fresh.forget()
        self.canvases[0].focus_set()

    def refresh(self) -> None:
        state = self.context.state
        mine, other = sights(state)
        self.player.follow(state)
        picture, second = state.compare.picture, other_picture(state)
        turned = bool(mine and other and mine.goes_right != other.goes_right)
        left, right = self._order()
        if not self.player.is_on:
            self._half(left, state.marking.gallery, mine, picture, mirrored=False)
            self._half(right, state.compare.gallery, other, second, mirrored=turned)
        self._refresh_steps(state, mine)
        self.play.button.configure(text="Hold" if self.player.is_on else "Play")
        self.phase.button.configure(text="By time" if state.compare.by_phase else "By key frame")
        self.picture.refresh()
        content = state.compare.content
        where = state.compare.where
        if self._fresh.is_new(where, content, state.compare.others, state.session.roster, turned):
            self._refresh_words(state, content, turned=turned)

    def _order(self) -> tuple[int, int]:
        """Return the places of this run and of the other one, as their numbers stand below."""
        state = self.context.state
        return (0, 1) if left_and_right(state)[0] == here(state) else (1, 0)

    def _cutter_of(self, picture: int) -> Cutter | None:
        """Return the way to both halves for a frame of this run; None where one is not there."""
        state = self.context.state
        (mine, other), first, second = sights(state), state.marking.gallery, state.compare.gallery
        if not (mine and other and first and second):
            return None
        numbers = picture, other_picture(state, picture)
        turned = mine.goes_right != other.goes_right
        jobs = []
        for i, sight, gallery, number, is_turned in zip(
            self._order(), (mine, other), (first, second), numbers, (False, turned), strict=True
        ):
            if number >= len(gallery.pictures):
                return None
            size = self._size(i)
            shapes = self._over(sight, number, Placing(sight.box(number, size), size, is_turned))
            jobs.append((i, sight, gallery.pictures, number, size, is_turned, shapes))

        def cutter(shrink: int) -> Pair:
            halves = {}
            for i, sight, pictures, number, size, is_turned, shapes in jobs:
                small = max(1, size[0] // shrink), max(1, size[1] // shrink)
                box, full = sight.box(number, size), pictures.size_px
                image = cut(pictures.preview(number), full, box, small, mirrored=is_turned)
                halves[i] = image if small == size else image.resize(size, NEAREST)
                paint(halves[i], shapes, self._fonts)
            return halves[0], halves[1]

        return cutter

    def _show_pair(self, pair: Pair) -> None:
        for i, image in enumerate(pair):
            photo, canvas = self._photos[i], self.canvases[i]
            if photo is not None and (photo.width(), photo.height()) == image.size:
                photo.paste(image)
            else:
                self._photos[i] = photo = ImageTk.PhotoImage(image, master=canvas)
                canvas.itemconfigure(self._items[i], image=photo)
        self._refresh_steps(self.context.state, sights(self.context.state)[0])

    def _size(self, i: int) -> tuple[int, int]:
        canvas = self.canvases[i]
        return max(1, canvas.winfo_width() - 4), max(1, canvas.winfo_height() - 4)

    def _over(self, sight: Sight, picture: int, place: Placing) -> Shapes:
        """Return the taps of a key frame; elsewhere joints are seen only where they were tapped."""
        frame = next((f for f in sight.frames if f.picture == picture), None)
        if frame:
            return tap_shapes(frame, place, self.look.unit)
        unit = self.look.unit
        spots = [(path.point, path.at(picture)) for path in sight.paths]
        return tuple(
            trail_dot(place(at), point, is_past=True, unit=unit) for point, at in spots if at
        )

    def _half(
        self, i: int, gallery: Gallery | None, sight: Sight | None, picture: int, *, mirrored: bool
    ) -> None:
        canvas, size = self.canvases[i], self._size(i)
        if gallery is None or sight is None or picture >= len(gallery.pictures):
            canvas.itemconfigure(self._items[i], image="")
            return
        box = sight.box(picture, size)
        full = gallery.pictures.size_px
        image = cut(gallery.best(picture), full, box, size, mirrored=mirrored)
        paint(image, self._over(sight, picture, Placing(box, size, mirrored)), self._fonts)
        self._photos[i] = ImageTk.PhotoImage(image, master=canvas)
        canvas.itemconfigure(self._items[i], image=self._photos[i])

    def _refresh_steps(self, state: AppState, mine: Sight | None) -> None:
        seconds, i = None, state.compare.picture
        if mine and state.pictures is not None and i < len(state.pictures):
            seconds = mine.seconds_at(state.pictures, i)
        frames = state.step.key_frames
        here_now = [f.event for f in frames if f.picture == i]
        if seconds is not None:
            words = [*here_now, f"{seconds * 1000:.0f} ms"]
        else:  # at a key frame both stand at their own one
            words = here_now or ["by their share of the step"]
        self.time.configure(text=", ".join(words))
        for k, button in enumerate(self.events):
            button.grid() if k < len(frames) else button.grid_remove()

    def _refresh_words(
        self, state: AppState, content: CompareContent | None, *, turned: bool
    ) -> None:
        where = state.compare.where
        mine, other = self._order()
        self.captions[mine].configure(text=_caption(here(state)))
        note = ", turned round" if turned else ""
        self.captions[other].configure(text=f"{_caption(where)}{note}" if where else "")
        self.athlete.configure(values=[athlete.code for athlete in state.session.roster])
        self.athlete.set(where[0] if where else here(state)[0])
        self.run.configure(values=[_run_words(each) for each in state.compare.others])
        self.run.set(_run_words(where) if where else "")
        self.cells.clear()
        if content is None:
            self.about.configure(text="" if where else "There is no other run of this athlete yet.")
            return
        self.about.configure(text=" ".join((*content.refused, *content.labels)))
        for key, half in (("first", content.first), ("second", content.second)):
            day = long_day(half.dated, with_year=False)
            self.table.heading(
                key, text=day if content.is_same else f"{half.code}, {day}", anchor="e"
            )
        for row in content.rows:
            name = f"{row.name} {row.unit}"
            self.cells.insert(None, (row.first, row.second, row.word), name)
        self.cells.lay_out()

    def hint(self) -> str:
        whole = self.cells.cut_words(next(iter(self.table.selection()), ""))
        if whole:
            return f"In full: {whole}."
        return (
            "Space plays both, arrow keys step (Shift: 10), 1 to 5 go to a key frame. Escape: back."
        )

    def corner(self) -> str:
        return ""


def _caption(where: Where) -> str:
    return f"{where[0]}, {_run_words(where)}"


def _run_words(where: Where) -> str:
    _, dated, name = where
    return f"{long_day(dated)}, {run_words(name)}"
