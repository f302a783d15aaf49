"""The page for naming clips: the clip's first frame, a field for the code, the evening's list."""

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk

from PIL import Image, ImageOps, ImageTk

from tapmark.app.film import naming
from tapmark.app.film.naming import PAGE, name_it, to_shot
from tapmark.app.shell.context import Context
from tapmark.app.shell.keys import sequence
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.session import Glance, NamingPage
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    button_row,
    label,
    put,
    scrolled,
    surface,
    wrap_within,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.errors import TapmarkError
from tapmark.marks.days import long_day
from tapmark.report.drawing import palette
from tapmark.store.shot_list import Shot, ShotList

WORDS_EM = 52
STRIP_EM = 15


class NamingView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.context, self.look = context, look
        self._fresh, self._drawn, self._asked = Fresh(), Fresh(), Fresh()
        self._photos: list[ImageTk.PhotoImage] = []
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self._build_pictures(side.large)
        self._build_field(side.large)
        self._build_list(side.words)
        self._build_foot(side.foot)
        return side.frame

    def _build_pictures(self, parent: ttk.Frame) -> None:
        look = self.look
        self.canvas = surface(parent, palette.HAIRLINE, has_focus=False)
        self.canvas.grid(row=0, column=0, sticky="nsew")
        self.canvas.bind("<Configure>", lambda event: self._draw())
        tall = look.units(STRIP_EM * 0.62)
        self.strip = surface(parent, palette.PAPER, has_focus=False, height=tall)
        self.strip.grid(row=1, column=0, sticky="ew", pady=(look.units(1), 0))

    def _build_field(self, parent: ttk.Frame) -> None:
        look = self.look
        box = put(ttk.Frame(parent), 2, 0, "ew", pady=(look.units(1), 0))
        box.columnconfigure(3, weight=1)
        label(box, 0, "Whose clip is it?", "Head.TLabel")
        self.code = put(ttk.Entry(box, width=14), 0, 1, padx=look.units(1.2))
        for keys, action in (
            ("<Return>", self._name),
            ("<Down>", partial(self._to, 1)),
            ("<Up>", partial(self._to, -1)),
        ):
            self.code.bind(keys, lambda event, action=action: self._do(action))  # type: ignore[misc]
        self._filled = ""
        self.context.fields[str(self.code)] = self._commit
        self.code.bind(sequence("Mod+Return", look.system), lambda event: None)  # goes on
        ActionButton(box, self.context, look, "skip clip", "No run: leave out").grid(
            row=0, column=2
        )
        self.trouble = label(box, 1, "", "Error.TLabel", columnspan=4)
        wrap_within(self.trouble, box)

    def _build_list(self, parent: ttk.Frame) -> None:
        look = self.look
        wide, pad = look.units(WORDS_EM), (0, look.units(1))
        self.title = label(parent, 0, "", "Title.TLabel", wrap=wide, pady=pad)
        parent.rowconfigure(1, weight=1)
        self.list = ttk.Treeview(
            parent, columns=("clip", "code", "state"), show="headings", selectmode="browse"
        )
        for key, words in (("clip", "clip"), ("code", "code"), ("state", "")):
            self.list.heading(key, text=words, anchor="w")
        self.cells = Cells(self.list, look, spare_to="clip")
        self.list.tag_configure("quiet", foreground=palette.MUTED)
        self.list.grid(row=1, column=0, sticky="nsew")
        scrolled(self.list, parent, 1)
        self.list.bind("<<TreeviewSelect>>", lambda event: self._selected())

    def _build_foot(self, foot: ttk.Frame) -> None:
        names = (("leave", "Back"), ("make runs", "Make the runs"))
        _, self.buttons = button_row(foot, self.context, self.look, names)

    def _do(self, action: Callable[[], object]) -> str:
        action()
        return "break"

    def _to(self, by: int) -> None:
        self.context.attempt(lambda: to_shot(self.page, by))

    def _name(self, *, go_on: bool = True) -> str:
        """Name the clip; return why the code cannot be used, also shown below, "" when it can."""
        typed = self.code.get()
        try:
            name_it(self.context, typed, go_on=go_on)
        except FieldTrouble as trouble:
            self.trouble.configure(text=str(trouble))
            self.code.state(["invalid"])
            return str(trouble)
        except TapmarkError as trouble:
            self.context.failed(trouble)
            return str(trouble)
        self._filled = typed
        return ""

    def _commit(self) -> str:
        """Keep a code that was typed before anything else is done."""
        is_here = self.code.winfo_exists() and self.context.state.page == PAGE
        if not is_here or self.code.get().strip() in ("", self._filled):
            return ""
        return self._name(go_on=False)

    def show(self) -> None:
        """Give the keyboard to the field."""
        for fresh in (self._fresh, self._drawn, self._asked):
            fresh.forget()
        self.code.focus_set()

    def refresh(self) -> None:
        """Show the list and the clip at hand."""
        page = self.page
        for button in self.buttons:
            button.refresh()
        if page.shots is None:
            return
        naming.look(self.context)
        if self._fresh.is_new(page.shots):
            self._fill(page.shots)
        self._select(str(page.i_shot))
        shot = page.shots.shots[page.i_shot]
        if self._asked.is_new(page.i_shot, shot):
            self._ask(shot)
        self._draw()

    @property
    def page(self) -> NamingPage:
        """What the state says of this page."""
        return self.context.state.around.naming

    def _ask(self, shot: Shot) -> None:
        self.trouble.configure(text="")
        self.code.state(["!invalid"])
        self.code.delete(0, "end")
        self.code.insert(0, shot.code)
        self._filled = shot.code
        self.code.selection_range(0, "end")

    def _fill(self, shots: ShotList) -> None:
        named = sum(shot.state == "named" for shot in shots.shots)
        self.title.configure(
            text=f"Clips of {long_day(shots.dated)}: {named} of {len(shots.shots)} named"
        )
        self.cells.clear()
        for i, shot in enumerate(shots.shots):
            is_named = shot.state == "named"
            code = shot.code if is_named else f"{shot.code} ?" if shot.code else ""
            state = "" if is_named else "left out" if shot.state == "skipped" else "to name"
            cells = (shot.path.rsplit("/", 1)[-1], code, state)
            tags = ("quiet",) if shot.state == "skipped" else ()
            self.cells.insert(str(i), cells, tags=tags)
        self.cells.lay_out()

    def _select(self, item: str) -> None:
        if self.list.exists(item) and self.list.selection() != (item,):
            self.list.selection_set(item)
            self.list.focus(item)
            self.list.see(item)

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen and int(chosen[0]) != self.page.i_shot:
            self._to(int(chosen[0]) - self.page.i_shot)

    def _draw(self) -> None:
        page = self.page
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        shot = page.shots.shots[page.i_shot] if page.shots else None
        glance = page.glances.get(shot.fingerprint) if shot else None
        if size[0] < 20 or not self._drawn.is_new(id(glance), size):
            return
        self._photos = []
        for canvas in (self.canvas, self.strip):
            canvas.delete("all")
        if glance:
            self._draw_glance(glance, size)
        else:
            is_coming = shot is not None and shot.fingerprint not in page.glances
            words = "Looking …" if is_coming else "This clip cannot be shown."
            middle, font = (size[0] / 2, size[1] / 2), self.look.font("body")
            self.canvas.create_text(*middle, text=words, fill=palette.MUTED, font=font)

    def _draw_glance(self, glance: Glance, size: tuple[int, int]) -> None:
        self._put(self.canvas, glance.first, (0, 0, *size))
        tall, gap = self.look.units(STRIP_EM * 0.62), self.look.units(0.6)
        wide = (size[0] + gap) // max(1, len(glance.strip)) - gap
        for i, picture in enumerate(glance.strip):
            self._put(self.strip, picture, (i * (wide + gap), 0, wide, tall))

    def _put(self, canvas: tk.Canvas, picture: Image.Image, box: tuple[int, int, int, int]) -> None:
        """Show a picture whole in the middle of a box: left, top, width, height."""
        left, top, wide, tall = box
        small = ImageOps.contain(picture, (max(1, wide), max(1, tall)), Image.Resampling.BILINEAR)
        self._photos.append(ImageTk.PhotoImage(small, master=canvas))
        canvas.create_image(left + wide / 2, top + tall / 2, image=self._photos[-1])

    def hint(self) -> str:
        """What to do now."""
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
        if whole:
            return f"In full: {whole}. Type the code and press Return."
        return "Type the code and press Return. Up and Down look at other clips, Escape goes back."

    def corner(self) -> str:
        """Say that naming moves no clip."""
        return "clips stay where they are"
