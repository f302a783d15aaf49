"""The menus and the page of help, both made from the table of actions."""

import tkinter as tk
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from tkinter import ttk
from typing import Any, Final

from tapmark.app.actions import TABLE
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.keys import spoken
from tapmark.app.shell.squads import use_squad
from tapmark.app.state.titles import travel_words
from tapmark.app.widgets.pieces import surface
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette

MENUS: Final = ("File", "Edit", "View", "Run", "Help")
_MENU_OF_GROUP: Final = {
    "Squad": "File",
    "Copies": "File",
    "Sheet": "File",
    "Edit": "Edit",
    "View": "View",
    "Play": "View",
    "Go to": "View",
    "Group": "View",
    "Practice": "Help",
    "Help": "Help",
}
"""Group of actions -> the menu it stands in; every other group is about the run."""
_MENU_OF: Final = {
    **dict.fromkeys(
        (
            "open clip",
            "open folder",
            "open stills",
            "delete clips",
            "export",
            "show trend",
            "print trend",
            "print last page",
            "show group sheet",
            "print group sheet",
            "compare picture",
            "compare stills",
            "film",
            "film photo",
            "film covered",
            "close",
        ),
        "File",
    ),
    **dict.fromkeys(
        (
            "change squad",
            "find athlete",
            "ask for the season",
            "add athlete",
            "edit athlete",
            "consent",
            "archive",
            "delete athlete",
            "type ticks",
            "forget frame",
            "remove tap",
            "delete mark",
            "clear path",
            "leave",
        ),
        "Edit",
    ),
    **dict.fromkeys(
        (
            "show archived",
            "group",
            "season",
            "measure on",
            "measure back",
            "left right",
            "picture on",
            "picture back",
            "ten on",
            "ten back",
            "first picture",
            "last picture",
            "next key frame",
            "last key frame",
            "page on",
            "page back",
        ),
        "View",
    ),
}
"""The few actions that stand in another menu than their group."""
BELOW: Final = {
    "View": "Zoom and light",
    "Group": "Read the signs",
    "Taps": "Move the cross-hair",
}
"""Group -> the name of the menu one level down that holds its many small movements."""


def menu_of(action: Action) -> str:
    """Return which of MENUS an action stands in."""
    return _MENU_OF.get(action.name) or _MENU_OF_GROUP.get(action.group, "Run")


def menu_entries(menu: str, page: str) -> Mapping[str, Mapping[str, tuple[Action, ...]]]:
    """Return what a menu holds on a page: name of the menu below, "" for itself, -> group -> them.

    What does not apply on that page is left out; a group of its own stands between two lines.
    """
    found: dict[str, dict[str, tuple[Action, ...]]] = {}
    for action in sorted(TABLE, key=lambda action: action.group != menu):  # undo leads Edit
        if action.is_on(page) and menu_of(action) == menu:
            is_seen = action.group == "View" and bool(action.pages)
            below = BELOW.get(action.group, "") if is_seen or not action.in_menu else ""
            groups = found.setdefault(below, {})
            groups[action.group] = (*groups.get(action.group, ()), action)
    return found


RECENT = "Opened before"
ROW_EM = 2.9
MENU_ABOVE = {
    "Zoom and light": "View",
    "Read the signs": "View",
    "Move the cross-hair": "Run",
}
"""Menu one level down -> the menu it hangs in."""
OWN_PLACE = {"aqua": ("close", "about")}
"""Where the system has a place of its own for an action, no menu of ours repeats it."""


class MenuBar:
    """The window's menus, filled from the table of actions each time one is opened.

    In each menu stands what applies on the page at hand, grey where it cannot be done just now.
    """

    def __init__(self, root: tk.Tk, context: Context, look: Look) -> None:
        self.context, self.look = context, look
        self.bar = tk.Menu(root, tearoff=False, borderwidth=0, background=palette.HOVER)
        self._strut = tk.PhotoImage(master=root, width=1)
        self.fit_rows()
        self.menus: dict[str, tk.Menu] = {}
        self._below: dict[str, tk.Menu] = {}
        if look.system == "aqua":
            self._follow_the_system(root)
        for name in MENUS:
            named: dict[str, Any] = {"tearoff": False}
            if name == "Help" and look.system == "aqua":
                named["name"] = "help"  # there the system adds its search
            menu = tk.Menu(self.bar, **named)
            menu.configure(postcommand=partial(self.fill, name))
            self.bar.add_cascade(label=name, menu=menu, underline=0)
            self.menus[name] = menu
        for below in (*BELOW.values(), RECENT):
            menu = self.menus["File" if below == RECENT else MENU_ABOVE[below]]
            self._below[below] = tk.Menu(menu, tearoff=False)
        root.configure(menu=self.bar)

    def _follow_the_system(self, root: tk.Tk) -> None:
        """Put About, the squad's choices, Quit and opened documents where macOS has them."""
        apple = tk.Menu(self.bar, name="apple", tearoff=False)
        apple.add_command(label="About Tapmark", command=self._do("about"))
        self.bar.add_cascade(menu=apple)
        root.createcommand("tk::mac::Quit", self._do("close"))
        root.createcommand("tk::mac::ShowPreferences", self._do("change squad"))
        root.createcommand("tk::mac::ShowHelp", self._do("help"))
        root.createcommand("tk::mac::OpenDocument", self._open_documents)

    @property
    def _row(self) -> dict[str, Any]:
        """Options of an entry: a menu of Tk's has no other way to rows that a finger finds."""
        return {} if self.look.system == "aqua" else {"image": self._strut, "compound": "left"}

    def fit_rows(self) -> None:
        """Make the rows as tall as the text asks for; call it when that changed."""
        self._strut.configure(height=self.look.units(ROW_EM))

    def _do(self, name: str) -> Callable[[], None]:
        return partial(self.context.perform, name)

    def _open_documents(self, *paths: str) -> None:
        """Open the squad that was dropped on the program's sign, a file of it or its folder."""
        for path in map(Path, paths[:1]):
            folder = path if path.is_dir() else path.parent
            self.context.attempt(partial(use_squad, self.context, folder))

    def fill(self, name: str) -> None:
        """Fill a menu with what applies on the page at hand."""
        menu, context = self.menus[name], self.context
        menu.delete(0, "end")
        entries = menu_entries(name, context.state.page)
        for i, actions in enumerate(entries.get("", {}).values()):
            if i:
                menu.add_separator()
            for action in actions:
                self._add(menu, action)
        for below, groups in entries.items():
            if below:
                self._fill_below(menu, below, groups)
        if name == "File" and context.state.page == "squad":
            self._add_recent(menu)
        if menu.index("end") is None:
            menu.add_command(label="Nothing on this page", state="disabled")

    def _fill_below(
        self, menu: tk.Menu, below: str, groups: Mapping[str, tuple[Action, ...]]
    ) -> None:
        made = self._below[below]
        made.delete(0, "end")
        for action in (action for actions in groups.values() for action in actions):
            self._add(made, action)
        menu.add_cascade(label=below, menu=made, **self._row)

    def _add_recent(self, menu: tk.Menu) -> None:
        """Put the squads that were opened before below "Make a squad"."""
        made, context = self._below[RECENT], self.context
        made.delete(0, "end")
        for folder in context.settings.value.recent:
            made.add_command(
                label=folder,
                **self._row,
                command=partial(context.attempt, partial(use_squad, context, Path(folder))),
            )
        is_empty = made.index("end") is None
        menu.insert_cascade(2, label=RECENT, menu=made, **self._row)
        menu.entryconfigure(2, state="disabled" if is_empty else "normal")

    def _add(self, menu: tk.Menu, action: Action) -> None:
        system = self.look.system
        if action.name in OWN_PLACE.get(system, ()):
            return
        is_travel = action.name in ("undo", "redo")
        words = travel_words(self.context.state, action.name) if is_travel else ""
        key = action.keys[0] if action.keys else ""
        if system == "win32":
            key = {"redo": "Mod+Y", "close": "Alt+F4"}.get(action.name, key)
        menu.add_command(
            label=words or action.label,
            **self._row,
            accelerator=spoken(key, system).replace("⌘", "Command"),
            command=self._do(action.name),
            state="normal" if action.is_available(self.context) else "disabled",
        )


def help_table(system: str = "x11") -> dict[str, list[tuple[str, str]]]:
    """Return group -> (keys as a person reads them, what they do)."""
    table: dict[str, list[tuple[str, str]]] = {}
    for action in TABLE:
        keys = " or ".join(spoken(key, system) for key in action.keys)
        table.setdefault(action.group, []).append((keys, action.label))
    return table


MOST_COLUMNS = 4
COLUMN_EM = 41  # keys, words and what parts them
MARGINS_EM = 12  # around the columns, with the scroll bar


class HelpView:
    """The help page: every key and what it does, made from the action table; it never changes."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        outer = ttk.Frame(parent)
        outer.columnconfigure(0, weight=1)
        outer.rowconfigure(0, weight=1)
        self.canvas = surface(outer, "#FFFFFF")
        bar = ttk.Scrollbar(outer, command=self.canvas.yview)
        self.canvas.configure(yscrollcommand=bar.set)
        self.canvas.grid(row=0, column=0, sticky="nsew", padx=look.units(2), pady=look.units(1.5))
        bar.grid(row=0, column=1, sticky="ns")
        inner = ttk.Frame(self.canvas, style="White.TFrame", padding=look.units(2))
        self.canvas.create_window(0, 0, anchor="nw", window=inner)
        inner.bind(
            "<Configure>",
            lambda event: self.canvas.configure(scrollregion=self.canvas.bbox("all")),
        )
        for key, by in (("<Down>", 2), ("<Up>", -2), ("<Next>", 12), ("<Prior>", -12)):
            self.canvas.bind(key, partial(self._scroll, by=by))
        self._fill(inner)
        return outer

    def _fill(self, inner: ttk.Frame) -> None:
        look = self.look
        window = inner.winfo_toplevel()
        room = window.winfo_width() - look.units(MARGINS_EM)
        count = min(MOST_COLUMNS, max(1, room // look.units(COLUMN_EM)))
        columns = [ttk.Frame(inner, style="White.TFrame") for _ in range(count)]
        for i, column in enumerate(columns):
            column.grid(row=0, column=i, sticky="n", padx=(0, look.units(2)))
        heights = [0] * count
        for group, rows in help_table(look.system).items():
            i = heights.index(min(heights))
            self._group(columns[i], heights[i], group, rows)
            heights[i] += len(rows) + 3

    def _group(self, parent: ttk.Frame, row: int, group: str, rows: list[tuple[str, str]]) -> None:
        look = self.look
        ttk.Label(parent, text=group, style="WhiteHead.TLabel").grid(
            row=row, column=0, columnspan=2, sticky="w", pady=(look.units(1.5), look.units(0.5))
        )
        for i, (keys, words) in enumerate(rows, start=row + 1):
            ttk.Label(parent, text=keys, style="WhiteBold.TLabel").grid(
                row=i, column=0, sticky="nw", padx=(0, look.units(1.5))
            )
            label = ttk.Label(parent, text=words, style="White.TLabel")
            label.configure(wraplength=look.units(20.5), justify="left")
            label.grid(row=i, column=1, sticky="w", pady=look.units(0.15))

    def _scroll(self, event: "tk.Event[tk.Misc]", by: int) -> None:
        self.canvas.yview_scroll(by, "units")

    def show(self) -> None:
        self.canvas.focus_set()

    def refresh(self) -> None:
        """Do nothing: this page never changes."""

    def hint(self) -> str:
        return "F1 or Escape goes back."

    def corner(self) -> str:
        return ""
