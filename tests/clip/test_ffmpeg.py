"""How the program is run: drained, polite, watched, and always ended."""

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tapmark.clip import ffmpeg
from tapmark.clip.cache import Cache
from tapmark.clip.export import export_frames
from tapmark.clip.ffmpeg import Output, Program, Running, find_program, run, stop, version_in
from tapmark.clip.frames import begin_clip, key_strip, open_clip
from tapmark.clip.still_file import read_heic
from tapmark.clip.turns import turns
from tapmark.errors import Cancelled, ClipUnreadable, FfmpegNotFound, StillsUnusable
from tapmark.progress import NOBODY, Told
from tests.clip import made
from tests.clip.processes import ffmpeg_children


@pytest.mark.parametrize(
    ("text", "version"),
    [
        ("ffmpeg version 9.0.2-static https://x Copyright (c)", (9, 0)),
        ("ffmpeg version 4.2.2-static", (4, 2)),
        ("ffmpeg version n7.1 Copyright", (7, 1)),
        ("ffmpeg version N-113456-gabc123 Copyright", (99, 0)),
        ("", (99, 0)),
    ],
)
def test_version_is_read_from_what_it_prints(text: str, version: tuple[int, int]) -> None:
    assert version == version_in(text)


def test_only_tried_versions_convert_colours_directly() -> None:
    assert [Program("x", v).converts_colours_directly for v in ((7, 0), (9, 0))] == [False, True]


def test_a_missing_program_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def nowhere() -> str:
        raise RuntimeError("No ffmpeg exe could be found")

    monkeypatch.setattr("imageio_ffmpeg.get_ffmpeg_exe", nowhere)
    find_program.cache_clear()
    with pytest.raises(FfmpegNotFound, match="pip install"):
        find_program()


def script(folder: Path, words: str) -> str:
    if os.name != "posix":
        pytest.skip("needs a shell script")
    path = folder / "ffmpeg"
    path.write_text(f"#!/bin/sh\n{words}")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


def test_an_old_program_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = script(tmp_path, "echo ffmpeg version 4.2.2\n")
    monkeypatch.setattr("imageio_ffmpeg.get_ffmpeg_exe", lambda: path)
    find_program.cache_clear()
    with pytest.raises(FfmpegNotFound, match=r"version 4\.2.*too old"):
        find_program()


@pytest.fixture
def chatterbox(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Stands in for ffmpeg: talks more than any pipe holds, then hands over its bytes."""
    path = script(
        tmp_path,
        'if [ "$1" = -version ]; then echo ffmpeg version 9.0; exit; fi\n'
        "head -c 3000000 /dev/zero | tr '\\0' 'x' >&2\n"
        "echo >&2; echo the end >&2\n"
        "head -c 3000000 /dev/zero\n"
        "exit 3\n",
    )
    monkeypatch.setattr("imageio_ffmpeg.get_ffmpeg_exe", lambda: path)
    find_program.cache_clear()
    yield
    find_program.cache_clear()


@pytest.mark.usefixtures("chatterbox")
def test_a_talkative_run_neither_hangs_nor_fills_the_memory() -> None:
    output = run([])

    assert (output.code, len(output.data), output.lines[-1]) == (3, 3_000_000, "the end")
    assert max(map(len, output.lines)) <= ffmpeg.LONGEST_LINE


FOREVER = ["-f", "lavfi", "-re", "-i", "testsrc2=s=64x64:r=1", "-f", "null", "-"]


def test_a_cancelled_run_is_ended() -> None:
    with pytest.raises(Cancelled):
        run(FOREVER, progress=Told(is_cancelled=lambda: True))

    assert ffmpeg_children() == []


def test_stopping_twice_is_harmless() -> None:
    running = Running(FOREVER, Output())
    running.start()

    assert stop(running)
    assert stop(running)
    assert ffmpeg_children() == []


class Silent:
    """A run on a drive that has gone: it neither speaks nor ends."""

    n_signs_of_life = 7

    def wait(self, timeout_s: float) -> bool:
        return False


def test_a_silent_drive_is_given_up_on() -> None:
    with pytest.raises(ClipUnreadable, match="no answer for 20 seconds"):
        for _ in turns(Silent(), NOBODY, silence_s=20):
            pass


def test_a_slow_drive_that_still_speaks_is_waited_for() -> None:
    class Slow(Silent):
        def wait(self, timeout_s: float) -> bool:
            self.n_signs_of_life += 1
            return self.n_signs_of_life > 2000

    assert sum(1 for _ in turns(Slow(), NOBODY, silence_s=20)) > 1000


@pytest.mark.skipif(sys.platform != "linux", reason="asks Linux for each thread's priority")
def test_reading_steps_back_once_the_first_picture_is_there(long_clip: Path, cache: Path) -> None:
    usual = os.getpriority(os.PRIO_PROCESS, 0)
    clip = begin_clip(long_clip, cache)
    (pid,) = ffmpeg_children()
    threads = [int(task.name) for task in Path(f"/proc/{pid}/task").iterdir()]
    seen = {os.getpriority(os.PRIO_PROCESS, thread) for thread in threads}
    clip.close()

    assert {max(usual, ffmpeg.POLITE)} == seen


def test_no_shell_and_no_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    find_program()
    seen: list[dict[str, object]] = []
    start = subprocess.Popen.__init__

    def watch(self: object, *words: object, **more: object) -> None:
        seen.append(more)
        start(self, *words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(subprocess.Popen, "__init__", watch)
    run(["-version"])

    assert [(how.get("shell"), how.get("stdin")) for how in seen] == [(None, subprocess.DEVNULL)]


def test_every_clip_is_read_from_a_full_path_as_a_file_of_a_known_kind_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Header, pictures, full size, strip, stills and HEIC: each command, as the system gets it."""
    monkeypatch.chdir(tmp_path)
    made.write_steady(tmp_path / "-i http:x.mp4", range(12), rate=30)
    (tmp_path / "-y.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(40))
    name = Path("-i http:x.mp4")
    commands: list[list[str]] = []
    start = subprocess.Popen.__init__

    def watch(self: object, command: list[str], *words: object, **more: object) -> None:
        commands.append(command)
        start(self, command, *words, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(subprocess.Popen, "__init__", watch)
    clip = open_clip(name, tmp_path / "cache", part=(0.1, 0.3))
    clip.full(2)
    clip.close()
    key_strip(clip.header, Cache(tmp_path / "cache"), 3)
    export_frames(name, tmp_path / "stills", from_s=0.1)
    with pytest.raises(StillsUnusable):
        read_heic(Path("-y.heic"))

    assert len(commands) >= 7
    for command in commands:
        before, path = command[: command.index("-i")], command[command.index("-i") + 1]
        assert before[before.index("-protocol_whitelist") + 1] == "file"
        assert "concat" not in before[before.index("-format_whitelist") + 1]
        assert Path(path).is_absolute() and command.count("-i") == 1
