"""Practising in the window: a drawn runner opens like any run, and the card comes afterwards."""

from pathlib import Path

from tapmark.services.practising import true_run, truth_about
from tests.app.clipping import clipped
from tests.app.driving import OpenWindow
from tests.store.made import squad_of


def test_a_drawn_runner_is_opened_marked_and_compared(open_app: OpenWindow) -> None:
    app = open_app()
    app.click(app.view.begin.buttons["practise"])
    app.pump(lambda: app.state.page == "frames" and app.state.marking.gallery, "the drawn runner")
    assert app.state.visit.code == "D01" and app.asked.boxes == []
    app.context.perform("how close")
    assert app.state.error == "Nothing is tapped yet. Mark the step first, then ask again."

    run = app.state.run
    app.state.record("marked", true_run(truth_about(app.state.squad, "D01"), run))
    app.go("taps")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("F8")
    app.pump(lambda: app.state.page == "proposal", "the card")

    said = app.view.about.cget("text")
    assert said.startswith("All 5 key frames stand on the right frame.")
    assert clipped(app.root) == []
    app.press("Escape")
    app.pump(lambda: app.state.page == "taps")


def test_a_real_athletes_run_has_no_known_truth(open_app: OpenWindow, tmp_path: Path) -> None:
    app = open_app(squad_of(tmp_path / "Tuesday").folder)
    app.context.perform("open last")
    app.context.perform("how close")

    assert app.state.status == "K07 is no drawn runner, so the truth is not known."
