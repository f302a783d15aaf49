"""How long one athlete takes, by a published model of hands and thoughts. Printed, not judged.

    python -m tests.benchmarks.bench_coach

The scripted coach of tests/app/coach.py marks the drawn athlete P02 in the real window. Looking
closely at a blurred joint, doubt and talk are not in the model: a real evening is slower.
"""

import json
import tempfile
import tkinter as tk
from datetime import datetime
from pathlib import Path

from tapmark.app.main import assemble, begin
from tapmark.marks.people import Athlete
from tapmark.store.consent import give
from tapmark.store.squad import make_squad
from tests.app.coach import Coach, Tally
from tests.app.driving import SAMPLES, Asked, Driver


def main() -> None:
    """Print the tally and the estimate."""
    root, asked = tk.Tk(), Asked()
    truth = json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        squad = make_squad(Path(folder) / "squad", "Bench")
        squad.save_athlete(give(Athlete("P02", 1998), "film", "B", "2026-05-01", "2026-12-31"))
        environment = {"HOME": folder, "XDG_CACHE_HOME": f"{folder}/cache"}
        context = assemble(root, environment, "linux", lambda: datetime(2026, 5, 14), asked)
        app = Driver(root, context, asked)
        begin(context, squad.folder)
        app.pump(lambda: app.state.athlete, "the athlete")
        tally = Coach(app, truth, 1).work()
        app.close()
    report(tally)


def report(tally: Tally) -> None:
    """Print what was done and the model's seconds."""
    print(f"actions counted: {tally.counted} ({dict(tally.actions)})")
    print(f"scrub presses: {tally.scrubs}, letters typed: {tally.letters}")
    print(f"keystroke-level model: {tally.seconds:.0f} s for one side of one athlete")


if __name__ == "__main__":
    main()
