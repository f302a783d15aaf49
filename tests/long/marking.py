"""A scripted marking of one run, to be killed: python -m tests.long.marking SQUAD [FAULT]

Opens the run as the window does, places the 32 standard taps one by one, saves each through the
store and says its number on standard output once the save has returned: from then on it is
acknowledged and nothing may lose it. FAULT, e.g. "write:7:28", makes the 7th os.write fail with
error 28; the save is then told as "refused" and tried again.
"""

import os
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from tapmark.cli import write_plainly
from tapmark.errors import CannotWrite
from tapmark.marks import edits
from tapmark.marks.people import Athlete
from tapmark.marks.points import prompts
from tapmark.marks.run import Run, Source, Tap
from tapmark.store.open_run import OpenRun, open_run
from tapmark.store.squad import Squad, make_squad, open_squad

WHERE = ("K07", "2026-05-14", "run-1")
NOW = datetime(2026, 5, 14, 20, 30)
N_TAPS = 32


def empty_run() -> Run:
    """A run with its five key frames and no taps."""
    run = Run(source=Source("stills", "run-1", (1280, 720), 60), marked_by="AB")
    for i, event in enumerate(prompts("side")):
        run = edits.set_key_frame(run, 0, event, 10 * i, 0.04 * i, 1 / 30)
    return run


def after_each_tap() -> Iterator[Run]:
    """The run after 0, 1, … 32 taps."""
    run = empty_run()
    yield run
    for i, (event, points) in enumerate(prompts("side").items()):
        for j, point in enumerate(points):
            run = edits.place_tap(run, 0, event, Tap(point, (400.25 + 20 * i, 200.5 + 30 * j)))
            yield run


def fresh_squad(folder: Path) -> Squad:
    """A squad with one athlete and the empty run."""
    squad = make_squad(folder, "Tuesday")
    squad.save_athlete(Athlete(WHERE[0]))
    squad.new_run(*WHERE[:2], empty_run())
    return squad


def n_taps(run: Run) -> int:
    """How many taps a run has."""
    return sum(1 for _ in run.taps())


def mark(squad: Squad, program: str = "scripted marking") -> None:
    """Carry on from the last saved tap to the end, saying each tap that is on the disk."""
    with open_run(squad, *WHERE, program, NOW) as held:
        print(f"open {n_taps(held.run)}", flush=True)
        for run in list(after_each_tap())[n_taps(held.run) + 1 :]:
            _save(held, run)
            print(n_taps(run), flush=True)


def _save(held: OpenRun, run: Run) -> None:
    try:
        held.save(run)
    except CannotWrite as error:
        print(f"refused {error}", flush=True)
        held.save(run)


def break_call(fault: str) -> None:
    """Make the nth use of a system call fail, for good when the number has a + behind it."""
    name, nth, code = fault.split(":")
    first, last = int(nth.rstrip("+")), 10**9 if nth.endswith("+") else int(nth)
    real, uses = getattr(os, name), iter(range(1, 10**9))

    def call(*arguments: object, **more: object) -> object:
        if first <= next(uses) <= last:
            raise OSError(int(code), os.strerror(int(code)))
        return real(*arguments, **more)

    setattr(os, name, call)


def main() -> None:
    write_plainly()
    squad = open_squad(Path(sys.argv[1]))
    if len(sys.argv) > 2:
        break_call(sys.argv[2])
    mark(squad)


if __name__ == "__main__":
    main()
