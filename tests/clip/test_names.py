"""Names that break command lines, patterns, protocol prefixes, shells and terminals."""

import os
import sys
from pathlib import Path

import pytest

from tapmark.clip import names
from tapmark.clip.frames import open_clip
from tapmark.clip.names import reading_path, shown_name
from tapmark.disk import natural_order
from tests.clip import made

EVERYWHERE = [
    "-i.mp4",
    "-lead dash.mp4",
    "--help.mp4",
    "per%cent %03d %d.mp4",
    "Läufer 走る ✓ é.mp4",
    "🏃‍♀️ emoji.mp4",
    "apos'trophe & amp; $HOME `x` !.mp4",
    "[br]ack{et}, comma;semi=equal.mp4",
    "many.dots..in.name.mp4",
    " blanks around .mp4",
    "UPPER.MP4",
    "no ending",
    "n" * 200 + ".mp4",
]
POSIX_ONLY = [
    'quo"te.mp4',
    "col:on.mp4",
    "http:x.mp4",
    "file:x.mp4",
    "concat:a|b.mp4",
    "que?ry*.mp4",
    "line\nbreak.mp4",
    "tab\there.mp4",
    "back\\slash.mp4",
    "esc\x1b[31mape.mp4",
]
NAMES = EVERYWHERE + (POSIX_ONLY if os.name == "posix" else [])


@pytest.fixture(scope="module")
def clip_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return made.write_steady(tmp_path_factory.mktemp("one") / "a.mp4", range(3)).read_bytes()


@pytest.mark.parametrize("name", NAMES, ids=[shown_name(Path(name)) for name in NAMES])
def test_a_clip_of_this_name_opens(name: str, clip_bytes: bytes, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(clip_bytes)
    clip = open_clip(path, tmp_path / "cache")
    numbers = [made.number_in(clip.preview(0)), made.number_in(clip.full(2))]
    clip.close()

    assert numbers == [0, 2]
    assert clip.name.isprintable()
    assert len(clip.name) <= names.LONGEST_SHOWN


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps names that are no text")
def test_a_name_that_is_no_text_opens_and_prints(clip_bytes: bytes, tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.mp4"))
    path.write_bytes(clip_bytes)
    clip = open_clip(path, tmp_path / "cache")
    clip.close()

    assert clip.name == "caf?.mp4"
    assert clip.name.encode("utf-8")


def test_a_relative_path_opens(
    clip_bytes: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("-y.mp4").write_bytes(clip_bytes)
    clip = open_clip(Path("-y.mp4"), tmp_path / "cache")
    n = len(clip)
    clip.close()

    assert n == 3


@pytest.mark.skipif(os.name != "posix", reason="links need rights on Windows")
def test_links_and_very_long_paths_open(clip_bytes: bytes, tmp_path: Path) -> None:
    deep = tmp_path
    for _ in range(8):
        deep = deep / ("d" * 100)
    deep.mkdir(parents=True)
    (deep / "clip.mp4").write_bytes(clip_bytes)
    link = tmp_path / "link.mp4"
    link.symlink_to(deep / "clip.mp4")

    for path in (deep / "clip.mp4", link):
        clip = open_clip(path, tmp_path / "cache")
        n = len(clip)
        clip.close()
        assert n == 3


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("C:\\clips\\a.mp4", "C:\\clips\\a.mp4"),
        ("C:\\" + "d" * 250 + "\\a.mp4", "\\\\?\\C:\\" + "d" * 250 + "\\a.mp4"),
        ("\\\\nas\\" + "d" * 250, "\\\\?\\UNC\\nas\\" + "d" * 250),
        ("\\\\?\\C:\\" + "d" * 250, "\\\\?\\C:\\" + "d" * 250),
    ],
)
def test_long_windows_paths_get_their_prefix_once(given: str, wanted: str) -> None:
    """Windows' own rule for paths over 260 signs (its file-naming manual); tried from reports."""
    assert wanted == names.long_path(given, is_windows=True)


def test_reading_paths_are_absolute() -> None:
    assert os.path.isabs(reading_path(Path("-x.mp4")))  # noqa: PTH117


def test_two_comes_before_ten_in_any_case() -> None:
    row = ["Shot 10.png", "shot 2.png", "SHOT 1.png", "a.png"]

    assert sorted(row, key=natural_order) == ["a.png", "SHOT 1.png", "shot 2.png", "Shot 10.png"]


def test_numbers_and_words_at_the_same_place_can_be_ordered() -> None:
    assert sorted(["a.png", "1.png"], key=natural_order) == ["1.png", "a.png"]


def test_digits_of_other_scripts_do_not_break_the_order() -> None:
    assert sorted(["x²", "x2", "x٣", "x10"], key=natural_order)
