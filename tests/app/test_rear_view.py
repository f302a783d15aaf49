"""A pass filmed from behind: two key frames, the shoe's two points, ticks, and no side rows."""

from collections.abc import Callable
from pathlib import Path

from tapmark.checklist.verdict import NOT_MEASURED
from tests.app.driving import OpenWindow


def test_a_pass_from_behind_is_chosen_tapped_and_read(
    open_app: OpenWindow, squad_folder: Path, unmarked_run: Callable[[Path], None]
) -> None:
    unmarked_run(squad_folder)
    app = open_app(squad_folder)
    app.open_last_run()
    app.go("film")
    app.choose(app.ask_more().view, "rear")
    app.go("frames")
    assert app.view.title.cget("text") == "Last contact"
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home", *["Shift-Key-Right"] * 5, "Key-1", *["Key-Right"] * 4, "Key-2")
    assert [frame.event for frame in app.state.step.key_frames] == ["last contact", "most turned"]
    app.press("Key-3")
    assert len(app.state.step.key_frames) == 2, "there are only two from behind"
    app.choose(app.view.seen.boxes["hand crosses"], "clearly")
    app.choose(app.view.seen.boxes["foot path"], "a little")
    app.choose(app.view.seen.boxes["foot path"], "not answered")
    assert app.state.step.ticks == (("hand crosses", 2),)
    app.go("taps")
    for at in ((600.0, 500.0), (600.0, 460.0), (603.0, 500.0), (612.0, 460.0)):
        assert app.state.marking.prompt.point in ("heel centre", "forefoot centre")
        app.tap(at)
    assert app.state.marking.prompt is None
    app.go("review")
    app.pump(lambda: app.state.review.reading, "the reading")
    words = {row.result.key: row.word for row in app.state.review.reading.assessment.rows}
    assert words["reach"] == NOT_MEASURED
    assert words["foot_turn"] != NOT_MEASURED
    assert app.state.review.reading.assessment.item(17).word == "seen", (
        "a hand that clearly crosses"
    )
