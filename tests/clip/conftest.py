"""Clips that are made once a session, and the watch for processes left behind."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tapmark.clip.clip import Clip
from tapmark.clip.frames import open_clip
from tests.clip import made
from tests.clip.kinds import KINDS, Truth
from tests.clip.processes import ffmpeg_children


@pytest.fixture(autouse=True)
def _nothing_left_running() -> Iterator[None]:
    yield
    assert ffmpeg_children() == [], "an ffmpeg was left behind"


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


@pytest.fixture(scope="session")
def made_clip(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Path, Truth]]:
    """Return a clip of a kind and the truth about it, made on the first call."""
    folder = tmp_path_factory.mktemp("clips")
    done: dict[str, tuple[Path, Truth]] = {}

    def get(name: str) -> tuple[Path, Truth]:
        if name not in done:
            done[name] = folder / name, KINDS[name](folder / name)
        return done[name]

    return get


@pytest.fixture(scope="session")
def open_kind(
    tmp_path_factory: pytest.TempPathFactory,
    made_clip: Callable[[str], tuple[Path, Truth]],
) -> Iterator[Callable[[str], tuple[Clip, Truth]]]:
    """Return a clip of a kind, read to its end, and the truth; read on the first call."""
    folder = tmp_path_factory.mktemp("prepared")
    opened: dict[str, tuple[Clip, Truth]] = {}

    def get(name: str) -> tuple[Clip, Truth]:
        if name not in opened:
            path, truth = made_clip(name)
            opened[name] = open_clip(path, folder), truth
        return opened[name]

    yield get
    for clip, _ in opened.values():
        clip.close()


@pytest.fixture(scope="session")
def long_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five seconds at 240 pictures a second, a key picture every half second; numbers 0 … 1023."""
    path = tmp_path_factory.mktemp("long") / "long.mp4"
    options = {"preset": "ultrafast", "g": "120", "bf": "2", "x264-params": "log-level=error"}
    return made.write_steady(path, range(1024), rate=240, options=options)
