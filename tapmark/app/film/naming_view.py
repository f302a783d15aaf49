"""The page on which an evening's clips get their codes: frames of a clip, a field, the list."""

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk

from PIL import Image, ImageOps, ImageTk

from tapmark.app.film.naming import PAGE, look, name_it, to_shot
from tapmark.app.shell.context import Context
from tapmark.app.shell.keys import sequence
from tapmark.app.state.pages import NamingPage
from tapmark.app.widgets.columns import Side, browsed
from tapmark.app.widgets.fields import tried, write_in
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    button_row,
    label,
    put,
    surface,
    wrap_within,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.marks.days import long_day
from tapmark.report.drawing import palette
from tapmark.store.shot_list import ShotList

WORDS_EM = 52
STRIP_EM = 15 * 0.62


class NamingView:
    """The clip's first frame and a few others, a field for the code, the evening's list."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._listed, self._drawn, self._asked = Fresh(), Fresh(), Fresh()
        self._photos: list[ImageTk.PhotoImage] = []
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self.canvas = put(surface(side.large, palette.HAIRLINE, has_focus=False), 0, 0, "nsew")
        self.canvas.bind("<Configure>", lambda event: self._draw())
        tall, pad = look.units(STRIP_EM), (look.units(1), 0)
        strip = surface(side.large, palette.PAPER, has_focus=False, height=tall)
        self.strip = put(strip, 1, 0, "ew", pady=pad)
        self._build_field(put(ttk.Frame(side.large), 2, 0, "ew", pady=pad))
        side.words.rowconfigure(1, weight=1)
        wide, pad = look.units(WORDS_EM), (0, look.units(1))
        self.title = label(side.words, 0, "", "Title.TLabel", wrap=wide, pady=pad)
        heads = {"clip": "clip", "code": "code", "state": ""}
        self.list = browsed(side.words, 1, self._selected, heads, show="headings")
        self.cells = Cells(self.list, look, spare_to="clip")
        names = (("leave", "Back"), ("make runs", "Make the runs"))
        button_row(side.foot, context, look, names)
        return side.frame

    def _build_field(self, box: ttk.Frame) -> None:
        look = self.look
        box.columnconfigure(3, weight=1)
        label(box, 0, "Whose clip is it?", "Head.TLabel")
        self.code = put(ttk.Entry(box, width=14), 0, 1, padx=look.units(1.2))
        on, back = partial(self._to, 1), partial(self._to, -1)
        for key, action in (("<Return>", self._name), ("<Down>", on), ("<Up>", back)):
            self.code.bind(key, partial(self._do, action))
        self._filled = ""
        self.context.fields[str(self.code)] = self._commit
        self.code.bind(sequence("Mod+Return", look.system), lambda event: None)  # goes on
        named = "skip clip", "No run: leave out"
        put(ActionButton(box, self.context, look, *named), 0, 2)
        self.trouble = label(box, 1, "", "Error.TLabel", columnspan=4)
        wrap_within(self.trouble, box)

    def _do(self, action: Callable[[], object], event: "tk.Event[tk.Misc]") -> str:
        action()
        return "break"

    def _to(self, by: int) -> None:
        self.context.attempt(lambda: to_shot(self.page, by))

    def _name(self, *, go_on: bool = True) -> str:
        """Name the clip; return why the code cannot be used, also shown below, "" when it can."""
        typed = self.code.get()
        name = partial(name_it, self.context, typed, go_on=go_on)
        why = tried(self.context, name, self.code, self.trouble)
        self._filled = self._filled if why else typed
        return why

    def _commit(self) -> str:
        """Keep a code that was typed before anything else is done."""
        is_here = self.code.winfo_exists() and self.context.state.page == PAGE
        if not is_here or self.code.get().strip() in ("", self._filled):
            return ""
        return self._name(go_on=False)

    def show(self) -> None:
        for fresh in (self._listed, self._drawn, self._asked):
            fresh.forget()
        self.code.focus_set()

    def refresh(self) -> None:
        page = self.page
        if page.shots is None:
            return
        look(self.context)
        if self._listed.is_new(page.shots):
            self._fill(page.shots)
        item = str(page.i_shot)
        if self.list.exists(item) and self.list.selection() != (item,):
            self.cells.select(item)
        shot = page.shots.shots[page.i_shot]
        if self._asked.is_new(page.i_shot, shot):
            self.trouble.configure(text="")
            self.code.state(["!invalid"])
            write_in(self.code, shot.code)
            self._filled = shot.code
            self.code.selection_range(0, "end")
        self._draw()

    @property
    def page(self) -> NamingPage:
        return self.context.state.around.naming

    def _fill(self, shots: ShotList) -> None:
        named = sum(shot.state == "named" for shot in shots.shots)
        words = f"Clips of {long_day(shots.dated)}: {named} of {len(shots.shots)} named"
        self.title.configure(text=words)
        self.cells.clear()
        for i, shot in enumerate(shots.shots):
            state = {"named": "", "skipped": "left out"}.get(shot.state, "to name")
            code = f"{shot.code} ?" if shot.code and state else shot.code
            tags = ("quiet",) if shot.state == "skipped" else ()
            self.cells.insert(str(i), (shot.path.rsplit("/", 1)[-1], code, state), tags=tags)
        self.cells.lay_out()

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen and int(chosen[0]) != self.page.i_shot:
            self._to(int(chosen[0]) - self.page.i_shot)

    def _draw(self) -> None:
        """Draw the first frame, and the others side by side below it."""
        page, canvas = self.page, self.canvas
        wide, tall = canvas.winfo_width(), canvas.winfo_height()
        key = page.shots.shots[page.i_shot].fingerprint if page.shots else ""
        glance = page.glances.get(key)
        if wide < 20 or not self._drawn.is_new(id(glance), (wide, tall)):
            return
        self._photos = []
        for each in (canvas, self.strip):
            each.delete("all")
        if glance is None:
            is_coming = key and key not in page.glances
            words = "Looking …" if is_coming else "This clip cannot be shown."
            font = self.look.font("body")
            canvas.create_text(wide / 2, tall / 2, text=words, fill=palette.MUTED, font=font)
            return
        self._put(canvas, glance.first, (0, 0, wide, tall))
        gap, n = self.look.units(0.6), max(1, len(glance.strip))
        each_wide = (wide + gap) // n - gap
        for i, picture in enumerate(glance.strip):
            box = i * (each_wide + gap), 0, each_wide, self.look.units(STRIP_EM)
            self._put(self.strip, picture, box)

    def _put(self, canvas: tk.Canvas, picture: Image.Image, box: tuple[int, int, int, int]) -> None:
        """Show a picture whole in the middle of a box: left, top, width, height."""
        left, top, wide, tall = box
        small = ImageOps.contain(picture, (max(1, wide), max(1, tall)), Image.Resampling.BILINEAR)
        self._photos.append(ImageTk.PhotoImage(small, master=canvas))
        canvas.create_image(left + wide / 2, top + tall / 2, image=self._photos[-1])

    def hint(self) -> str:
        whole = self.cells.cut_words()
        if whole:
            return f"In full: {whole}. Type the code and press Return."
        return "Type the code and press Return. Up and Down look at other clips, Escape goes back."

    def corner(self) -> str:
        return "clips stay where they are"
