"""Hand a finished file to the system: show it, or print it. Only files that we wrote."""

import os
import subprocess
import sys
from pathlib import Path

from tapmark.errors import CannotWrite


def open_file(path: Path) -> None:
    """Show a file with the program that the system has for it; raise CannotWrite."""
    if sys.platform == "win32":
        os.startfile(path)
        return
    program = "open" if sys.platform == "darwin" else "xdg-open"
    _start([program, str(path)], f"“{path.name}” lies in “{path.parent}”. Open it from there.")


def print_file(path: Path) -> None:
    """Send a file to the usual printer; raise CannotWrite when there is no way to."""
    if sys.platform == "win32":
        os.startfile(path, "print")
        return
    _start(["lp", str(path)], f"Open “{path.name}” in “{path.parent}” and print it from there.")


def _start(words: list[str], otherwise: str) -> None:
    try:
        subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError:
        raise CannotWrite(f"There is no “{words[0]}” on this computer. {otherwise}") from None
