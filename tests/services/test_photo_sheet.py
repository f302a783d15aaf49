"""A photo on the sheet: asked for, consented to, the face gone, and gone again with the consent."""

import re
import shutil
import zipfile
from base64 import b64decode
from datetime import date
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdf
import pytest
from PIL import Image

from tapmark.errors import NoConsent, NotThere
from tapmark.marks.points import SIDE_EVENTS
from tapmark.report.drawing.palette import INK
from tapmark.report.pages.athlete_page import athlete_shapes
from tapmark.report.pages.pdf import MOST_BYTES
from tapmark.report.pages.pictures import face_disc
from tapmark.services.consent import hand_over
from tapmark.services.pages import content_of, write_sheet
from tapmark.store import archive, retention
from tapmark.store.pictures import keep_stills
from tapmark.store.squad import Squad, open_squad
from tests.report.made import collisions, fonts, overflows
from tests.services.made import FIRST, TODAY, agreed, contents, place, run_of, squad_of, with_answer

DAY = date.fromisoformat(TODAY)


def noisy() -> bytes:
    """A still of noise, so that whatever is left of it shows."""
    pixels = np.random.default_rng(5).integers(90, 220, (720, 1280, 3), dtype=np.uint8)
    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=95)
    return out.getvalue()


@pytest.fixture(scope="module")
def made_squad(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One athlete with consent to everything, stills of all five moments kept."""
    visits = {"K07": [(FIRST, [run_of("over", 1)])]}
    squad = squad_of(tmp_path_factory.mktemp("photo") / "squad", [agreed(birth_year=2000)], visits)
    still = noisy()
    stills = {(0, event, 0): still for event in SIDE_EVENTS}
    keep_stills(squad, "K07", FIRST, "run-1", stills, TODAY)
    return squad.folder


@pytest.fixture
def squad(made_squad: Path, tmp_path: Path) -> Squad:
    """A copy of it for one test."""
    return open_squad(shutil.copytree(made_squad, tmp_path / "squad"))


@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=pytest.mark.long)])
def test_the_photo_stands_where_the_figure_stood_and_the_page_stays_one_small_page(
    squad: Squad, paper: str
) -> None:
    path = write_sheet(place(squad), paper, "photo", DAY)

    assert path.name == "photo-sheet.pdf"
    (page,) = pypdf.PdfReader(path).pages
    assert path.stat().st_size <= MOST_BYTES
    plain = write_sheet(place(squad), paper, "athlete", DAY)
    (other,) = pypdf.PdfReader(plain).pages
    mine, usual = (np.asarray(each.images[0].image).astype(int) for each in (page, other))
    rows, columns = np.nonzero(abs(mine - usual) > 20)
    assert rows.max() - rows.min() < 82 * 300 / 25.4, "nothing but the pair has changed"
    right = (columns > 0.55 * mine.shape[1]).sum()  # a line from your hip to the idea's has gone
    assert columns.min() > 15 * 300 / 25.4 and right < 0.02 * len(columns)
    content = content_of(place(squad), paper, DAY, "photo")
    shapes = athlete_shapes(content, fonts())
    assert overflows(shapes, paper, fonts()) == []
    assert collisions(shapes, fonts()) == []


@pytest.mark.usefixtures("blank_pages")
def test_of_the_face_no_pixel_is_left_on_paper_or_in_html(squad: Squad) -> None:
    content = content_of(place(squad), "a4", DAY, "photo")
    assert content.photo is not None
    frame = content.run.steps[content.i_step].key_frame(content.photo.event)
    assert frame is not None
    disc = face_disc(frame)
    assert disc is not None
    grey = np.asarray(content.photo.grey)
    rows, columns = np.mgrid[0 : grey.shape[0], 0 : grey.shape[1]]
    inside = np.hypot(columns - disc.centre[0], rows - disc.centre[1]) < disc.radius - 1
    assert set(grey[inside]) == {Image.new("RGB", (1, 1), INK).convert("L").getpixel((0, 0))}

    html = write_sheet(place(squad), "a4", "photo", DAY).with_suffix(".html").read_text("utf-8")
    (data,) = re.findall(r'href="data:image/jpeg;base64,([^"]+)"', html)
    picture = Image.open(BytesIO(b64decode(data)))
    assert (picture.mode, dict(picture.getexif())) == ("L", {})
    assert "Your photo with the face covered" in html


# A task of a coach's first month
@pytest.mark.parametrize("use", ["film", "print photo", "keep stills"])
@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired"])
@pytest.mark.usefixtures("blank_pages")
def test_without_each_consent_there_is_no_photo_and_the_line_figure_is_there(
    squad: Squad, use: str, state: str
) -> None:
    squad.save_athlete(with_answer(agreed(birth_year=2011), use, state))
    before = contents(squad.folder)

    with pytest.raises(NoConsent):
        write_sheet(place(squad), "a4", "photo", DAY)

    assert contents(squad.folder) == before
    if use == "print photo":
        html = write_sheet(place(squad), "a4", "athlete", DAY).with_suffix(".html")
        assert "data:image" not in html.read_text("utf-8")


@pytest.mark.usefixtures("blank_pages")
def test_nobody_gets_a_photo_who_did_not_ask_for_one(squad: Squad) -> None:
    """Consent is no order: the figure is the default for everybody."""
    for copy in ("athlete", "coach"):
        html = write_sheet(place(squad), "a4", copy, DAY).with_suffix(".html")
        assert "data:image" not in html.read_text("utf-8")
        assert content_of(place(squad), "a4", DAY, copy).photo is None


@pytest.mark.parametrize("use", ["print photo", "keep stills", "film"])
def test_a_page_with_a_photo_goes_when_the_consent_goes(
    squad: Squad, tmp_path: Path, use: str
) -> None:
    path = write_sheet(place(squad), "a4", "photo", DAY)
    assert path in retention_kept(squad)
    squad.save_athlete(with_answer(agreed(), use, "withdrawn"))

    with pytest.raises(NoConsent):
        hand_over(squad, path, DAY)
    archive.back_up(squad, tmp_path / "out.zip", TODAY)
    with zipfile.ZipFile(tmp_path / "out.zip") as packed:
        assert [name for name in packed.namelist() if "photo-" in name] == []

    gone = retention.sweep(squad, TODAY)
    assert not path.exists() and not path.with_suffix(".html").exists()
    assert 2 in {each.n_pictures for each in gone if not each.name}


def retention_kept(squad: Squad) -> list[Path]:
    """Every file that is left after the pictures that are due were swept."""
    retention.sweep(squad, TODAY)
    return list(squad.folder.rglob("*"))


def test_a_still_that_was_not_kept_is_told_with_what_to_print_instead(squad: Squad) -> None:
    for path in squad.stills_folder("K07", FIRST, "run-1").glob("*.jpg"):
        path.unlink()

    with pytest.raises(NotThere, match="Print the page with the line figure instead"):
        write_sheet(place(squad), "a4", "photo", DAY)


def test_where_nothing_is_shown_there_is_no_place_for_a_photo(squad: Squad) -> None:
    squad.save_run("K07", FIRST, "run-1", run_of("over", 1, pain="yes"))

    with pytest.raises(NotThere, match="no place for a photo"):
        write_sheet(place(squad), "a4", "photo", DAY)
