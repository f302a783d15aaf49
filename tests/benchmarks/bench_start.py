"""How long the window takes to come up and what it holds, against a bare Tk window.

    python -m tests.benchmarks.bench_start

Both programs import the same libraries and stop when the window is drawn and idle; each runs in a
Python of its own, in turn, and the medians are compared. Both are run once before, so that Python
has compiled them, as it has for whoever installed Tapmark. "Imports alone" is what reading our own
modules costs beside those libraries, without a window. Seconds of CPU, Python's own start included,
say more than seconds where the machine is busy. Needs a screen.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

TURNS = 9
LIBRARIES = """
import tkinter as tk, numpy, PIL.Image, PIL.ImageTk, imageio_ffmpeg
"""
BARE = f"""
{LIBRARIES}
root = tk.Tk()
"""
IMPORTS = f"""
{LIBRARIES}
import tapmark.app.main
"""
OURS = f"""
import os, sys
from datetime import datetime
{LIBRARIES}
root = tk.Tk(className="Tapmark")
from tapmark.app.main import assemble, begin
context = assemble(root, dict(os.environ), sys.platform, datetime.now)
begin(context, None)
"""
SHOW = """
root.after_idle(lambda: root.after(1, root.destroy))
root.mainloop()
"""
END = """
import resource, time
used = resource.getrusage(resource.RUSAGE_SELF)
print(time.time() - started, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
"""


def one_run(code: str, home: str) -> tuple[float, float, float]:
    """Return seconds, seconds of CPU and megabytes of one program."""
    show = SHOW if "root" in code else ""
    program = f"import time; started = time.time()\n{code}{show}{END}"
    environment = os.environ | {"HOME": home, "XDG_CONFIG_HOME": home, "XDG_CACHE_HOME": home}
    environment |= {"PYTHONPYCACHEPREFIX": home, "PYTHONDONTWRITEBYTECODE": ""}
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    seconds, cpu, megabytes = done.stdout.split()[-3:]
    return float(seconds), float(cpu), float(megabytes)


def main() -> None:
    """Print the table."""
    programs = {"libraries": LIBRARIES, "imports": IMPORTS, "bare": BARE, "ours": OURS}
    with tempfile.TemporaryDirectory() as home:
        for code in (BARE, OURS):
            one_run(code, home)
        runs = [
            {name: one_run(code, home) for name, code in programs.items()} for _ in range(TURNS)
        ]
    print("| | bare | Tapmark | ratio |\n|---|---|---|---|")
    for name, first, second, i in (
        ("start, s", "bare", "ours", 0),
        ("start, CPU s", "bare", "ours", 1),
        ("imports alone, CPU s", "libraries", "imports", 1),
        ("memory, MB", "bare", "ours", 2),
    ):
        bare, ours = (median(run[program][i] for run in runs) for program in (first, second))
        print(f"| {name} | {bare:.2f} | {ours:.2f} | {ours / bare:.2f} |")
    print(f"median of {TURNS} runs each, {Path(sys.executable).name} {sys.version.split()[0]}")


if __name__ == "__main__":
    main()
