"""Open clips and stills as rows of frames: what window, pages and command line may call.

Clips and stills give the same thing, a `Pictures`. Frame i is one and the same exposure in
`preview`, `small`, `full` and `time_s`, in a whole clip and in parts of it, however the caller
jumps about.

A clip, in the window:
    header = read_header(path)                      quick; says whether to ask for a part first
    clip = begin_clip(path, cache_folder)           returns with the first frame
    … clip.preview(i), len(clip), clip.is_done …    from any thread while the rest is read
    clip.check()                                    when done: raises what went wrong, if anything
    clip.shortfall                                  when done: a question if the end is missing
    clip.close()                                    at any time: no process stays behind
A clip, elsewhere: `open_clip` waits for the end. Stills: `open_stills`. Either: `open_pictures`.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from PIL import Image

from tapmark import disk
from tapmark.clip.cache import LIMIT_BYTES, Cache, user_cache_folder
from tapmark.clip.changes import Changes, measure_changes
from tapmark.clip.clip import Clip
from tapmark.clip.header import SILENCE_S, Header, read_header
from tapmark.clip.ingest import Part, part_of
from tapmark.clip.rates import Capture, StopwatchRate, capture_told, rate_from_stopwatch
from tapmark.clip.stills import Stills, open_stills, picked_of
from tapmark.clip.strip import key_strip
from tapmark.clip.turns import turns
from tapmark.media_types import STILLS
from tapmark.progress import NOBODY, Progress

__all__ = [
    "Capture",
    "Changes",
    "Clip",
    "Header",
    "Part",
    "Pictures",
    "Stills",
    "StopwatchRate",
    "begin_clip",
    "capture_told",
    "is_clip",
    "key_strip",
    "measure_changes",
    "open_clip",
    "open_pictures",
    "open_stills",
    "rate_from_stopwatch",
    "read_header",
    "user_cache_folder",
]


class Pictures(Protocol):
    """A row of frames, upright, with square pixels and, where known, times.

    name:     what to call it in a sentence (file or folder name, safe to print)
    kind:     "clip" or "stills"
    size_px:  full size (w, h), upright
    capture:  how the file's clock relates to true time
    notes:    plain sentences: turned, interlaced, uneven rate, missing exposures, HDR, cut off …

    Every call that takes a frame number raises FrameNotThere outside 0 … len−1 and ClipError
    when the file has gone. Frames are shared between callers: copy before drawing on one.
    """

    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def size_px(self) -> tuple[int, int]: ...
    @property
    def capture(self) -> Capture: ...
    @property
    def notes(self) -> tuple[str, ...]: ...

    def __len__(self) -> int:
        """Return how many frames are known by now; grows while a clip is read."""

    def preview(self, i: int) -> Image.Image:
        """Return frame i, RGB, longest side at most 1280."""

    def small(self, i: int) -> Image.Image:
        """Return frame i, RGB, longest side at most 320: quick, for strips and comparisons."""

    def full(self, i: int, progress: Progress = NOBODY) -> Image.Image:
        """Return the same frame at `size_px`, RGB. A clip needs 0.3–1.5 s: call it in a job."""

    def time_s(self, i: int) -> float | None:
        """Return seconds on the file's clock since the file's first frame; None = not known.

        True seconds: capture.true_s(time_s).
        """

    def interval_s(self, i: int) -> float | None:
        """Return the larger of the two gaps beside frame i, seconds on the file's clock.

        Where exposures are missing the gap is wide, and so is the doubt of a time read there.
        """

    def rate_hz(self) -> float | None:
        """Return the usual frames per second on the file's clock; None = not known."""

    def close(self) -> None:
        """Stop reading, end every process, drop what is half done."""


def begin_clip(
    path: Path,
    cache_folder: Path,
    *,
    part: tuple[float, float] | None = None,
    header: Header | None = None,
    progress: Progress = NOBODY,
) -> Clip:
    """Return a clip with its first frame there, while the rest is read in the background.

    cache_folder:  where prepared frames go (see cache.user_cache_folder); never beside the clip
    part:          (from, to) in seconds on the file's clock; None = all of it
    header:        as read before, to save reading it again
    Raises ClipUnreadable (what is wrong and what to do), ClipError (disk), FfmpegNotFound,
    Cancelled.
    """
    clip = _started(path, cache_folder, part, header)
    try:
        for _ in turns(clip, progress, silence_s=SILENCE_S):
            if len(clip):
                return clip
        clip.check()
    except BaseException:
        clip.close()
        raise
    return clip


def open_clip(
    path: Path,
    cache_folder: Path,
    *,
    progress: Progress = NOBODY,
    part: tuple[float, float] | None = None,
    limit_bytes: int = LIMIT_BYTES,
) -> Clip:
    """Return a clip that is read to its end. Arguments and errors as for `begin_clip`.

    A file that ends too early is no error: ask `shortfall`.
    """
    clip = _started(path, cache_folder, part, None, limit_bytes)
    try:
        for _ in turns(clip, progress, silence_s=SILENCE_S):
            progress.report(len(clip), clip.n_expected)
        clip.check()
    except BaseException:
        clip.close()
        raise
    return clip


def _started(
    path: Path,
    cache_folder: Path,
    part: tuple[float, float] | None,
    header: Header | None,
    limit_bytes: int = LIMIT_BYTES,
) -> Clip:
    header = header or read_header(path)
    clip = Clip(header, Cache(cache_folder, limit_bytes), part_of(*part) if part else None)
    clip.begin()
    return clip


def is_clip(paths: Path | Sequence[Path]) -> bool:
    """Return True for one file that is no still by its name; an animation counts as a clip."""
    picked = picked_of(paths)
    ending = picked[0].suffix.casefold()
    return (
        len(picked) == 1 and not disk.is_folder(picked[0]) and ending not in set(STILLS) - {".gif"}
    )


def open_pictures(
    paths: Path | Sequence[Path],
    cache_folder: Path,
    *,
    progress: Progress = NOBODY,
    part: tuple[float, float] | None = None,
) -> Pictures:
    """Return whatever a person chose: a clip, a folder of stills, or stills. Raises as they do."""
    picked = picked_of(paths)
    if is_clip(paths):
        return open_clip(picked[0], cache_folder, progress=progress, part=part)
    return open_stills(picked[0] if len(picked) == 1 else picked)
