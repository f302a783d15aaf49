"""From an empty squad to a printed page, with real keys and real clicks."""

from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.app.driving import SAMPLES, OpenWindow

A4_PT = (595.3, 841.9)


def test_empty_squad_to_page_on_disk_by_keys_and_clicks(
    open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]
) -> None:
    """Only the prompts, all the way; the clock is not tested."""
    app = open_app()
    make_squad(app, tmp_path / "Thursday group")
    add_athlete(app)
    app.press("Control-Key-n")
    bring_in_clip(app)
    answer_questions(app, truth)
    choose_key_frames(app, truth)
    tap_every_point(app, truth)

    app.go("review")
    app.pump(lambda: app.state.review.reading, "the reading")
    assert "seen" in {row.word for row in app.state.review.reading.assessment.rows}

    app.go("sheet")
    app.pump(lambda: app.state.sheet.pages, "the preview")
    app.press("Control-Key-s")
    app.pump(lambda: app.state.sheet.written, "the sheet")
    page = PdfReader(app.state.sheet.written).pages[0]
    assert (
        pytest.approx((float(page.mediabox.width), float(page.mediabox.height)), abs=0.6) == A4_PT
    )


def make_squad(app: Any, folder: Path) -> None:
    app.asked.ready.append(folder)
    app.keyboard_on(app.root)
    app.press("Control-Shift-Key-N")
    assert (folder / "squad.json").is_file()


def add_athlete(app: Any) -> None:
    app.press("Control-Shift-Key-A")
    form = app.view.form
    app.pump(lambda: app.root.focus_get() is form.fields["code"], "the form")
    app.write(form.fields["code"], "P02")
    app.write(form.fields["birth_year"], "1998")
    assert not form.fields["leg_cm"].winfo_ismapped()
    app.click(form.more)
    app.write(form.fields["leg_cm"], "90.1")
    app.press("Return")
    assert app.state.athlete.code == "P02"
    for use in ("film", "keep stills"):
        app.click(form.fields[use])
    app.write(form.fields["by"], "K M")
    app.press("Return")
    assert app.state.athlete.consent("film").by == "K M"
    assert app.state.status == "P02: saved. Allowed: film, keep stills."


def bring_in_clip(app: Any) -> None:
    app.pump(lambda: app.state.page == "film", "Film")
    app.asked.ready.append(SAMPLES / "P02" / "clip.mp4")
    app.press("Control-Key-o")
    app.wait_for_clip()
    assert app.state.error == ""


def answer_questions(app: Any, truth: dict[str, Any]) -> None:
    app.answer("direction", "right to left")
    app.answer("context", "sprint")
    app.answer("camera", "tripod, levelled")
    app.answer("pain", "no")
    questions = app.ask_more()
    app.write(questions.entries["camera_distance_m"], "12")
    app.click(app.button("mark pole"))
    for name in ("foot", "top"):
        app.tap(truth["pole"][name])
    app.click(app.button("mark scale"))
    for at in truth["scale_marks"]["points"]:
        app.tap(at)
    set_up = app.state.run.set_up
    assert set_up.upright_px and set_up.scale_px and set_up.pain == "no"
    assert app.state.run.near_side == "left"


def choose_key_frames(app: Any, truth: dict[str, Any]) -> None:
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home")
    at = 0
    for i, picture in enumerate(truth["clip"]["key_pictures"].values(), start=1):
        tens, ones = divmod(picture - at, 10)
        app.press(*["Shift-Key-Right"] * tens, *["Key-Right"] * ones, f"Key-{i}")
        at = picture
    chosen = [frame.picture for frame in app.state.step.key_frames]
    assert list(truth["clip"]["key_pictures"].values()) == chosen


def tap_every_point(app: Any, truth: dict[str, Any]) -> None:
    app.go("taps")
    taps = 0
    while app.state.marking.prompt:
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
        taps += 1
    assert taps == 32
