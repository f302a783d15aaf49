"""Another pass of the same day: what is asked again and what is not."""

from pathlib import Path

import pytest

from tapmark.app.mark.taps_actions import tap_at
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer
from tapmark.app.shell.runs import page_for
from tapmark.marks.run import Run
from tests.app.made import context_with_run, show_drawn

POLE = ((600.0, 500.0), (600.0, 100.0))


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Context:
    made = context_with_run(tmp_path, squad_folder)
    answer(made.state, "set-up", slow_factor=8.0, rate_source="typed in", upright_px=POLE, effort=9)
    return made


def test_the_rate_of_one_clip_is_never_taken_for_the_next(context: Context) -> None:
    context.perform("another pass")
    assert (context.state.run.set_up.slow_factor, context.state.run_name) == (None, "")


@pytest.mark.parametrize(
    ("camera", "kept"), [("tripod", POLE), ("hand-held", None), ("panned", None)]
)
def test_the_pole_is_kept_as_long_as_the_tripod_stands(
    context: Context, camera: str, kept: object
) -> None:
    answer(context.state, "camera", camera=camera)
    context.perform("another pass")
    assert context.state.run.set_up.upright_px == kept


def test_another_pass_is_counted_in_its_visit(context: Context) -> None:
    context.perform("another pass")
    show_drawn(context, is_new=True)
    assert context.state.run_name == "run-2"
    assert context.state.squad.visit("P02", "2026-05-14").runs == ("run-1", "run-2")


def test_a_run_opens_on_the_page_where_there_is_something_to_do(context: Context) -> None:
    assert page_for(Run()) == "film"
    assert page_for(context.state.run) == "taps"
    while context.state.marking.prompt:
        tap_at(context, (9.0, 9.0))
    assert page_for(context.state.run) == "review"
