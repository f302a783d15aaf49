"""A film that leaves: read back by PyAV, asked for consent twice, whole or not there."""

import io
import re
import shutil
from collections.abc import Callable
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import pytest
from PIL import Image

from tapmark import cli
from tapmark.clip import film_file
from tapmark.errors import Cancelled, CannotWrite, ClipError, NoConsent, NotThere, OtherPictures
from tapmark.marks.edits import follow
from tapmark.marks.run import Place
from tapmark.media_types import is_film, kind_of
from tapmark.progress import Told
from tapmark.report.pages import film as pages_film
from tapmark.report.pages.film import SIZE_PX
from tapmark.services.consent import hand_over
from tapmark.services.demo import make_sample_squad
from tapmark.services.film import write_film
from tapmark.services.places import VisitPlace
from tapmark.services.squads import delete_athlete
from tapmark.store import retention
from tapmark.store.leaving import Leaving
from tapmark.store.squad import Squad
from tests.services.made import FIRST, TODAY, agreed, contents, place, run_of, squad_of, with_answer

DAY = date.fromisoformat(TODAY)
DEMO_DAY = "2026-05-14"


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    """Two grown-ups with consent to everything, one drawn pass each."""
    visits = {"K07": [(FIRST, [run_of("over", 1)])], "M12": [(FIRST, [run_of("well", 2)])]}
    return squad_of(tmp_path / "squad", [agreed(), agreed("M12")], visits)


@pytest.fixture
def filmed(tmp_path: Path) -> VisitPlace:
    """The sample runner with a clip, with every consent."""
    squad = make_sample_squad(tmp_path / "demo", DAY)
    squad.save_athlete(agreed("P02"))
    return VisitPlace(squad, "P02", DEMO_DAY)


@pytest.fixture(autouse=True)
def short_stops(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a film stop for 3 frames only and run fast; the first test puts the true times back."""
    monkeypatch.setattr(pages_film, "HELD", 3)
    monkeypatch.setattr(pages_film, "CUE_HELD", 3)
    monkeypatch.setattr(pages_film, "SLOWED", 0.5)


def yes(path: Path) -> bool:
    assert path.stat().st_size > 1000
    return True


def test_a_film_is_an_mp4_that_any_phone_plays(
    squad: Squad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read back by PyAV: every frame there, one stamp each, 30 a second, H.264 in yuv420p.

    At its true times it is as long as five stops of 1.5 s, the cue and a slowed step take.
    """
    told: list[tuple[int, int | None]] = []

    path = write_film((place(squad),), tmp_path, DAY, progress=Told(lambda *n: told.append(n)))

    assert path.name == f"K07-step-film-{FIRST}.mp4"
    with av.open(str(path)) as film:
        stream = film.streams.video[0]
        assert (stream.codec.name, stream.codec_context.pix_fmt) == ("h264", "yuv420p")
        assert (stream.width, stream.height) == SIZE_PX and stream.height <= 720
        assert not film.streams.audio
        times = [frame.pts * stream.time_base for frame in film.decode(video=0)]
        assert stream.frames == len(times) == told[-1][0] == told[-1][1]
    assert {round(30 * float(b - a), 6) for a, b in pairwise(times)} == {1.0}

    monkeypatch.undo()
    whole: list[int | None] = []
    progress = Told(lambda done, of: whole.append(of), lambda: bool(whole))
    with pytest.raises(Cancelled):
        write_film((place(squad),), tmp_path, DAY, progress=progress)
    assert 7.5 + 2.5 < (whole[0] or 0) / 30 < 20


def test_a_film_holds_nothing_but_pictures(squad: Squad, tmp_path: Path) -> None:
    path = write_film((place(squad),), tmp_path, DAY)

    with av.open(str(path)) as film:
        tags = film.metadata | film.streams.video[0].metadata
    assert tags.pop("handler_name", "") in ("", "VideoHandler")  # a word of the container's own
    assert set(tags) <= {"major_brand", "minor_version", "compatible_brands", "language"}
    data = path.read_bytes()
    assert b"apmark" not in data and b"Lavf" not in data and b"K07" not in data


def test_a_gif_is_small_and_lasts_as_long(
    squad: Squad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pages_film, "SLOWED", 4.0)
    film = write_film((place(squad),), tmp_path, DAY)
    gif = write_film((place(squad),), tmp_path, DAY, as_gif=True)

    with av.open(str(film)) as read:
        lasts_s = read.streams.video[0].frames / 30
    with Image.open(gif) as picture:
        assert max(picture.size) <= 640 and picture.n_frames > 10
        total_ms = 0
        for i in range(picture.n_frames):
            picture.seek(i)
            total_ms += picture.info["duration"]
    assert total_ms / 1000 == pytest.approx(lasts_s, abs=0.3)


@pytest.mark.parametrize("state", ["never asked", "refused", "withdrawn", "expired", "not yet"])
def test_no_film_without_the_consent_to_film(squad: Squad, tmp_path: Path, state: str) -> None:
    squad.save_athlete(with_answer(agreed(), "film", state))
    before = contents(tmp_path)

    with pytest.raises(NoConsent, match=r"“film”.*The film is not written"):
        write_film((place(squad),), tmp_path, DAY)

    assert contents(tmp_path) == before


def test_two_people_in_a_film_both_have_to_agree(squad: Squad, tmp_path: Path) -> None:
    both = place(squad), place(squad, "M12")
    path = write_film(both, tmp_path, DAY)
    assert path.name == f"K07-M12-step-film-{FIRST}.mp4"

    squad.save_athlete(with_answer(agreed("K07"), "show to group", "withdrawn"))

    with pytest.raises(NoConsent, match=r"K07.*group"):
        write_film(both, tmp_path, DAY)
    inside = shutil.copy(path, place(squad, "M12").folder / path.name)
    with pytest.raises(NoConsent, match="K07"):
        hand_over(squad, Path(inside), DAY)


def withdrawing(squad: Squad, use: str) -> Callable[[int, int | None], None]:
    def told(done: int, of: int | None) -> None:
        squad.save_athlete(with_answer(squad.athlete("K07"), use, "withdrawn"))

    return told


def test_a_consent_withdrawn_while_it_is_made_wins(squad: Squad, tmp_path: Path) -> None:
    with pytest.raises(NoConsent, match="withdrawn"):
        write_film((place(squad),), tmp_path, DAY, progress=Told(withdrawing(squad, "film")))

    assert not list(tmp_path.glob("*film*"))


def test_a_consent_withdrawn_after_it_was_made_keeps_it_from_being_shown(squad: Squad) -> None:
    path = write_film((place(squad),), place(squad).folder, DAY)
    assert hand_over(squad, path, DAY) == path

    squad.save_athlete(with_answer(agreed(), "film", "withdrawn"))

    with pytest.raises(NoConsent, match="withdrawn"):
        hand_over(squad, path, DAY)


def test_stopped_in_the_middle_nothing_is_left(squad: Squad, tmp_path: Path) -> None:
    seen: list[int] = []
    progress = Told(lambda done, of: seen.append(done), lambda: len(seen) > 3)
    before = contents(tmp_path)

    with pytest.raises(Cancelled):
        write_film((place(squad),), tmp_path, DAY, progress=progress)

    assert seen and contents(tmp_path) == before


def test_stopped_before_its_first_frame_no_library_speaks_of_an_invalid_video(
    squad: Squad, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with pytest.raises(Cancelled):
        write_film((place(squad),), tmp_path, DAY, progress=Told(is_cancelled=lambda: True))

    assert not caplog.records and list(tmp_path.glob("*.mp4")) == []


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # its broken pipe
@pytest.mark.parametrize("ends_early", [True, False])
def test_a_full_disk_leaves_no_half_film(
    squad: Squad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ends_early: bool
) -> None:
    """The writer's pipe breaks, or the file it leaves is short: both are what a full disk does."""
    real = imageio_ffmpeg.write_frames

    def full(path, *args, **kwargs):  # type: ignore[no-untyped-def]
        if ends_early:
            kwargs["output_params"] = [*kwargs["output_params"], "-frames:v", "5"]
            return real(path, *args, **kwargs)
        return broken()

    def broken():  # type: ignore[no-untyped-def]
        yield
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(film_file.imageio_ffmpeg, "write_frames", full)
    before = contents(tmp_path)

    with pytest.raises(ClipError, match="disk is full"):
        write_film((place(squad),), tmp_path, DAY)

    assert contents(tmp_path) == before


def test_a_folder_that_is_gone_is_told_before_the_film_is_made(
    squad: Squad, tmp_path: Path
) -> None:
    told: list[tuple[int, int | None]] = []
    with pytest.raises(CannotWrite, match="nowhere” is not there: the folder is gone"):
        progress = Told(lambda *n: told.append(n))
        write_film((place(squad),), tmp_path / "nowhere", DAY, progress=progress)

    assert told == []


def test_a_path_of_one_point_or_with_gaps_does_no_harm(squad: Squad, tmp_path: Path) -> None:
    run = squad.load_run("K07", FIRST, "run-1")
    first, *_, last = run.steps[0].key_frames
    run = follow(run, "near ankle", Place(first.picture, first.at("near ankle")))
    for number in (first.picture - 10, first.picture, last.picture, last.picture + 10):
        run = follow(run, "hip", Place(number, first.at("hip")))
    squad.save_run("K07", FIRST, "run-1", run)

    assert write_film((place(squad),), tmp_path, DAY).stat().st_size > 10_000


def test_a_filmed_film_shows_the_clip_without_the_face(filmed: VisitPlace, tmp_path: Path) -> None:
    seen: list[Path] = []

    def look(path: Path) -> bool:
        seen.append(path)
        return yes(path)

    path = write_film((filmed,), tmp_path, DAY, "photo", look)

    assert path.name == f"photo-P02-step-film-{DEMO_DAY}.mp4"
    assert seen and not seen[0].exists()
    with av.open(str(path)) as film:
        first = next(film.decode(video=0)).to_ndarray(format="rgb24")
    cut = first[:680, :680].astype(int)
    dark = np.abs(cut - (31, 41, 51)).max(axis=2) < 24
    rows, columns = np.nonzero(dark[:300])
    assert dark[:300].sum() > 5_000  # the disc
    assert abs(np.median(columns) - 340) < 120 and np.median(rows) < 250
    assert len(np.unique(cut @ (1, 256, 65_536))) > 1_000  # the rest is a photo


def test_a_filmed_film_needs_eyes_a_grown_up_and_every_consent(
    filmed: VisitPlace, tmp_path: Path
) -> None:
    squad, before = filmed.squad, contents(tmp_path)

    with pytest.raises(NoConsent, match="nobody can look"):
        write_film((filmed,), tmp_path, DAY, "photo")
    with pytest.raises(NoConsent, match="not every face"):
        write_film((filmed,), tmp_path, DAY, "photo", lambda path: False)
    assert contents(tmp_path) == before
    for athlete in (agreed("P02", None), agreed("P02", 2009)):
        squad.save_athlete(athlete)
        with pytest.raises(NoConsent, match="under 18"):
            write_film((filmed,), tmp_path, DAY, "photo", yes)
    for use in ("film", "print photo", "keep stills"):
        squad.save_athlete(with_answer(agreed("P02"), use, "refused"))
        with pytest.raises(NoConsent, match="P02"):
            write_film((filmed,), tmp_path, DAY, "photo", yes)


def test_a_clip_that_is_gone_or_another_one_is_told(filmed: VisitPlace, tmp_path: Path) -> None:
    clip = filmed.squad.folder.parent / "film" / "P02" / "clip.mp4"
    data = clip.read_bytes()

    clip.write_bytes(data[:-1] + b"x")
    with pytest.raises((OtherPictures, ClipError)):
        write_film((filmed,), tmp_path, DAY, "photo", yes)
    clip.unlink()
    with pytest.raises(NotThere, match="is not where it was"):
        write_film((filmed,), tmp_path, DAY, "photo", yes)
    on_stills = VisitPlace(filmed.squad, "P01", DEMO_DAY)
    filmed.squad.save_athlete(agreed("P01"))
    with pytest.raises(NotThere, match="marked on stills"):
        write_film((on_stills,), tmp_path, DAY, "photo", yes)

    assert not list(tmp_path.glob("*film-*"))


def test_films_go_with_the_consent_and_with_the_athlete(filmed: VisitPlace) -> None:
    """A film with photos goes like a page with a photo; every film goes with who is in it."""
    squad = filmed.squad
    other = VisitPlace(squad, "P01", DEMO_DAY)
    squad.save_athlete(agreed("P01"))
    drawn = write_film((filmed,), filmed.folder, DAY)
    photo = Path(shutil.copy(drawn, drawn.with_name(f"photo-{drawn.name}")))
    both = Path(shutil.copy(drawn, other.folder / f"P02-P01-step-film-{DEMO_DAY}.mp4"))
    at_top = shutil.copy(drawn, squad.folder / drawn.name)

    assert kind_of(photo.name) == kind_of(drawn.name) == kind_of(both.name) == "page"
    assert Leaving(squad, TODAY).codes_of(both) == {"P01", "P02"}
    assert Leaving(squad, TODAY).why_not(photo) == Leaving(squad, TODAY).why_not(both) == ""
    squad.save_athlete(with_answer(agreed("P02"), "print photo", "withdrawn"))
    assert Leaving(squad, TODAY).why_not(photo) and not Leaving(squad, TODAY).why_not(drawn)
    retention.sweep(squad, TODAY)
    assert not photo.exists() and drawn.exists()

    cache = squad.folder.parent / "cache"
    list(delete_athlete(squad.folder, "P02", False, datetime(2026, 7, 1, 12), cache))

    assert not drawn.exists() and not both.exists() and not Path(at_top).exists()


def test_a_clip_of_the_coach_s_own_is_no_film_of_ours() -> None:
    for name in ("film.mp4", "K07-film-2026-05-14.mp4", "K07-step-film.mp4", "step-film-1.mp4"):
        assert not is_film(name) and kind_of(name) == "clip"
    for code in ("K07", "MID-800-JM2", "K07-MID-800-JM2"):
        assert is_film(f"photo-{code}-step-film-2026-05-14.mp4")


def test_the_command_writes_a_film_and_says_where(
    squad: Squad, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    visit, other = place(squad).folder, place(squad, "M12").folder
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))

    assert cli.main(["film", str(visit), "--beside", str(other), "--gif"]) == 0
    assert re.search(rf"M12-K07-step-film-{FIRST}\.gif\n$", capsys.readouterr().out)
    assert (visit / f"M12-K07-step-film-{FIRST}.gif").is_file()
    assert cli.main(["film", str(visit), "--kind", "photo"]) == 1
    assert "nobody can look" in capsys.readouterr().err
