"""How much a coach has to do from the clip to the page, and whether it comes out right."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.shell.squads import use_squad
from tests.app.coach import Coach
from tests.app.driving import OpenWindow

MOST_OF_THE_FIRST, MOST_OF_THE_NEXT = 90, 60  # ours: what a coach on a tired evening will bear
EVENING_S, ATHLETES = 80 * 60, 8
NO_TOUCHPAD_HAS = ("<Button-2>", "<Button-3>", "<Button-4>", "<Button-5>", "<Double-Button-1>")


@pytest.mark.long
def test_an_empty_folder_to_the_page_takes_90_actions_and_the_next_athlete_60(
    open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]
) -> None:
    """A touchpad is enough, the fault is found, and eight athletes fit into an evening.

    The time is that of the published keystroke-level model, worked out from what was done; what the
    hands are slower at than its typists has three times as long. Counted are clicks, keys, the
    system's own dialogs and every tap; not counted are letters typed and steps of a scrub.
    """
    app = open_app()
    others: list[Any] = []
    for event in NO_TOUCHPAD_HAS:
        app.root.bind_all(event, others.append, add="+")
    first = Coach(app, truth, 1)
    first.begin(tmp_path / "squad")
    first.work()
    assert first.tally.counted <= MOST_OF_THE_FIRST, dict(first.tally.actions)
    assert first.tally.actions["tap"] == 32
    reach = {row.foot: row.word for row in rows(app, "reach")}
    assert reach["left"] == "seen", "P02 lands 20° ahead of the knee"
    page = app.state.sheet.written
    assert page.is_file()

    squad = app.state.the_squad
    squad.save_athlete(replace(squad.athlete("P02"), code="P03"))
    app.context.attempt(lambda: use_squad(app.context, squad.folder))
    following = Coach(app, truth, 2)
    following.choose("P03")
    following.work()
    assert following.tally.counted <= MOST_OF_THE_NEXT, dict(following.tally.actions)
    assert following.tally.actions["tap"] == 32
    assert app.state.sheet.written not in (None, page)
    for coach in (first, following):  # nothing is answered by itself, whoever came before
        assert coach.open_at_first == {"direction", "context", "camera", "pain"}
    assert following.tally.actions["answer"] == 1, "pain; the rest is taken with one key"
    assert others == []
    assert ATHLETES * 3 * following.tally.seconds <= EVENING_S


def rows(app: Any, key: str) -> list[Any]:
    return [row for row in app.state.review.reading.assessment.rows if row.result.key == key]
