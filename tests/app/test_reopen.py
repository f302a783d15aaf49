"""Close the lid at any moment: the next window stands at the same prompt, whatever the frame."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.app.driving import Driver, OpenWindow


@pytest.mark.parametrize("n_taps", [3, 22], ids=["in the first frame", "in the fourth frame"])
def test_a_window_closed_mid_frame_reopens_at_the_same_prompt(
    open_app: OpenWindow,
    marked_squad: Callable[[], Path],
    truth: dict[str, Any],
    n_taps: int,
) -> None:
    """Power lost in frame 4, seen from the chair."""
    from tapmark.store.squad import open_squad
    from tests.app.look_at import only_first

    folder = marked_squad()
    squad = open_squad(folder)
    run = squad.load_run("P02", "2026-05-14", "run-1")
    squad.save_run("P02", "2026-05-14", "run-1", only_first(run, n_taps - 1))
    app = open_app(folder)
    app.open_last_run()
    app.go("taps")
    tap_one(app, truth)
    asked, counted = app.state.marking.prompt, app.view.count.cget("text")
    picture, taps = app.state.marking.picture, app.state.run.steps
    app.close()

    again = open_app(folder)
    if again.state.page == "squad":
        again.keyboard_on(again.view.list)
        again.press("Return")
    again.pump(lambda: again.state.marking.gallery, "the clip again")
    again.pump(lambda: again.state.page == "taps", "Taps")
    assert (asked, counted) == (again.state.marking.prompt, again.view.count.cget("text"))
    assert (picture, taps) == (again.state.marking.picture, again.state.run.steps)
    assert counted.startswith(f"{n_taps + 1} of 32")


def tap_one(app: Driver, truth: dict[str, Any]) -> None:
    prompt = app.state.marking.prompt
    app.pump(
        lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "the full picture"
    )
    app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    app.pump(lambda: app.state.marking.prompt != prompt, "the next prompt")
