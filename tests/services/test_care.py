"""Care for athletes on every page: pain, treatment, age, photos with their faces covered."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tapmark.clip.still_file import look_into, read_page
from tapmark.errors import NoConsent, NotThere
from tapmark.marks.edits import draw
from tapmark.marks.run import FreeMark
from tapmark.report.pages.pictures import face_disc
from tapmark.services.pages import content_of, write_sheet
from tapmark.services.pictures import RunPlace, step_png, still_png
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad
from tests.services.made import FIRST, TODAY, agreed, jpeg, place, run_of, squad_of, with_answer

pytestmark = pytest.mark.usefixtures("blank_pages")

DAY = date.fromisoformat(TODAY)
EVENT = "touchdown"


@pytest.mark.parametrize("pain", ["yes", "not answered"])
@pytest.mark.parametrize("copy", ["athlete", "coach"])
def test_pain_leaves_no_priority_and_no_drill_on_any_page(
    tmp_path: Path, pain: str, copy: str
) -> None:
    visits = {"K07": [(FIRST, [run_of("over", i, pain="no") for i in (1, 2)])]}
    visits["K07"][0][1].append(run_of("over", 3, pain=pain))  # one pass of three is enough
    squad = squad_of(tmp_path / "squad", [agreed()], visits)

    page = write_sheet(place(squad), "a4", copy, DAY).with_suffix(".html").read_text("utf-8")

    said = content_of(place(squad), "a4", DAY).assessment
    assert said.slots == () and said.blocked and said.blocked in page
    words = content_of(place(squad), "a4", DAY).words
    drills = {text for key, text in words.leaves.items() if key.startswith("drills.")}
    assert not [text for text in drills if len(text) > 12 and text in page]
    assert squad.visit("K07", FIRST).slots in ((), None)


def test_under_treatment_leaves_no_priority_until_somebody_licensed_clears(
    tmp_path: Path,
) -> None:
    visits = {"K07": [(FIRST, [run_of("over", 1)])]}
    squad = squad_of(tmp_path / "squad", [agreed(clearance="under treatment")], visits)

    assert content_of(place(squad), "a4", DAY).assessment.slots == ()
    squad.save_athlete(agreed(clearance="cleared"))
    assert len(content_of(place(squad), "a4", DAY).assessment.slots) == 1


@pytest.mark.parametrize(
    ("birth_year", "n_slots", "has_list"), [(2014, 0, False), (2010, 0, False), (None, 1, False)]
)
def test_the_young_get_no_list_and_no_verdict_that_was_not_accepted(
    tmp_path: Path, birth_year: int | None, n_slots: int, has_list: bool
) -> None:
    """Under 12 strengths only; under 16 "seen" is capped; unknown age counts as under 18."""
    visits = {"K07": [(FIRST, [run_of("over", 1)])]}
    squad = squad_of(tmp_path / "squad", [agreed(birth_year=birth_year)], visits)

    said = content_of(place(squad), "a4", DAY).assessment

    assert (len(said.slots), said.shows_checklist) == (n_slots, has_list)
    if birth_year:
        assert "seen" not in {item.word for item in said.items}
    page = write_sheet(place(squad), "a4", "athlete", DAY).with_suffix(".html")
    assert words_not_in(page.read_text("utf-8"), ["<img", "data:image/jpeg"])


def words_not_in(text: str, words: list[str]) -> bool:
    return not [word for word in words if word in text]


def test_no_photo_of_a_minor_without_its_consent_and_the_line_figure_instead(
    tmp_path: Path,
) -> None:
    """A task of a coach's first month."""
    visits = {"K07": [(FIRST, [run_of("over", 1)])]}
    minor = with_answer(agreed(birth_year=2011), "print photo", "refused")
    squad = squad_of(tmp_path / "squad", [minor], visits)
    keep_stills(squad, "K07", FIRST, "run-1", {(0, EVENT, 0): jpeg((1280, 720))}, TODAY)

    with pytest.raises(NoConsent, match="line figure instead of a photo"):
        still_png(RunPlace(place(squad), "run-1"), EVENT, tmp_path, DAY)
    assert step_png(place(squad), tmp_path, DAY).exists()
    page = write_sheet(place(squad), "a4", "athlete", DAY).with_suffix(".html")
    assert words_not_in(page.read_text("utf-8"), ["<img", "data:image/jpeg"])


def test_a_still_leaves_with_its_face_covered(tmp_path: Path) -> None:
    """Hip and shoulder are tapped; above them the picture must not be the still's any more."""
    squad = with_still(tmp_path)
    at = RunPlace(place(squad), "run-1")
    path = still_png(at, EVENT, tmp_path, DAY)

    frame = squad.load_run("K07", FIRST, "run-1").steps[0].key_frame(EVENT)
    disc = face_disc(frame) if frame else None
    assert disc is not None
    written = read_page(look_into(path)[0])
    x, y = (round(each) for each in disc.centre)
    for dx, dy in ((0, 0), (0, -0.8), (0.8, 0), (-0.8, 0), (0, 0.8)):
        pixel = written.getpixel((x + round(dx * disc.radius), y + round(dy * disc.radius)))
        assert max(pixel) < 80, pixel  # the made still is bright everywhere


def test_a_still_that_was_not_kept_is_told_with_what_to_show_instead(tmp_path: Path) -> None:
    at = RunPlace(place(with_still(tmp_path)), "run-1")

    with pytest.raises(NotThere, match="Show the step line instead"):
        still_png(at, "toe-off", tmp_path, DAY)


def with_still(folder: Path) -> Squad:
    """A squad of one adult with one kept still."""
    squad = squad_of(folder / "squad", [agreed()], {"K07": [(FIRST, [run_of("over", 1)])]})
    keep_stills(squad, "K07", FIRST, "run-1", {(0, EVENT, 0): jpeg((1280, 720))}, TODAY)
    return squad


def test_own_lines_are_on_the_still_that_leaves(tmp_path: Path) -> None:
    squad = with_still(tmp_path)
    at = RunPlace(place(squad), "run-1")
    plain = np.asarray(Image.open(still_png(at, EVENT, tmp_path, DAY)).convert("L"), int)
    run = squad.load_run("K07", FIRST, "run-1")
    frame = run.steps[0].key_frame(EVENT)
    ends = (frame.at("hip"), frame.at("near ankle"))
    marked = draw(run, FreeMark("line", frame.picture, ends))
    marked = draw(marked, FreeMark("line", frame.picture + 1, ((5.0, 5.0), (90.0, 5.0))))
    squad.save_run("K07", FIRST, "run-1", marked)

    drawn = np.asarray(Image.open(still_png(at, EVENT, tmp_path, DAY)).convert("L"), int)

    changed = np.abs(drawn - plain) > 40
    middle = [round((a + 3 * b) / 4) for a, b in zip(*ends, strict=True)]
    assert changed[middle[1] - 4 : middle[1] + 5, middle[0] - 4 : middle[0] + 5].any()
    assert not changed[:20, :120].any(), "a line of another frame is not on it"
