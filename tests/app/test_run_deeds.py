"""Another pass of the same day: what is asked again and what is not."""

from pathlib import Path

import pytest

from tapmark.app.desk import Desk
from tapmark.app.film_deeds import answer
from tapmark.app.mark_deeds import tap_at
from tapmark.app.run_deeds import page_for
from tapmark.marks.run import Run
from tests.app.made import desk_with_run, show_drawn

POLE = ((600.0, 500.0), (600.0, 100.0))


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path) -> Desk:
    made = desk_with_run(tmp_path, squad_folder)
    answer(made, "set-up", slow_factor=8.0, rate_source="typed in", upright_px=POLE, effort=9)
    return made


def test_the_rate_of_one_clip_is_never_taken_for_the_next(desk: Desk) -> None:
    desk.perform("another pass")
    assert (desk.state.run.set_up.slow_factor, desk.state.run_name) == (None, "")


@pytest.mark.parametrize(
    ("camera", "kept"), [("tripod", POLE), ("hand-held", None), ("panned", None)]
)
def test_the_pole_is_kept_as_long_as_the_tripod_stands(
    desk: Desk, camera: str, kept: object
) -> None:
    answer(desk, "camera", camera=camera)
    desk.perform("another pass")
    assert desk.state.run.set_up.upright_px == kept


def test_another_pass_is_counted_in_its_visit(desk: Desk) -> None:
    desk.perform("another pass")
    show_drawn(desk, is_new=True)
    assert desk.state.run_name == "run-2"
    assert desk.state.squad.visit("P02", "2026-05-14").runs == ("run-1", "run-2")


def test_a_run_opens_on_the_page_where_there_is_something_to_do(desk: Desk) -> None:
    assert page_for(Run()) == "film"
    assert page_for(desk.state.run) == "taps"
    while desk.state.prompt:
        tap_at(desk, (9.0, 9.0))
    assert page_for(desk.state.run) == "review"
