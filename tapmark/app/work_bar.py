"""A bar with Stop for work that takes longer than a blink, in the line at the bottom."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.jobs import Task
from tapmark.app.style import Look

WIDE_EM = 11
ROUND_S = 2.0
"""How long the bar takes to run once across where nobody knows how much is left."""


class WorkBar:
    """Shows how far the work is that the coach waits for; takes no room when there is none."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.desk, self._fresh = desk, Fresh()
        self.frame = ttk.Frame(parent)
        self.bar = ttk.Progressbar(self.frame, length=look.em(WIDE_EM), maximum=100)
        self.bar.grid(row=0, column=0, padx=(look.em(1), 0))
        self.stop = ttk.Button(self.frame, text="Stop", command=self._stop)
        self.stop.grid(row=0, column=1, padx=(look.em(1), 0))
        desk.jobs.looked = self.refresh

    def refresh(self) -> None:
        """Show or hide the bar, as the work at hand asks for it."""
        task = self.desk.jobs.waited_for()
        is_counted, percent = self._place(task)
        if not self._fresh.is_new(task, is_counted, percent):
            return
        if task is None:
            self.frame.grid_remove()
            return
        self.bar.configure(mode="determinate" if is_counted else "indeterminate", value=percent)
        self.stop.grid() if task.stopped else self.stop.grid_remove()
        self.frame.grid()

    def _place(self, task: Task | None) -> tuple[bool, int]:
        """Return whether the end is known, and where the bar stands, in percent."""
        if task is None:
            return True, 0
        done, of = task.so_far
        if of:
            return True, min(100, 100 * done // of)
        waited_s = self.desk.jobs.clock() - task.began_s
        return False, round(100 * waited_s / ROUND_S) % 100

    def _stop(self) -> None:
        stopped = self.desk.jobs.stop()
        if stopped:
            self.desk.state.said = stopped
            self.desk.state.tell()
        self.refresh()
