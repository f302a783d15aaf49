"""The page of what is about to be done: sentences, lines with choices, one button."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Literal

from tapmark.app.shell.context import Context
from tapmark.app.shell.keys import sequence
from tapmark.app.shell.proposals import choose
from tapmark.app.state.pages import ProposalPage
from tapmark.app.state.proposal import Line, Proposal, next_choice
from tapmark.app.widgets.columns import Side, browsed
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    emptied,
    label,
    mark_chosen,
    put,
    show,
    when_idle,
    wrap_within,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look

WORDS_EM = 57


class ProposalView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._shown, self._chosen, self._told = Fresh(), Fresh(), Fresh()
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self.title = label(side.large, 0, style="Title.TLabel", columnspan=2)
        pad = look.units(0.8), look.units(1.2)
        self.about = label(side.large, 1, columnspan=2, sticky="ew", pady=pad)
        wrap_within(self.about, side.large)
        self.list = browsed(side.large, 2, self._tell, show="headings")
        self.list.tag_configure("group", font=look.font("bold"))
        self.cells = Cells(self.list, look)
        self.list.bind("<Configure>", lambda event: self._tell(), add="+")  # cut or not now
        for key in ("<space>", "<Return>"):
            self.list.bind(key, lambda event: self._next_choice())
        self.list.bind(sequence("Mod+Return", look.system), lambda event: None)  # goes on
        words, width, pad = side.words, look.units(WORDS_EM - 1), (look.units(0.8), look.units(1))
        self.line_title = label(words, 0, style="Head.TLabel", wrap=width)
        self.line_about = label(words, 1, wrap=width, pady=pad)
        self.choices = put(ttk.Frame(words), 2, 0, "ew")
        table = ttk.Treeview(words, selectmode="none", show="headings", takefocus=0)
        self.table = put(table, 3, 0, "ew", pady=look.units(1))
        self._build_foot(side.foot)
        return side.frame

    def _build_foot(self, foot: ttk.Frame) -> None:
        gap = self.look.units(1)
        self.typing = put(ttk.Frame(foot), 0, 0, "e", pady=(0, gap))
        self.typing_words = label(self.typing, 0, sticky="", padx=(0, gap))
        self.typed = put(ttk.Entry(self.typing, width=14), 0, 1)
        self.typed.bind("<Key>", lambda event: when_idle(self.typed, self._type))
        self.typed.bind("<Return>", lambda event: self.context.perform("do it"))
        self.more, buttons = put(ttk.Frame(foot), 1, 0, "e"), put(ttk.Frame(foot), 2, 0, "e")
        button = partial(ActionButton, buttons, self.context, self.look)
        put(button("leave", self._leave_words), 0, 1)
        confirm = button("do it", self._confirm_words, is_primary=True)
        self.confirm = put(confirm, 0, 2, padx=(gap, 0))

    def show(self) -> None:
        self._shown.forget()
        self._chosen.forget()
        self.refresh()
        proposal = self.page.proposal
        (self.typed if proposal and proposal.typed else self.list).focus_set()

    def refresh(self) -> None:
        proposal, chosen = self.page.proposal, self.page.choices
        if proposal is None:
            return
        if self._shown.is_new(id(proposal)):
            self._show(proposal)
        if self._chosen.is_new(tuple(chosen.items())):
            for line in proposal.lines:
                if line.choices:
                    self.cells.change(f"line {line.key}", (*line.cells, chosen[line.key]))
            self.cells.lay_out()
            self._told.forget()
            self._tell()

    def _leave_words(self) -> str:
        return "Cancel" if self.page.proposal and self.page.proposal.action else "Back"

    def _confirm_words(self) -> str:
        return self.page.proposal.confirm if self.page.proposal else ""

    def _show(self, proposal: Proposal) -> None:
        self.title.configure(text=proposal.title)
        self.about.configure(text="\n".join(proposal.about))
        self._show_lines(proposal)
        self.typed.delete(0, "end")
        self.typing_words.configure(text=f"Type {proposal.typed}")
        gap = self.look.units(1)
        emptied(self.more)
        for i, (words, action) in enumerate(proposal.more):
            again = partial(self.context.attempt, partial(action, self.context))
            button = ttk.Button(self.more, text=words, command=again)
            put(button, 0, i, padx=(gap if i else 0, 0), pady=(0, gap))
        for widget, is_shown in (
            (self.list, proposal.lines),
            (self.typing, proposal.typed),
            (self.more, proposal.more),
            (self.confirm, proposal.action),
        ):
            show(widget, bool(is_shown))

    def _show_lines(self, proposal: Proposal) -> None:
        """Fill the list: a heading and an empty line before each group but the first."""
        headings = [*proposal.headings, *(["choice"] if proposal.choices() else [])]
        self.cells.clear()
        self.cells.head(*((f"c{i}", words) for i, words in enumerate(headings)))
        group = ""
        for line in proposal.lines:
            if line.group and line.group != group:
                if group:
                    self.cells.insert(None, ("",))
                self.cells.insert(None, (line.group,), tags=("group",))
                group = line.group
            self.cells.insert(f"line {line.key}", line.cells)
        if proposal.lines:
            self.cells.select(f"line {proposal.lines[0].key}")
        self._tell()

    @property
    def page(self) -> ProposalPage:
        return self.context.state.around.proposal

    def _line(self) -> Line | None:
        selected, proposal = self.list.selection(), self.page.proposal
        if not selected or not selected[0].startswith("line ") or proposal is None:
            return None
        return proposal.line(selected[0].removeprefix("line "))

    def _tell(self) -> None:
        """Show beside the list what the selected line has more to say, and its choices."""
        line = self._line()
        whole = self.cells.cut_words()
        if not self._told.is_new(line, whole):
            return
        has_more = line and (line.about or line.choices or line.table or whole)
        self.line_title.configure(text=line.cells[0] if line and has_more else "")
        self.line_about.configure(text=line.about or whole if line else "")
        self._show_table(line.table if line else ())
        emptied(self.choices)
        for i, choice in enumerate(line.choices if line else ()):
            assert line
            take = partial(choose, self.context.state, line.key, choice)
            button = ttk.Button(self.choices, text=choice, command=take)
            mark_chosen(button, self.page.choices.get(line.key) == choice)
            put(button, 0, i, padx=(0, self.look.units(1)))

    def _show_table(self, rows: tuple[tuple[str, ...], ...]) -> None:
        """Show rows, their headings first: the first column takes what the others leave."""
        self.table.delete(*self.table.get_children())
        if not rows:
            self.table.grid_remove()
            return
        head, *body = rows
        columns = [f"t{i}" for i in range(len(head))]
        self.table.configure(columns=columns, height=len(body))
        measure, gap = self.look.font("body").measure, self.look.units(2)
        widths = [max(map(measure, cells)) + gap for cells in zip(*rows, strict=True)]
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
