"""The bar above the pages and the line below them."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.action import Action
from tapmark.app.cells import cut
from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.keys import spoken
from tapmark.app.painting import photo, warning_sign, window_fonts
from tapmark.app.state import PAGES, AppState
from tapmark.app.style import Look
from tapmark.app.titles import detail_of, done_pages, step_of, title_of, travel_words
from tapmark.app.work_bar import WorkBar
from tapmark.drawing import palette

TITLE_EM = 38  # before the steps, so that they stand in one place on every page
SHORTEST = 6  # letters of a name that have to be read before the detail may stand beside it


class TopBar:
    """Who and which run, the six steps on their ground line, and the menu."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.desk, self.look, self._fresh = desk, look, Fresh()
        self.frame = ttk.Frame(parent, style="White.TFrame")
        self.frame.columnconfigure(len(PAGES) + 1, weight=1)
        self._build_title()
        self._steps = {page: self._build_step(i, page) for i, page in enumerate(PAGES, start=1)}
        self._build_menu()
        self.frame.bind("<Configure>", lambda event: self._fit(event.width))

    def _build_title(self) -> None:
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(row=0, column=0, rowspan=2, sticky="w", padx=(self.look.em(2.2), self.look.em(2)))
        self._title = ""
        self.title = ttk.Label(box, style="WhiteTitle.TLabel")
        self.title.grid(row=0, column=0)
        self.detail = ttk.Label(box, style="WhiteMuted.TLabel")
        self.detail.grid(row=0, column=1, padx=(self.look.em(1.7), 0), sticky="s")

    def _build_step(self, column: int, page: str) -> tuple[ttk.Button, ttk.Frame]:
        button = ttk.Button(
            self.frame,
            text=page.capitalize(),
            command=partial(self.desk.perform, f"page {page}"),
            style="StepAhead.TButton",
        )
        button.grid(row=0, column=column, sticky="ew", pady=(self.look.em(0.5), 0))
        ground = ttk.Frame(self.frame, height=self.look.em(0.5), style="Ahead.TFrame")
        ground.grid(row=1, column=column, sticky="ew", pady=(self.look.em(0.3), 0))
        return button, ground

    def _build_menu(self) -> None:
        button = ttk.Menubutton(self.frame, text="Menu", width=8)
        button.grid(row=0, column=len(PAGES) + 1, rowspan=2, sticky="e", padx=self.look.em(2))
        self.menu = tk.Menu(button, tearoff=False)
        button.configure(menu=self.menu)
        self._submenus: dict[str, tk.Menu] = {}
        self.menu.configure(postcommand=self.fill_menu)
        self.button = button

    def fill_menu(self) -> None:
        """Build the menu from the action table, as things stand now."""
        self.menu.delete(0, "end")
        for old in self._submenus.values():
            old.destroy()
        self._submenus = {}
        for action in self.desk.actions.values():
            if action.in_menu:
                self._add(self._submenu(action.group), action)

    def _submenu(self, group: str) -> tk.Menu:
        if group not in self._submenus:
            made = tk.Menu(self.menu, tearoff=False)
            self.menu.add_cascade(label=group, menu=made)
            self._submenus[group] = made
        return self._submenus[group]

    def _add(self, menu: tk.Menu, action: Action) -> None:
        keys = spoken(action.keys[0], self.look.system) if action.keys else ""
        here = action.is_on(self.desk.state.page)
        is_travel = action.name in ("undo", "redo")
        words = travel_words(self.desk.state, action.name) if is_travel else ""
        menu.add_command(
            label=words or action.label,
            accelerator=keys,
            command=partial(self.desk.perform, action.name),
            state="normal" if here and action.is_available(self.desk) else "disabled",
        )

    def refresh(self) -> None:
        """Show the names and where we are."""
        state = self.desk.state
        done = done_pages(state)
        if not self._fresh.is_new(title_of(state), detail_of(state), state.page, done):
            return
        self._title = title_of(state)
        self.detail.configure(text=detail_of(state))
        for page, (button, ground) in self._steps.items():
            here, is_done = page == step_of(state.page), page in done
            button.configure(
                style="StepHere.TButton"
                if here
                else "Step.TButton"
                if is_done
                else "StepAhead.TButton"
            )
            ground.configure(
                style="Here.TFrame" if here else "Done.TFrame" if is_done else "Ahead.TFrame"
            )
        self._fit(self.frame.winfo_width())

    def _fit(self, width: int) -> None:
        """Shorten the name to what steps and menu leave; the steps stand still where they can."""
        if width <= 1:
            return
        steps = sum(button.winfo_reqwidth() for button, _ in self._steps.values())
        room = width - steps - self.button.winfo_reqwidth() - self.look.em(4)
        self.frame.columnconfigure(0, minsize=min(self.look.em(TITLE_EM), max(0, room)))
        room -= self.look.em(4.2)
        detail = self.detail.winfo_reqwidth() + self.look.em(1.7)
        font = self.look.font("title")
        has_both = font.measure(self._title[:SHORTEST]) + detail <= room
        self.detail.grid() if has_both else self.detail.grid_remove()
        self.title.configure(
            text=cut(self._title, room - (detail if has_both else 0), font.measure)
        )


class StatusBar:
    """When it was saved, what to do now or what went wrong, work under way, and the zoom."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.look, self._fresh = look, Fresh()
        pad = look.em(2.2)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(2, weight=1)
        self.bar = ttk.Frame(self.frame, width=look.em(0.4))
        self.bar.grid(row=0, column=0, sticky="ns")
        self.saved = ttk.Label(self.frame, style="Muted.TLabel", width=16)
        self.saved.grid(row=0, column=1, padx=(pad - look.em(0.4), look.em(1)), pady=look.em(0.9))
        self.line = ttk.Label(self.frame, compound="left", anchor="w", justify="left")
        self.line.grid(row=0, column=2, sticky="ew")
        self.work = WorkBar(self.frame, desk, look)
        self.work.frame.grid(row=0, column=3)
        self.work.frame.grid_remove()
        self.corner = ttk.Label(self.frame, style="Muted.TLabel", anchor="e")
        self.corner.grid(row=0, column=4, padx=pad)
        self.sign: ImageTk.PhotoImage = photo(
            parent,
            warning_sign(look.u),
            (3 * look.u, 2 * look.u),  # with room before the words
            window_fonts(parent),
            palette.PAPER,
        )
        self.frame.bind("<Configure>", lambda event: self._wrap(event.width))
        for comes in ("<Map>", "<Unmap>"):
            self.work.frame.bind(comes, lambda event: self._wrap(self.frame.winfo_width()))

    def _wrap(self, width: int) -> None:
        """Break the line where bar or corner begin, whatever stands in them now."""
        room = width - self.saved.winfo_reqwidth() - self.corner.winfo_reqwidth()
        if self.work.frame.winfo_ismapped():
            room -= self.work.frame.winfo_reqwidth()
        sign = self.sign.width() if str(self.line.cget("image")) else 0
        room -= sign + self.look.em(8)
        self.line.configure(wraplength=max(self.look.em(20), room))

    def refresh(self, state: AppState, hint: str, corner: str) -> None:
        """Show the trouble if there is one, else what was said, else the page's hint."""
        trouble = state.trouble or state.unsaved
        saved = "Not saved" if state.unsaved else f"Saved {state.saved_at}" * bool(state.saved_at)
        if not self._fresh.is_new(saved, corner, trouble, state.said or hint):
            return
        self.saved.configure(text=saved)
        self.corner.configure(text=corner)
        if trouble:
            self.bar.configure(style="Error.TFrame")
            self.line.configure(text=trouble, image=self.sign)
        else:
            self.bar.configure(style="TFrame")
            self.line.configure(text=state.said or hint, image="")
        self._wrap(self.frame.winfo_width())
