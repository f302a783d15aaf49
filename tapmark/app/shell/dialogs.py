"""The system's own file dialogs: the only dialogs there are."""

import contextlib
import tkinter as tk
from pathlib import Path
from tkinter import filedialog
from typing import Any

from tapmark.media_types import CLIPS, STILLS, patterns


class Dialogs:
    """Asks through the system's dialogs, beginning where it was asked last; None when cancelled."""

    def __init__(self, root: tk.Misc) -> None:
        self._root = root
        self._last = ""
        if root.tk.call("tk", "windowingsystem") == "x11":
            _leave_hidden_files_out(root)
            _take_a_folder_at_once(root)

    def clip(self) -> Path | None:
        """Ask for one clip."""
        return self._file("Open a clip", "Clips", patterns(CLIPS))

    def list_file(self) -> Path | None:
        """Ask for a list of athletes (CSV)."""
        return self._file("Import a list", "Lists", "*.csv *.txt")

    def zip_file(self) -> Path | None:
        """Ask for a back-up."""
        return self._file("Open a back-up", "Back-ups", "*.zip")

    def _file(self, title: str, kind: str, endings: str) -> Path | None:
        kinds = [(kind, endings), ("All files", "*")]
        ask = filedialog.askopenfilename
        return self._one(ask(title=title, filetypes=kinds, **self._where))

    def stills(self) -> tuple[Path, ...]:
        """Ask for loose stills; empty when cancelled."""
        kinds, ask = [("Pictures", patterns(STILLS)), ("All files", "*")], filedialog
        names = ask.askopenfilenames(title="Open loose stills", filetypes=kinds, **self._where)
        return tuple(Path(name) for name in names or ())

    def folder(self, title: str) -> Path | None:
        """Ask for a folder that exists or will be made."""
        return self._one(filedialog.askdirectory(title=title, **self._where))

    def save_as(self, title: str, name: str) -> Path | None:
        """Ask where to write a file."""
        ask, ending = filedialog.asksaveasfilename, Path(name).suffix
        return self._one(ask(title=title, initialfile=name, defaultextension=ending, **self._where))

    @property
    def _where(self) -> dict[str, Any]:
        return {"parent": self._root, "initialdir": self._last}

    def _one(self, name: str) -> Path | None:
        if not name:
            return None
        self._last = str(Path(name).parent)
        return Path(name)


def _take_a_folder_at_once(root: tk.Misc) -> None:
    """Let one OK take the folder that was typed or marked; Tk's own dialog on X11 asks twice.

    Its first OK only goes into the folder, or remembers the name of one that is not there yet.
    """
    root.tk.call("auto_load", "::tk::dialog::file::chooseDir::")
    root.tk.eval(
        """proc ::tk::dialog::file::chooseDir::OkCmd {w} {
            upvar ::tk::dialog::file::[winfo name $w] data
            set marked [$data(icons) selection get]
            set name [string trim [$data(ent) get]]
            if {[llength $marked]} {
                set name [$data(icons) get [lindex $marked 0]]
            }
            if {$name ne ""} {
                Done $w [file join $data(selectPath) $name]
            }
        }"""
    )


def _leave_hidden_files_out(root: tk.Misc) -> None:
    """Tk draws its own dialogs on X11 and lists hidden files unless told; others use the system's.

    The variables exist once a dialog's script is loaded; asking for a wrong option loads it.
    """
    with contextlib.suppress(tk.TclError):
        root.tk.call("tk_getOpenFile", "-nothing")
    root.tk.call("set", "::tk::dialog::file::showHiddenBtn", "1")
    root.tk.call("set", "::tk::dialog::file::showHiddenVar", "0")
