"""The only place that runs a process: the ffmpeg program that comes with imageio-ffmpeg.

How it is run, and why:
- list of arguments, no shell, absolute input path, no standard input;
- both pipes are drained by a thread each, or a talkative clip would fill one and stop for ever;
- low priority once a clip's first frame is there, so that stepping stays smooth;
- only local files (`-protocol_whitelist file`) in container formats that hold their own frames
  (`-format_whitelist`): a playlist that names other files or addresses is refused, not followed;
- whatever happens, the process is killed and waited for; its pipe breaks if we are killed.
"""

import atexit
import functools
import os
import re
import subprocess
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Protocol

import imageio_ffmpeg

from tapmark.clip.names import reading_path
from tapmark.clip.turns import turns
from tapmark.errors import FfmpegNotFound
from tapmark.progress import NOBODY, Progress

CONTAINERS = "mov,matroska,avi,mpegts,mpeg,asf,flv,gif,ogg,mxf,dv,rm"
"""Every format here carries its frames inside itself; none opens a second file."""

EVERY_PICTURE = ("-fps_mode", "passthrough")
"""The option that neither copies nor drops frames."""

SHOWINFO = "showinfo=checksum=0"
"""The filter that prints each frame's stamp; with checksums it would cost twice as much."""

OLDEST = (7, 0)
"""Tried: 7.0 and 9.0 meet every test (7.0 crashes on MPEG-TS, which is said); 4.2 shows mirrored
clips unmirrored, the wrong foot without a word."""

POLITE = 10
"""POSIX niceness of every run; on Windows "below normal" does the same."""

CHUNK = 1 << 18
LONGEST_LINE = 1 << 13
LINES_KEPT = 400
PATIENCE_S = 2.0
"""How long to wait for a killed process; one stuck in a dead network drive may never go."""


@dataclass(frozen=True)
class Program:
    """The ffmpeg program; an unnumbered build counts as new.

    path, version:  where it is; (major, minor)
    """

    path: str
    version: tuple[int, int]

    @property
    def converts_colours_directly(self) -> bool:
        """Whether the scaler itself turns BT.709 into the colours of JPEG (tried: 9.0 does)."""
        return self.version >= (9, 0)


def version_in(text: str) -> tuple[int, int]:
    """Return (major, minor) from what `ffmpeg -version` prints; (99, 0) for unnumbered builds."""
    found = re.search(r"version n?(\d+)\.(\d+)", text)
    return (int(found[1]), int(found[2])) if found else (99, 0)


@functools.cache
def find_program() -> Program:
    """Return the ffmpeg program. Raises FfmpegNotFound when there is none or an old one."""
    try:
        path = imageio_ffmpeg.get_ffmpeg_exe()
        text = subprocess.run(
            [path, "-version"],
            capture_output=True,
            stdin=subprocess.DEVNULL,
            timeout=60,
            check=False,
            creationflags=_creation_flags(is_polite=False),
        ).stdout.decode("utf-8", "replace")
    except (RuntimeError, OSError, subprocess.TimeoutExpired) as trouble:
        raise FfmpegNotFound(
            "The ffmpeg program that reads clips is missing or does not start "
            f"({_reason(trouble)}). Install it again with: pip install --force-reinstall "
            "imageio-ffmpeg"
        ) from trouble
    program = Program(path, version_in(text))
    if program.version < OLDEST:
        raise FfmpegNotFound(
            f"The ffmpeg program here (version {program.version[0]}.{program.version[1]}) is too "
            "old to be trusted with mirrored clips. Update it with: pip install --upgrade "
            "imageio-ffmpeg (on Windows with a 64-bit Python)."
        )
    return program


def _reason(trouble: Exception) -> str:
    """Return why the program does not start, without the path: that may name a person."""
    if isinstance(trouble, OSError):
        return trouble.strerror or type(trouble).__name__
    return "no answer" if isinstance(trouble, subprocess.TimeoutExpired) else "none was found"


def input_options(path: Path, *before: str) -> list[str]:
    """Return the arguments that open `path` safely on the file's own clock.

    Filters are never set up anew when the frame size changes inside a clip: that would lose
    frames and the filters' memory.
    """
    guards = ["-protocol_whitelist", "file", "-format_whitelist", CONTAINERS]
    return [*guards, "-copyts", "-reinit_filter", "0", *before, "-i", reading_path(path)]


class Sink(Protocol):
    """Takes what a run says. `take_bytes` and `take_line` come from two different threads."""

    def take_bytes(self, chunk: bytes) -> None: ...
    def take_line(self, line: str) -> None: ...
    def end(self, code: int, trouble: OSError | None) -> None:
        """Called once, last, when both pipes are empty and the process is gone."""


class Running:
    """One running ffmpeg, drained into a sink by two threads."""

    def __init__(
        self,
        arguments: Sequence[str],
        sink: Sink,
        folder: Path | None = None,
        *,
        is_background: bool = False,
    ) -> None:
        """Start the process in `folder`, where it finds the colour tables.

        is_background: on Windows it gets a low priority from the start; elsewhere `step_back`
        lowers it later.
        n_signs_of_life grows with every piece of data or talk that arrives.
        """
        program = find_program()
        command = [program.path, "-hide_banner", "-nostats", "-nostdin", *arguments]
        self._sink = sink
        self._trouble: OSError | None = None
        self.n_signs_of_life = 0
        self._done = threading.Event()
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            bufsize=0,
            cwd=folder,
            creationflags=_creation_flags(is_polite=is_background),
        )
        _alive.add(self)
        self._talk = threading.Thread(target=self._drain_talk, name="ffmpeg talk", daemon=True)
        self._data = threading.Thread(target=self._drain_data, name="ffmpeg data", daemon=True)

    def start(self) -> None:
        """Begin to drain; separate, so that the owner can keep a hold on it first."""
        self._talk.start()
        self._data.start()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Return True once the process is gone and the sink's `end` has returned."""
        return self._done.wait(timeout_s)

    def step_back(self) -> None:
        """Lower the priority, so that stepping through frames stays smooth (POSIX)."""
        for thread in _threads_of(self._process.pid):
            try:
                usual = os.getpriority(os.PRIO_PROCESS, thread)
                os.setpriority(os.PRIO_PROCESS, thread, max(usual, POLITE))
            except OSError:  # it is already gone, or a strict system forbids it: speed only
                return

    def kill(self) -> None:
        """End the process now; `end` of the sink still follows. Harmless when it is gone."""
        self._process.kill()

    def _drain_data(self) -> None:
        try:
            self._feed(self._process.stdout, self._sink.take_bytes)
            self._talk.join()
            self._sink.end(self._process.wait(), self._trouble)
        finally:
            self._process.kill()
            _alive.discard(self)
            self._done.set()

    def _drain_talk(self) -> None:
        rest = b""

        def take(chunk: bytes) -> None:
            nonlocal rest
            *lines, rest = (rest + chunk).split(b"\n")
            for line in lines:
                self._sink.take_line(line[:LONGEST_LINE].decode("utf-8", "replace").rstrip())
            rest = rest[:LONGEST_LINE]

        self._feed(self._process.stderr, take)

    def _feed(self, pipe: IO[bytes] | None, take: Callable[[bytes], None]) -> None:
        """Give `take` all that comes; a full disk there ends the process and is remembered."""
        assert pipe is not None
        try:
            while chunk := pipe.read(CHUNK):
                self.n_signs_of_life += 1
                take(chunk)
        except OSError as trouble:
            self._trouble = trouble
            self._process.kill()
        finally:
            pipe.close()


@dataclass
class Output:
    """A sink that keeps all: exit code, pieces of standard output, lines of talk."""

    code: int = 0
    chunks: list[bytes] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    @property
    def data(self) -> bytes:
        return b"".join(self.chunks)

    def take_bytes(self, chunk: bytes) -> None:
        self.chunks.append(chunk)

    def take_line(self, line: str) -> None:
        if len(self.lines) < LINES_KEPT:
            self.lines.append(line)

    def end(self, code: int, trouble: OSError | None) -> None:
        self.code = code


def run(
    arguments: Sequence[str],
    *,
    folder: Path | None = None,
    silence_s: float | None = None,
    progress: Progress = NOBODY,
) -> Output:
    """Run ffmpeg to its end and return what it gave: short answers that somebody waits for.

    Raises Cancelled, ClipUnreadable after `silence_s` seconds
    without a word.
    """
    output = Output()
    running = Running(arguments, output, folder)
    running.start()
    try:
        for _ in turns(running, progress, silence_s=silence_s):
            pass
    finally:
        stop(running)
    return output


def stop(running: Running) -> bool:
    """Kill the process if it still runs; return False if it would not go within 2 s."""
    if not running.wait(0):
        running.kill()
    return running.wait(PATIENCE_S)


_alive: set[Running] = set()


@atexit.register
def stop_all() -> None:
    """End every run of this program; called when Python ends."""
    for running in list(_alive):
        stop(running)


def _threads_of(pid: int) -> list[int]:
    """Return the threads of a process: Linux has a priority for each, others one for all."""
    if not hasattr(os, "setpriority"):
        return []
    try:
        return [int(name) for name in os.listdir(f"/proc/{pid}/task")]  # noqa: PTH208
    except OSError:
        return [pid]


def _creation_flags(*, is_polite: bool) -> int:
    """Keep Windows from flashing a console window, and be polite there; 0 elsewhere."""
    no_window: int = getattr(subprocess, "CREATE_NO_WINDOW", 0)
    below_normal: int = getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
    return no_window | (below_normal if is_polite else 0)
