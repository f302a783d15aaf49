"""The page of what is about to be done: sentences, lines with choices, one button."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Literal

from tapmark.app.shell.context import Context
from tapmark.app.shell.keys import sequence
from tapmark.app.shell.proposals import choose, why_disabled
from tapmark.app.state.proposal import Line, Proposal, next_choice
from tapmark.app.state.session import ProposalPage
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    label,
    put,
    scrolled,
    when_idle,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look

WORDS_EM = 57


class ProposalView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look, self._fresh, self._shown = context, look, Fresh(), Fresh()
        self._fresh_line = Fresh()
        self._headings: tuple[tuple[str, int], ...] = ()
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self.title = label(side.large, 0, style="Title.TLabel", columnspan=2)
        self.about = ttk.Label(side.large, justify="left")
        self.about.grid(
            row=1, column=0, columnspan=2, sticky="ew", pady=(look.units(0.8), look.units(1.2))
        )
        self.about.bind("<Configure>", lambda event: self._wrap(event.width))
        self._build_list(side.large)
        self._build_words(side.words)
        self._build_foot(side.foot)
        return side.frame

    def _wrap(self, width: int) -> None:
        self.about.configure(wraplength=max(1, width - 6))

    def _build_list(self, parent: ttk.Frame) -> None:
        self.list = ttk.Treeview(parent, selectmode="browse")
        self.list.tag_configure("group", font=self.look.font("bold"))
        self.cells = Cells(self.list, self.look)
        self.list.bind("<Configure>", lambda event: self._selected(), add="+")  # cut or not now
        self.list.grid(row=2, column=0, sticky="nsew")
        scrolled(self.list, parent, 2)
        self.list.bind("<<TreeviewSelect>>", lambda event: self._selected())
        self.list.bind("<space>", lambda event: self._next_choice())
        self.list.bind("<Return>", lambda event: self._next_choice())
        self.list.bind(sequence("Mod+Return", self.look.system), lambda event: None)  # goes on

    def _build_words(self, parent: ttk.Frame) -> None:
        look, width = self.look, self.look.units(WORDS_EM - 1)
        self.line_title = label(parent, 0, style="Head.TLabel", wrap=width)
        self.line_about = label(parent, 1, wrap=width, pady=(look.units(0.8), look.units(1)))
        self.choices = put(ttk.Frame(parent), 2, 0, "ew")
        self.table = ttk.Treeview(parent, selectmode="none", show="headings", takefocus=0)
        self.table.grid(row=3, column=0, sticky="ew", pady=look.units(1))

    def _build_foot(self, foot: ttk.Frame) -> None:
        look = self.look
        self.typing = put(ttk.Frame(foot), 0, 0, "e", pady=(0, look.units(1)))
        self.typing_words = label(self.typing, 0, sticky="", padx=(0, look.units(1)))
        self.typed = put(ttk.Entry(self.typing, width=14), 0, 1)
        self.typed.bind("<Key>", lambda event: when_idle(self.typed, self._type))
        self.typed.bind("<Return>", lambda event: self.context.perform("do it"))
        self.buttons = put(ttk.Frame(foot), 2, 0, "e")
        self.more = put(ttk.Frame(foot), 1, 0, "e")
        self.leave = ActionButton(self.buttons, self.context, look, "leave", "Back")
        self.leave.grid(row=0, column=1)
        self.confirm = ActionButton(self.buttons, self.context, look, "do it", is_primary=True)
        self.confirm.grid(row=0, column=2, padx=(look.units(1), 0))

    def show(self) -> None:
        self._shown.forget()
        self._fresh.forget()
        self.refresh()
        proposal = self.page.proposal
        (self.typed if proposal and proposal.typed else self.list).focus_set()

    def refresh(self) -> None:
        proposal = self.page.proposal
        if proposal is None:
            return
        if self._shown.is_new(id(proposal)):
            self._show(proposal)
        if self._fresh.is_new(tuple(self.page.choices.items())):
            self._show_choices(proposal)
        self.confirm.button.state(["disabled" if why_disabled(self.context) else "!disabled"])

    def _show(self, proposal: Proposal) -> None:
        self.title.configure(text=proposal.title)
        self.about.configure(text="\n".join(proposal.about))
        self._show_lines(proposal)
        self.typed.delete(0, "end")
        self.typing_words.configure(text=f"Type {proposal.typed}")
        self.typing.grid() if proposal.typed else self.typing.grid_remove()
        self.leave.button.configure(text="Cancel" if proposal.action else "Back")
        if proposal.action:
            self.confirm.button.configure(text=proposal.confirm)
            self.confirm.button.grid()
        else:
            self.confirm.button.grid_remove()
        for child in self.more.winfo_children():
            child.destroy()
        for i, (words, action) in enumerate(proposal.more):
            again = partial(self.context.attempt, partial(action, self.context))
            pad = (self.look.units(1) if i else 0, 0)
            button = ttk.Button(self.more, text=words, command=again)
            button.grid(row=0, column=i, padx=pad, pady=(0, self.look.units(1)))
        self.more.grid() if proposal.more else self.more.grid_remove()

    def _show_lines(self, proposal: Proposal) -> None:
        choosing = (("choice", 6),) if proposal.choices() else ()
        self._headings = (*proposal.headings, *choosing)
        columns = [f"c{i}" for i in range(len(self._headings))]
        self.cells.clear()
        self.list.configure(columns=columns, show="headings")
        for column, (words, _) in zip(columns, self._headings, strict=True):
            self.list.heading(column, text=words, anchor="w")
        group = ""
        for line in proposal.lines:
            if line.group and line.group != group:
                if group:
                    self.cells.insert(None, ("",))
                self.cells.insert(None, (line.group,), tags=("group",))
                group = line.group
            self.cells.insert(f"line {line.key}", line.cells)
        self.list.grid() if proposal.lines else self.list.grid_remove()
        if proposal.lines:
            first = f"line {proposal.lines[0].key}"
            self.list.selection_set(first)
            self.list.focus(first)
        self._selected()

    def _show_choices(self, proposal: Proposal) -> None:
        chosen = self.page.choices
        for line in proposal.lines:
            if line.choices:
                self.cells.change(f"line {line.key}", (*line.cells, chosen[line.key]))
        self.cells.lay_out()
        self._fresh_line.forget()
        self._selected()

    @property
    def page(self) -> ProposalPage:
        return self.context.state.around.proposal

    def _line(self) -> Line | None:
        selected, proposal = self.list.selection(), self.page.proposal
        if not selected or not selected[0].startswith("line ") or proposal is None:
            return None
        return proposal.line(selected[0].removeprefix("line "))

    def _selected(self) -> None:
        line = self._line()
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
        if not self._fresh_line.is_new(line, whole):
            return
        has_more = line is not None and bool(line.about or line.choices or line.table or whole)
        self.line_title.configure(text=line.cells[0] if line and has_more else "")
        self.line_about.configure(text=line.about or whole if line else "")
        for child in self.choices.winfo_children():
            child.destroy()
        self._show_table(line.table if line else ())
        if line:
            for i, choice in enumerate(line.choices):
                self._choice_button(i, line, choice)

    def _choice_button(self, i: int, line: Line, choice: str) -> None:
        is_chosen = self.page.choices.get(line.key) == choice
        ttk.Button(
            self.choices,
            text=choice,
            style="Chosen.TButton" if is_chosen else "TButton",
            command=partial(choose, self.context.state, line.key, choice),
        ).grid(row=0, column=i, padx=(0, self.look.units(1)))

    def _show_table(self, rows: tuple[tuple[str, ...], ...]) -> None:
        self.table.delete(*self.table.get_children())
        if not rows:
            self.table.grid_remove()
            return
        head, *body = rows
        columns = [f"t{i}" for i in range(len(head))]
        self.table.configure(columns=columns, height=len(body))
        font = self.look.font("body")
        widths = [
            max(map(font.measure, cells)) + self.look.units(2) for cells in zip(*rows, strict=True)
        ]
        widths[0] = self.look.units(WORDS_EM) - sum(widths[1:])
        for i, (column, words) in enumerate(zip(columns, head, strict=True)):
            side: Literal["e", "w"] = "e" if i else "w"
            self.table.heading(column, text=words, anchor=side)
            self.table.column(column, width=widths[i], anchor=side)
        for row in body:
            self.table.insert("", "end", values=row)
        self.table.grid()

    def _next_choice(self) -> str:
        line = self._line()
        if line and line.choices:
            now = self.page.choices[line.key]
            choose(self.context.state, line.key, next_choice(line, now))
        return "break"

    def _type(self) -> None:
        self.page.typed = self.typed.get()
        self.context.state.notify()

    def hint(self) -> str:
        proposal = self.page.proposal
        if proposal is None or proposal.action is None:
            return "Escape goes back."
        chooses = " Space changes the choice of a line." if proposal.choices() else ""
        return f"Nothing has been changed yet.{chooses} Escape cancels."

    def corner(self) -> str:
        return ""
