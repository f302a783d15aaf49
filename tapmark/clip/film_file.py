"""Frames into a film: MP4 that any phone plays, or GIF; the bytes are whole or there are none.

H.264 in yuv420p at a constant rate, through the writer of imageio-ffmpeg; nothing is written into
the file but pictures: no date, no place, no name of this program.
"""

import contextlib
import io
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path

import imageio_ffmpeg
import numpy as np
from PIL import Image

from tapmark import disk
from tapmark.clip.ffmpeg import find_program
from tapmark.clip.header import read_header
from tapmark.errors import ClipError
from tapmark.leftovers import temporary_folder
from tapmark.progress import NOBODY, Progress, refuse_cancelled

FPS = 30
GIF_FPS, GIF_PX = 10, 640  # a GIF holds few pictures, each of few colours: for a look, not to keep
BARE = (
    *("-map_metadata", "-1", "-metadata:s:v", "encoder=", "-metadata:s:v", "handler_name="),
    *("-fflags", "+bitexact", "-flags:v", "+bitexact"),
)
PLAYS_ANYWHERE = ("-profile:v", "main", "-level", "3.1", "-preset", "veryfast")
BEGINS_AT_ONCE = ("-movflags", "+faststart")

LARGEST = 2_000_000_000  # bytes, ours: far more than any film of a step
Frames = Iterable[tuple[Image.Image, int]]
"""Pictures of one size, each with how many frames it stands still."""


def mp4_bytes(
    frames: Frames,
    size_px: tuple[int, int],
    n_frames: int,
    progress: Progress = NOBODY,
) -> bytes:
    """Return an MP4 of frames at 30 a second.

    size_px: width and height, both even. progress: told of frames done.
    Raises Cancelled, FfmpegNotFound, ClipError when the disk is full or ffmpeg fails.
    """
    find_program()
    with temporary_folder() as folder:
        path = folder / "film.mp4"
        try:
            _write(path, _watched(frames, n_frames, progress), size_px)
            data = disk.read(path, LARGEST)
        except OSError as trouble:
            raise _failed(trouble) from trouble
        _refuse_cut(path, n_frames)
    return data


def gif_bytes(
    frames: Frames,
    n_frames: int,
    progress: Progress = NOBODY,
) -> bytes:
    """Return a small GIF of the same frames, every third of them; raises Cancelled."""
    out = io.BytesIO()
    kept = list(_thinned(_watched(frames, n_frames, progress)))
    first, *others = [picture for picture, _ in kept]
    lasts_ms = [1000 * n // FPS for _, n in kept]
    first.save(out, "GIF", save_all=True, append_images=others, duration=lasts_ms, loop=0)
    return out.getvalue()


@contextlib.contextmanager
def for_a_look(data: bytes, name: str) -> Iterator[Path]:
    """A film that is not given out yet, as a file that is gone afterwards; raises ClipError."""
    with temporary_folder() as folder:
        path = folder / name
        try:
            path.write_bytes(data)
        except OSError as trouble:
            raise _failed(trouble) from trouble
        yield path


def _write(path: Path, frames: Iterator[tuple[Image.Image, int]], size_px: tuple[int, int]) -> None:
    first = next(frames)  # Cancelled may come here: a writer without a frame speaks of a fault
    writer = imageio_ffmpeg.write_frames(
        path,
        size_px,
        fps=FPS,
        codec="libx264",
        quality=6,
        macro_block_size=2,
        ffmpeg_log_level="quiet",
        output_params=[*PLAYS_ANYWHERE, *BARE, *BEGINS_AT_ONCE],
    )
    with contextlib.closing(writer):
        writer.send(None)
        for picture, n in chain([first], frames):
            pixels = np.ascontiguousarray(picture.convert("RGB"))
            for _ in range(n):
                writer.send(pixels)


def _watched(
    frames: Frames, n_frames: int, progress: Progress
) -> Iterator[tuple[Image.Image, int]]:
    done = 0
    for picture, n in frames:
        refuse_cancelled(progress)
        yield picture, n
        done += n
        progress.report(done, n_frames)


def _thinned(frames: Frames) -> Iterator[tuple[Image.Image, int]]:
    """Yield one small picture for every few frames, with the frames that it stands for."""
    step, waiting = FPS // GIF_FPS, 0
    for picture, n in frames:
        waiting += n
        if waiting >= step:
            small = picture.convert("RGB")
            small.thumbnail((GIF_PX, GIF_PX), Image.Resampling.BOX)
            yield small.quantize(64, dither=Image.Dither.NONE), waiting
            waiting = 0


def _refuse_cut(path: Path, n_frames: int) -> None:
    """Raise ClipError for a film that ends too early: a full disk shows only at its end."""
    try:
        whole = read_header(path).n_expected
    except ClipError as trouble:
        raise _failed(trouble) from trouble
    if whole is None or abs(whole - n_frames) > 1:
        raise _failed(None)


def _failed(trouble: Exception | None) -> ClipError:
    if isinstance(trouble, OSError) and disk.is_full(trouble):
        return ClipError(
            "The disk is full, so the film was not written and nothing was left behind. Free some "
            "space and make it again."
        )
    return ClipError(
        "The film was not written and nothing was left behind: the writer stopped before its end. "
        "Look whether the disk is full, then make it again."
    )
