"""How much a coach has to do from the clip to the page, and whether it comes out right."""

from pathlib import Path
from typing import Any

import pytest

from tests.app.coach import Coach
from tests.app.driving import OpenWindow

MOST_DEEDS = 60
EVENING_S, ATHLETES = 80 * 60, 8
NO_TOUCHPAD_HAS = ("<Button-2>", "<Button-3>", "<Button-4>", "<Button-5>", "<Double-Button-1>")


@pytest.mark.parametrize("seed", [1])
def test_clip_to_sheet_takes_at_most_sixty_actions_and_finds_the_fault(
    open_app: OpenWindow, squad_folder: Path, truth: dict[str, Any], seed: int
) -> None:
    """A touchpad is enough, and eight athletes fit into an evening.

    The time is that of the published keystroke-level model, worked out from what was done; what the
    hands are slower at than its typists has three times as long.
    """
    app = open_app(squad_folder)
    app.pump(lambda: app.state.athlete, "the first athlete")
    others: list[Any] = []
    for event in NO_TOUCHPAD_HAS:
        app.root.bind_all(event, others.append, add="+")
    tally = Coach(app, truth, seed).work()

    assert tally.counted <= MOST_DEEDS, dict(tally.actions)
    assert tally.actions["tap"] == 32
    assert others == []
    assert ATHLETES * 3 * tally.seconds <= EVENING_S
    reach = {row.foot: row.word for row in rows(app, "reach")}
    assert reach["left"] == "seen", "P02 lands 20° ahead of the knee"
    assert app.state.sheet.written.is_file()


def rows(app: Any, key: str) -> list[Any]:
    return [row for row in app.state.review.reading.assessment.rows if row.result.key == key]
