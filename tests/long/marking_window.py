"""The real window, marked by script, to be killed: python -m tests.long.marking_window FOLDER

Opens the squad in FOLDER/squad, goes on with its run where the last window was killed, and clicks
one point after the other. Each time the page has been painted it says the number of taps on it on
standard output: what is painted is acknowledged, and nothing may lose it. Needs a screen.
"""

import json
import sys
import tkinter as tk
from datetime import datetime
from pathlib import Path
from typing import Any

from tapmark.app.actions import TABLE
from tapmark.app.main import assemble, begin
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import use_squad
from tests.app.driving import SAMPLES, Asked, Driver
from tests.long.marking import n_taps

WHERE = ("P02", "2026-05-14", "run-1")


def truth() -> dict[str, Any]:
    """Where every joint of the drawn athlete P02 really is."""
    return json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))


def opened(folder: Path) -> Driver:
    """Open the window on the run."""
    assert TABLE, "all keys act from the first moment"
    root, asked = tk.Tk(), Asked()
    home = {"HOME": str(folder), "XDG_CONFIG_HOME": str(folder), "XDG_CACHE_HOME": str(folder)}
    context = assemble(root, home, "linux", datetime.now, asked)
    driver = Driver(root, context, asked)
    begin(context, None)
    use_squad(context, folder / "squad")
    open_run(context, *WHERE)
    driver.wait_for_clip()
    context.go("taps")
    driver.pump(lambda: driver.window._shown == "taps")  # noqa: SLF001
    return driver


def say_what_is_painted(driver: Driver) -> None:
    """Say the number of taps each time the page has been painted."""
    paint = driver.window._refresh  # noqa: SLF001

    def painted() -> None:
        paint()
        driver.root.update_idletasks()
        print(n_taps(driver.state.run), flush=True)

    driver.window._refresh = painted  # noqa: SLF001


def main() -> None:
    driver, at = opened(Path(sys.argv[1])), truth()["stills"]
    say_what_is_painted(driver)
    driver.state.notify()
    driver.pump()
    while (prompt := driver.state.marking.prompt) is not None:
        driver.pump(
            lambda: driver.state.marking.gallery.has_full(driver.state.marking.picture),
            "the picture",
        )
        driver.tap(at[prompt.event]["points"][prompt.point])
        driver.pump(lambda prompt=prompt: driver.state.marking.prompt != prompt, "the next point")
    driver.close()


if __name__ == "__main__":
    main()
