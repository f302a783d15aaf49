"""Settings never keep the window from opening."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.store.settings import Settings, load_settings, save_settings, settings_path
from tests.store import made


def test_settings_are_found_again(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "settings.json"
    settings = Settings("1280x700+20+10", text_size=1.25).with_recent("/a").with_recent("/b")

    save_settings(path, settings)

    assert load_settings(path) == (settings, ())


def test_only_what_differs_is_written(tmp_path: Path) -> None:
    save_settings(tmp_path / "s.json", Settings(left_handed=True))

    assert json.loads((tmp_path / "s.json").read_text("utf-8")) == {"left_handed": True}


def test_no_file_means_the_defaults_without_a_word(tmp_path: Path) -> None:
    assert load_settings(tmp_path / "none.json") == (Settings(), ())


def test_a_bad_value_falls_back_and_the_others_stay(tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    path.write_text('{"text_size": 99, "left_handed": true, "recent": 5, "later": 1}', "utf-8")

    settings, notes = load_settings(path)

    assert settings == Settings(left_handed=True)
    assert len(notes) == 2 and "“text_size” is not a number from 0.5 to 3" in notes[0]


@given(st.binary(max_size=80) | made.junk.map(lambda plain: json.dumps(plain).encode()))
def test_any_bytes_give_settings(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("s") / "s.json"
    path.write_bytes(data)

    settings, _ = load_settings(path)

    assert isinstance(settings, Settings)


def test_recent_squads_are_few_and_none_stands_twice() -> None:
    settings = Settings()
    for i in (*range(20), 15):
        settings = settings.with_recent(f"/squad {i}")

    assert settings.recent == tuple(f"/squad {i}" for i in (15, 19, 18, 17, 16, 14, 13, 12))


@pytest.mark.parametrize(
    ("platform", "environment", "expected"),
    [
        ("linux", {"HOME": "/home/c"}, "/home/c/.config/tapmark/settings.json"),
        ("linux", {"HOME": "/home/c", "XDG_CONFIG_HOME": "/x"}, "/x/tapmark/settings.json"),
        ("darwin", {"HOME": "/u"}, "/u/Library/Application Support/tapmark/settings.json"),
        ("win32", {"APPDATA": "/r", "USERPROFILE": "/u"}, "/r/tapmark/settings.json"),
        ("win32", {"USERPROFILE": "/u"}, "/u/AppData/Roaming/tapmark/settings.json"),
    ],
)
def test_settings_lie_where_each_system_wants_them(
    platform: str, environment: dict[str, str], expected: str
) -> None:
    """XDG Base Directory Specification; Windows known folders; macOS library folder."""
    assert settings_path(environment, platform).as_posix() == expected
