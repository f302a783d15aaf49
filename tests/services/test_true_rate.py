"""A phone's true rate by two readings of a stopwatch in the picture, on the command line."""

import re
from pathlib import Path

import pytest

from tapmark.cli import main
from tapmark.errors import StopwatchUnusable
from tapmark.services.true_rate import seconds_shown
from tapmark.store.squad import make_squad, open_squad
from tests.clip import made

TRUE_HZ = 238.4


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """720 pictures of a phone that exposes 238.4 a second and plays 30; two exposures missing."""
    ticks = [3000 * k for k in range(722)]
    del ticks[100], ticks[400]
    path = tmp_path_factory.mktemp("watch") / "watch.mp4"
    options = {"preset": "ultrafast", "x264-params": "log-level=error"}
    pictures = [made.draw(0, (64, 36))] * len(ticks)  # what is in them counts for nobody
    return made.write_clip(path, pictures, ticks, 90_000, options=options)


def readings(first: int, last: int) -> list[str]:
    """What a watch shows that started 3 s before the first exposure, to 0.01 s."""

    def at(picture: int) -> str:  # two exposures are missing, at 100 and 401
        exposure = picture + (picture >= 100) + (picture >= 400)
        return f"{picture + 1}={3 + exposure / TRUE_HZ:.2f}"

    return [at(first), at(last)]


def test_two_readings_tell_the_true_rate(clip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["doctor", str(clip), "--stopwatch", *readings(0, 719)]) == 0

    found = re.search(r"the file plays ([\d.]+) times slower", capsys.readouterr().out)
    assert found is not None
    assert pytest.approx(float(found[1]), abs=0.04) == TRUE_HZ / 30  # 0.01 s in 3 s


def test_the_rate_is_kept_with_the_squad_and_missing_exposures_do_not_lower_it(
    clip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "squad"
    make_squad(folder, "Thursday group")
    words = ["doctor", str(clip), "--stopwatch", *readings(0, 719), "--keep", str(folder), "black"]
    assert main(words) == 0
    assert main(words) == 0

    (phone,) = open_squad(folder).choices.phones
    assert phone.name == "black"
    assert phone.rate_hz == pytest.approx(TRUE_HZ, rel=0.004)  # readings to 0.01 s over 3 s
    assert "Kept with the squad: black" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--stopwatch", "1=3", "2=x"], "“x” is no reading"),
        (["--stopwatch", "0=3", "2=6"], "is no frame with its reading"),
        (["--stopwatch", "1=3", "9=3.2"], "It must go on by 2 s or more"),
        (["--stopwatch", "1=3", "9=13"], "no phone films"),
        (["--stopwatch", "1=3", "900=13"], "Frame 900 is not there"),
        (["--keep", "squad", "black"], "read off a clip, twice"),
    ],
)
def test_what_cannot_be_is_told_in_a_line(
    words: list[str], said: str, clip: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["doctor", str(clip), *words]) == 1

    out = capsys.readouterr()
    assert (out.out, said in out.err) == ("", True)


def test_a_squad_that_is_not_there_is_told_and_nothing_is_made(
    clip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "none"
    words = ["doctor", str(clip), "--stopwatch", *readings(0, 719), "--keep", str(folder), "black"]

    assert main(words) == 1
    assert not folder.exists()
    assert "none" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("7.42", 7.42), ("7,42", 7.42), (" 1:07.42 ", 67.42), ("0:01:07,42", 67.42), ("12", 12.0)],
)
def test_readings_are_read_as_watches_write_them(text: str, seconds: float) -> None:
    assert seconds == pytest.approx(seconds_shown(text))


@pytest.mark.parametrize("text", ["", "-3", "7.42s", "1:2:3:4", "seven"])
def test_other_words_are_no_reading(text: str) -> None:
    with pytest.raises(StopwatchUnusable):
        seconds_shown(text)
