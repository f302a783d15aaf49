"""Runs all tests in two pairs of processes: two have a screen each, two run those of values only.

    python -m tests [options of pytest]

A window under test must not share the keyboard with another one. Where there is Xvfb, each of the
two has a virtual screen of its own; else one has the screen there is, and where there is none the
tests that need one are skipped and say so. The processes claim a module before they run it, so
none runs twice. What they said follows when all are done, and one line for all. The tests of a
pair are collected once where a process can go on as two.
"""

import json
import os
import re
import select
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from tests.cores import stay_on_a_core

ROOT = Path(__file__).parent.parent
COUNT = re.compile(r"(\d+) (passed|failed|error|skipped|xfailed|xpassed)")
WINDOW, VALUES = ["tests/app"], ["tests", "--ignore=tests/app"]
NOTHING_CHOSEN = 5  # pytest's code where the options leave no test; another process has some
START_S = 30  # a virtual screen that says nothing for so long is not waited for


@contextmanager
def virtual_screen(i: int) -> Iterator[str]:
    """Start the i-th Xvfb and give the name of its display; "" where it does not start."""
    reading, writing = os.pipe()
    ask = ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1366x768x24", "-nolisten", "tcp"]
    quiet = subprocess.DEVNULL
    screen = subprocess.Popen(ask, pass_fds=(writing,), stdout=quiet, stderr=quiet)
    os.close(writing)
    stay_on_a_core(i, screen.pid)
    try:
        said = b""
        while not said.endswith(b"\n") and select.select([reading], [], [], START_S)[0]:
            if not (more := os.read(reading, 20)):
                break
            said += more
        yield f":{said.decode().strip()}" if said.strip() else ""
    finally:
        os.close(reading)
        screen.terminate()
        screen.wait()


def screens(open_screens: ExitStack) -> list[str]:
    """Return the display of each process that opens windows."""
    if not shutil.which("Xvfb"):
        return [os.environ.get("DISPLAY", "")]
    return [open_screens.enter_context(virtual_screen(i)) for i in range(2)]


def run_all(run: list[str], place: Path, displays: list[str]) -> list[int]:
    """Run both parts at the same time; return their codes. What each says goes into a file.

    On Linux the tests of a part are collected once, by a process that goes on as its others.
    """
    parts = [(WINDOW, displays), (VALUES, ["", ""])]
    if sys.platform != "linux":
        parts = [(part, [display]) for part, each in parts for display in each]
    processes = []
    for i, (part, each) in enumerate(parts):
        environment = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
        environment |= {"DISPLAY": each[0]} if each[0] else {}
        ask = [*run, *part, *([f"--fork={json.dumps(each)}"] if len(each) > 1 else [])]
        with (place / f"said {i}").open("w", encoding="utf-8") as paper:
            processes.append(subprocess.Popen(ask, cwd=ROOT, stdout=paper, env=environment))
    return [process.wait() for process in processes]


def main(options: list[str]) -> int:
    """Run them and return 0 when all passed."""
    began_s = time.monotonic()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # numpy's others wait by turning round
    with tempfile.TemporaryDirectory(prefix="tests-") as place, ExitStack() as open_screens:
        run = [sys.executable, "-m", "pytest", f"--claims={place}", *options]
        codes = {*run_all(run, Path(place), screens(open_screens))}
        papers = sorted(Path(place).glob("said*"))
        texts = [paper.read_text("utf-8") for paper in papers]
    counts = Counter[str]()
    for words in filter(None, texts):  # a process that went on as others says nothing itself
        print(words)
        last = words.rstrip().rpartition("\n")[2]
        counts.update({kind: int(n) for n, kind in COUNT.findall(last)})
    took = f"{time.monotonic() - began_s:.0f} s"
    print("In all:", ", ".join(f"{n} {kind}" for kind, n in counts.items()), "in", took)
    return 1 if codes - {0, NOTHING_CHOSEN} else min(codes)  # a killed one has a code below 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
