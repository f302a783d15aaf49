"""The system's own dialog for a folder: one OK takes what was typed."""

import sys
import tkinter as tk
from pathlib import Path

import pytest

from tapmark.app.shell.dialogs import Dialogs

DATA = "::tk::dialog::file::__tk_choosedir"
LIMIT_MS = 60_000


@pytest.mark.skipif(sys.platform != "linux", reason="the dialog is the system's own, not Tk's")
@pytest.mark.parametrize("is_there", [True, False], ids=["a folder", "a name to be made"])
def test_one_press_takes_a_typed_folder(screen: None, tmp_path: Path, is_there: bool) -> None:
    wanted = tmp_path / "Thursday group"
    if is_there:
        wanted.mkdir()
    root = tk.Tk()
    dialogs = Dialogs(root)

    def answer() -> None:
        field, button = (root.tk.getvar(f"{DATA}({part})") for part in ("ent", "okBtn"))
        root.tk.call(field, "delete", 0, "end")
        root.tk.call(field, "insert", 0, str(wanted))
        root.tk.call(button, "invoke")
        root.after(LIMIT_MS, lambda: root.tk.setvar("::tk::Priv(selectFilePath)", "asked again"))

    root.after(200, answer)
    try:
        assert dialogs.folder("Open a squad: choose its folder") == wanted
    finally:
        root.destroy()
