"""A clip as a row of frames, usable from its first frame on while the rest is being read."""

import functools
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tapmark.clip import troubles
from tapmark.clip.cache import Cache
from tapmark.clip.colour import chain_to_rgb
from tapmark.clip.ffmpeg import EVERY_PICTURE, SHOWINFO, input_options, run
from tapmark.clip.header import Header
from tapmark.clip.ingest import Facts, Part
from tapmark.clip.rates import Capture, capture_from_file
from tapmark.clip.reading import ClipReader
from tapmark.clip.showinfo import parse_picture
from tapmark.clip.timing import Stamps, is_uneven, missing_exposures, rate_stretches
from tapmark.errors import ClipError, ClipUnreadable, FrameNotThere
from tapmark.progress import NOBODY, Progress

RUN_UP_S = 3.0
"""Longer than the distance between intra frames in nearly every clip."""


@dataclass(frozen=True)
class Wanted:
    """Which frame.

    i:        its number, counted from the start of the whole file; None within a part
    stamp:    its stamp; None where the file has none
    n_twins_before, has_twin: frames before it that share its stamp; whether any does
    gap_s:    distance to its neighbour, on the file's clock
    """

    i: int | None
    stamp: int | None
    n_twins_before: int
    has_twin: bool
    gap_s: float


def read_full(
    header: Header,
    wanted: Wanted,
    tables: Path,
    progress: Progress = NOBODY,
) -> Image.Image:
    """Return the frame, RGB, at `header.size_px`. Takes 0.3–1.5 s, seconds in odd clips.

    tables: the folder that holds the HDR colour tables
    Raises ClipUnreadable when the file has changed or gone, Cancelled.
    """
    for before, select in _attempts(header, wanted):
        if troubles.state_of(header.path) != header.written:
            break
        picture = _attempt(header, wanted, before, select, tables, progress)
        if picture is not None:
            return picture
    raise ClipUnreadable(
        f"The frame cannot be found in “{header.name}” any more: the file has changed or its "
        "drive has gone. Open the clip again."
    )


def _attempts(header: Header, wanted: Wanted) -> Iterator[tuple[list[str], str]]:
    """Yield (options before the input, filter that lets only the frame through)."""
    if wanted.stamp is None and wanted.i is None:
        raise FrameNotThere(
            f"“{header.name}” holds no times, so a part of it cannot be read again. Open the "
            "whole clip."
        )
    if wanted.i is not None and (wanted.stamp is None or wanted.has_twin):
        yield [], f"select='eq(n,{wanted.i})'"
        return
    select = f"select='eq(pts,{wanted.stamp})'"
    if not wanted.has_twin:
        yield from ((before, select) for before in _seeks(header, wanted))
    yield [], select


def _seeks(header: Header, wanted: Wanted) -> Iterator[list[str]]:
    """Yield input options that start reading just before the frame, then well before it."""
    at_s = float((wanted.stamp or 0) * header.tick_s) - header.start_s
    for run_up_s in (wanted.gap_s / 4, RUN_UP_S):
        from_s = at_s - run_up_s
        if from_s > 0:
            length_s = run_up_s + max(2 * wanted.gap_s, 0.1)
            yield ["-ss", f"{from_s:.6f}", "-t", f"{length_s:.6f}"]


def _attempt(
    header: Header,
    wanted: Wanted,
    before: list[str],
    select: str,
    tables: Path,
    progress: Progress,
) -> Image.Image | None:
    rgb = chain_to_rgb(header.size_px, hdr=header.hdr, matrix=header.matrix)
    chain = f"{select},{SHOWINFO},{rgb},format=rgb24"
    k = wanted.n_twins_before if "pts" in select else 0
    output = run(
        [
            *input_options(header.path, *before),
            *["-map", f"0:{header.track}", "-an", "-sn", "-dn", "-vf", chain],
            *EVERY_PICTURE,
            *["-frames:v", str(k + 1), "-c:v", "ppm", "-f", "image2pipe", "-"],
        ],
        folder=tables,
        progress=progress,
    )
    shown = [picture for line in output.lines if (picture := parse_picture(line))]
    frames = _split_ppm(output.data, header.size_px)
    if min(len(frames), len(shown)) <= k or shown[k].stamp != wanted.stamp:
        return None
    return frames[k]


def _split_ppm(data: bytes, size_px: tuple[int, int]) -> list[Image.Image]:
    """Return the frames in a row of binary PPM files, all of the same size."""
    head = f"P6\n{size_px[0]} {size_px[1]}\n255\n".encode("ascii")
    one = len(head) + 3 * size_px[0] * size_px[1]
    pictures = []
    for start in range(0, len(data) - one + 1, one):
        picture = Image.open(io.BytesIO(data[start : start + one]))
        picture.load()
        pictures.append(picture.convert("RGB"))
    return pictures


DECODED_KEPT = 12
SMALL_PX = 320


class Clip:
    """A clip being read, or read. Gives `frames.Pictures`; see there for what each call means.

    Growth is safe to watch from any thread: frames 0 … len−1 never change once known.
    """

    kind = "clip"

    def __init__(self, header: Header, cache: Cache, part: Part | None = None) -> None:
        self.part = part
        self.name = header.name
        self._reading = ClipReader(header, cache, part)
        self._decoded = functools.lru_cache(maxsize=DECODED_KEPT)(self._decode)

    # Reading

    @property
    def header(self) -> Header:
        """What the file says; confirmed as soon as the first frame is there."""
        return self._reading.header

    def begin(self) -> None:
        """Take the prepared pictures or start reading. Raises ClipError."""
        self._reading.begin()

    def wait(self, timeout_s: float) -> bool:
        """Wait at most that long; return whether reading is over."""
        return self._reading.wait(timeout_s)

    @property
    def is_done(self) -> bool:
        return self._reading.is_done

    @property
    def n_signs_of_life(self) -> int:
        """Grows while the reading goes on: a dead drive shows by standing still."""
        return self._reading.n_signs_of_life

    @property
    def n_expected(self) -> int | None:
        """About how many frames will come; exact once reading is over; None when unknown."""
        if self.is_done:
            return len(self)
        return self.part.n_expected(self.header) if self.part else self.header.n_expected

    def check(self) -> None:
        """Raise the ClipError that ended the reading, if one did."""
        if self._reading.error is not None:
            raise self._reading.error

    @property
    def shortfall(self) -> str | None:
        """A question when the file ends too early: use the frames that can be read?"""
        if not self.is_done or not self._reading.facts.is_cut:
            return None
        promised = self.header.n_expected if self.part is None else None
        of_all = f" of about {promised}" if promised and promised > len(self) else ""
        return f"The first {len(self)}{of_all} frames of “{self.name}” can be read; use them?"

    def close(self) -> None:
        """Stop reading, end the process, remove what is not whole, forget decoded frames."""
        self._reading.stop()
        self._decoded.cache_clear()

    # Frames

    @property
    def size_px(self) -> tuple[int, int]:
        return self.header.size_px

    def __len__(self) -> int:
        return len(self._reading)

    def preview(self, i: int) -> Image.Image:
        return self._decoded(self._checked(i))

    def small(self, i: int) -> Image.Image:
        jpeg = self._reading.jpeg(self._checked(i))
        picture = Image.open(io.BytesIO(jpeg)) if jpeg else self._read_again(i)
        picture.draft("RGB", (SMALL_PX, SMALL_PX))
        picture.thumbnail((SMALL_PX, SMALL_PX), Image.Resampling.BOX)
        return picture

    def full(self, i: int, progress: Progress = NOBODY) -> Image.Image:
        self._checked(i)
        stamps = self._reading.stamps
        n_before, n_all = stamps.twins(i)
        wanted = Wanted(
            i=i if self.part is None else None,
            stamp=stamps.stamp(i),
            n_twins_before=n_before,
            has_twin=n_all > 1,
            gap_s=stamps.interval_s(i) or 0.04,
        )
        return read_full(self.header, wanted, self._reading.tables, progress)

    def _decode(self, i: int) -> Image.Image:
        jpeg = self._reading.jpeg(i)
        if not jpeg:
            return self._read_again(i)
        try:
            picture = Image.open(io.BytesIO(jpeg))
            picture.load()
        except (OSError, SyntaxError):
            return self._read_again(i)
        return picture

    def _read_again(self, i: int) -> Image.Image:
        """Return the preview from the clip itself: the prepared one is damaged or has gone."""
        try:
            picture = self.full(i)
        except ClipError as trouble:
            raise ClipError(
                f"The prepared frames of “{self.name}” are damaged or have gone. Open the clip "
                "again."
            ) from trouble
        return picture.resize(self.header.preview_px, Image.Resampling.BILINEAR)

    def _checked(self, i: int) -> int:
        if not 0 <= i < len(self):
            raise FrameNotThere(
                f"Frame {i + 1} is not there: “{self.name}” has {len(self)} frames"
                f"{'' if self.is_done else ' so far'}."
            )
        return i

    # Times

    def time_s(self, i: int) -> float | None:
        return self._reading.stamps.time_s(self._checked(i))

    def interval_s(self, i: int) -> float | None:
        return self._reading.stamps.interval_s(self._checked(i))

    def rate_hz(self) -> float | None:
        """Usual frames per second on the file's clock, from the stamps read so far."""
        return self._reading.stamps.rate_hz() or self.header.rate_hz

    @property
    def capture(self) -> Capture:
        if not self.is_done:
            return self.header.capture
        stamps = self._reading.stamps
        is_steady = len(rate_stretches(stamps.gaps_s(), float(stamps.tick_s))) < 2
        return capture_from_file(self.header.tag_hz, stamps.rate_hz(), is_steady=is_steady)

    @property
    def notes(self) -> tuple[str, ...]:
        return clip_notes(self.header, self._reading.stamps, self._reading.facts)


DOUBLED_FILE_HZ = (23.0, 31.0)
"""File clocks in this range may hide slow motion that was baked in when the clip was shared."""


def clip_notes(header: Header, stamps: Stamps, facts: Facts) -> tuple[str, ...]:
    """Return what a coach should know about this clip, most important first."""
    return (*_damage(facts), *_times(header, stamps), *_looks(header, facts))


def _damage(facts: Facts) -> Iterator[str]:
    if facts.is_cut:
        yield (
            "The end of the file is missing: the copy was interrupted. The last frame may be torn."
        )
    elif facts.damaged_at is not None:
        yield (
            f"The file is damaged, first near frame {facts.damaged_at + 1}: frames there may "
            "be torn or smeared. Their numbers and times stay right."
        )
    if facts.n_sizes > 1:
        yield "The frame size changes inside the clip; all are shown at the first size."


def _times(header: Header, stamps: Stamps) -> Iterator[str]:
    if not stamps.is_known:
        yield "The file holds no times for its frames: seconds cannot be measured."
        return
    gaps, tick_s = stamps.gaps_s(), float(stamps.tick_s)
    if gaps.size and gaps.min() < 0:
        yield "The file's clock jumps back somewhere: trust times only within one stretch."
    rates_hz = rate_stretches(gaps, tick_s)
    if len(rates_hz) > 1:
        words = " then ".join(f"{rate:.0f}" for rate in rates_hz[:4])
        more = " and so on" if len(rates_hz) > 4 else ""
        yield (
            f"The rate changes inside the clip ({words}{more} frames per second on the file's "
            "clock). Mark a step inside one stretch."
        )
    n_missing = int(missing_exposures(gaps, tick_s).sum())
    if n_missing:
        words = "1 frame seems" if n_missing == 1 else f"{n_missing} frames seem"
        yield f"{words} to be missing; times beside a gap are less sure and say so."
    if is_uneven(gaps, tick_s):
        yield "The rate is not steady; times follow each frame's own stamp."
    n_twins = int((gaps == 0).sum())
    if n_twins:
        yield (
            f"{n_twins} frames share their time with the one before: the file's clock counts in "
            f"steps of {1000 * tick_s:g} ms."
        )
    yield from _ramp(header, stamps.rate_hz())


def _ramp(header: Header, rate_hz: float | None) -> Iterator[str]:
    low, high = DOUBLED_FILE_HZ
    if header.has_ramp_note:
        yield (
            "The maker's own note says that slow motion begins somewhere inside. Only the phone "
            "can tell where: state the rate of the part you mark, or say “not known”."
        )
    elif header.tag_hz is None and rate_hz is not None and low <= rate_hz <= high:
        yield (
            f"{rate_hz:.0f} frames per second: if this was slow motion, a shared copy may have "
            "lost its true rate or bent its time. The original from the phone keeps it."
        )


def _looks(header: Header, facts: Facts) -> Iterator[str]:
    if facts.n_interlaced:
        yield (
            "Interlaced: each frame mixes two exposures, half an interval apart, on alternate "
            "lines. Positions are less sharp and times half an interval less sure."
        )
    if header.turn_deg:
        yield "The phone noted a turn; the frames are shown upright."
    if header.hdr:
        yield f"HDR colours ({header.hdr.upper()}), adapted for a plain screen."
    if header.has_colours_we_cannot_show:
        yield (
            "Colours of a kind that cannot be shown right: they look green and purple. "
            "Positions and times are not affected."
        )
