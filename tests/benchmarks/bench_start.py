"""How long the window takes to come up and what it holds, against a bare Tk window.

    python -m tests.benchmarks.bench_start

Both programs import the same libraries and stop when the window is drawn and idle; each runs in a
Python of its own, in turn, and the medians are compared. Both are run once before, so that Python
has compiled them, as it has for whoever installed Tapmark; what is read in idle turns after the
window stands is in the memory of the last row only. Needs a screen.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

TURNS = 9
BARE = """
import tkinter as tk, numpy, PIL.Image, PIL.ImageTk, imageio_ffmpeg
root = tk.Tk()
"""
OURS = """
import os, sys
from datetime import datetime
import tkinter as tk, numpy, PIL.Image, PIL.ImageTk, imageio_ffmpeg
root = tk.Tk(className="Tapmark")
from tapmark.app.assembly import assemble
from tapmark.app.beginning import begin
desk = assemble(root, dict(os.environ), sys.platform, datetime.now)
begin(desk, None)
"""
WHOLE = f"""
{OURS}
for view in desk.places.views.values():
    pass
"""
END = """
import resource, time
root.after_idle(lambda: root.after(1, root.destroy))
root.mainloop()
print(time.time() - started, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def one_run(code: str, home: str) -> tuple[float, float]:
    """Return seconds and megabytes of one program from its first line to its end."""
    program = f"import time; started = time.time()\n{code}{END}"
    environment = os.environ | {"HOME": home, "XDG_CONFIG_HOME": home, "XDG_CACHE_HOME": home}
    environment |= {"PYTHONPYCACHEPREFIX": home, "PYTHONDONTWRITEBYTECODE": ""}
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
    )
    seconds, megabytes = done.stdout.split()[-2:]
    return float(seconds), float(megabytes)


def main() -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as home:
        for code in (BARE, WHOLE):
            one_run(code, home)
        runs = [(one_run(BARE, home), one_run(OURS, home)) for _ in range(TURNS)]
        whole = one_run(WHOLE, home)[1]
    print("| | bare Tk | Tapmark | ratio |\n|---|---|---|---|")
    for name, i in (("start, s", 0), ("memory, MB", 1)):
        bare, ours = (median(pair[k][i] for pair in runs) for k in (0, 1))
        print(f"| {name} | {bare:.2f} | {ours:.2f} | {ours / bare:.2f} |")
    bare = median(pair[0][1] for pair in runs)
    print(f"| memory once all is read, MB | {bare:.2f} | {whole:.2f} | {whole / bare:.2f} |")
    print(f"median of {TURNS} runs each, {Path(sys.executable).name} {sys.version.split()[0]}")


if __name__ == "__main__":
    main()
