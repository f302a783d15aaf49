"""The one pass: every decoded frame once, as a small JPEG, together with its stamp.

ffmpeg prints a frame's stamp on one pipe and hands its JPEG over on another, both in the order
shown, so the k-th stamp belongs to the k-th JPEG. At the end the two counts must agree.
"""

import errno
import math
from collections.abc import Callable
from dataclasses import dataclass

from tapmark.clip.blob import Blob, Splitter
from tapmark.clip.colour import chain_to_jpeg
from tapmark.clip.ffmpeg import EVERY_PICTURE, SHOWINFO, find_program, input_options
from tapmark.clip.header import Header
from tapmark.clip.showinfo import Shown, Talk
from tapmark.clip.timing import Stamps
from tapmark.errors import ClipError

RUN_UP_S = 1.0
"""How far before a part reading starts: the first frames after a seek can be missing."""

LATEST_S = 1e9
"""Thirty years: no clip is longer, and a clock of nanoseconds can still count to it."""

STRICTLY_RISING = "settb=1/1000000,setpts='if(isnan(PREV_OUTPTS),PTS,max(PTS,PREV_OUTPTS+1))'"
"""The JPEG encoder refuses equal times; it gets rising ones, we keep the printed true ones."""


@dataclass(frozen=True)
class Part:
    """A stretch of a clip, in seconds on the file's clock since its first frame."""

    from_s: float
    to_s: float

    def __post_init__(self) -> None:
        if not 0 <= self.from_s < self.to_s <= LATEST_S:
            raise ValueError("a part starts at 0 or later and ends after its start")

    def stamps(self, header: Header) -> tuple[int, int]:
        """Return the first and last stamp that belong to the part, both ends included."""
        zero, tick_s = header.first_stamp or 0, float(header.tick_s)
        slack = 0.01  # of a tick: a bound that was read off a frame includes that frame
        first = zero + math.ceil(self.from_s / tick_s - slack)
        return first, zero + math.floor(self.to_s / tick_s + slack)

    def n_expected(self, header: Header) -> int | None:
        """Return about how many frames the part holds; None when the file does not say."""
        if header.rate_hz is None:
            return None
        end_s = min(self.to_s, header.length_s or self.to_s)
        return max(1, round((end_s - self.from_s) * header.rate_hz))

    def latest_first(self, header: Header) -> int | None:
        """Return the stamp its first frame may have at most when a seek went right."""
        if self.from_s == 0:
            return None
        usual_s = 1.5 / (header.rate_hz or 30.0)
        return self.stamps(header)[0] + round(usual_s / float(header.tick_s))


def part_of(from_s: float, to_s: float) -> Part:
    """Return the part that somebody typed or a file tells of. Raises ClipError."""
    try:
        return Part(from_s, to_s)
    except ValueError:  # nan as well
        raise ClipError(
            f"A part from {from_s:g} to {to_s:g} seconds cannot be. Give a start of 0 or more and "
            "a later end."
        ) from None


@dataclass
class Facts:
    """What came to light while reading.

    n_interlaced:  frames that hold two exposures
    damaged_at:    about where the first damage is, as a frame number; None without damage
    is_cut:        the end is missing
    n_sizes:       how many different frame sizes came by
    """

    n_interlaced: int = 0
    damaged_at: int | None = None
    is_cut: bool = False
    n_sizes: int = 1


def preview_command(
    header: Header, part: Part | None, *, can_seek: bool, n_threads: int
) -> list[str]:
    """Return ffmpeg's arguments for the pass that makes the previews."""
    coding = ["-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"]
    before = ["-threads", str(n_threads)]
    return every_picture(
        header, part, jpeg_chain(header, header.preview_px), coding, before, can_seek=can_seek
    )


def jpeg_chain(header: Header, size_px: tuple[int, int]) -> str:
    """Return the filters that make a frame of this clip ready for the JPEG encoder."""
    is_direct = find_program().converts_colours_directly
    return chain_to_jpeg(size_px, hdr=header.hdr, matrix=header.matrix, is_direct=is_direct)


def every_picture(
    header: Header,
    part: Part | None,
    chain: str,
    coding: list[str],
    before: list[str],
    *,
    can_seek: bool,
    pick: str = "",
) -> list[str]:
    """Return the arguments of any pass that gives every frame once, with its stamp printed.

    chain, coding:  filters and encoder options for what comes out
    before:         further options for the input
    can_seek:       False to read from the start of the file even for a part
    pick:           a filter that lets only some frames through
    """
    chain = f"{SHOWINFO},{chain},{STRICTLY_RISING}"
    if part is not None:
        first, last = part.stamps(header)
        pick = f"select='gte(pts,{first})*lte(pts,{last})'"
        before = before + (_seek(header, part) if can_seek else [])
    filters = f"{pick},{chain}" if pick else chain
    return [
        *input_options(header.path, *before),
        *["-map", f"0:{header.track}", "-an", "-sn", "-dn", "-vf", filters],
        *EVERY_PICTURE,
        *["-enc_time_base", "1:1000000", *coding, "-f", "image2pipe", "-"],
    ]


def _seek(header: Header, part: Part) -> list[str]:
    """Return the options that skip to just before the part, none when that is the start."""
    zero_s = float((header.first_stamp or 0) * header.tick_s) - header.start_s
    from_s = max(0.0, zero_s + part.from_s - RUN_UP_S)
    length_s = zero_s + part.to_s - from_s + 0.5
    start = ["-ss", f"{from_s:.6f}"] if from_s > 0 else []
    return [*start, "-t", f"{length_s:.6f}"]


class Intake:
    """Takes one pass: previews into the blob, stamps into the list, the rest into facts."""

    def __init__(self, blob: Blob, stamps: Stamps, most_bytes: int) -> None:
        """most_bytes: of previews; a clip of unknown length must not fill the disk.

        is_right judges the first frame, once its colours are known; when it is not as the pass
        expected, on_wrong is called, the pass is to be stopped and nothing of it counts.
        on_first is called just before the first preview counts; on_end comes last in any case.
        """
        self.is_right: Callable[[Shown, Talk], bool] = lambda first, talk: True
        self.on_first: Callable[[], object] = lambda: None
        self.on_wrong: Callable[[], object] = lambda: None
        self.on_end: Callable[[int, OSError | None], object] = lambda code, trouble: None
        self.facts = Facts()
        self.talk = Talk()
        self.is_wrong = False
        self._blob = blob
        self._stamps = stamps
        self._splitter = Splitter()
        self._sizes: set[tuple[int, int]] = set()
        self._first: Shown | None = None
        self._is_judged = False
        self._most_bytes = most_bytes

    def take_bytes(self, chunk: bytes) -> None:
        for jpeg in self._splitter.feed(chunk):
            if len(self._blob) == 0:
                self.on_first()
            if not self.is_wrong:
                self._blob.append(jpeg)
        if self._blob.n_bytes > self._most_bytes:
            raise OSError(errno.EFBIG, "more previews than the cache may hold")

    def take_line(self, line: str) -> None:
        picture = self.talk.take(line)
        if self._first is not None and (picture is not None or self.talk.transfer):
            self._judge_first()
        if picture is None:
            return
        if self._is_judged:
            self._add(picture)
        else:
            self._first = picture  # its colours come with the next line

    def _judge_first(self) -> None:
        first, self._first, self._is_judged = self._first, None, True
        assert first is not None
        if self.is_right(first, self.talk):
            self._add(first)
        else:
            self.is_wrong = True
            self.on_wrong()

    def _add(self, picture: Shown) -> None:
        if not self.is_wrong:
            self._sizes.add(picture.size_px)
            self.facts.n_interlaced += picture.field_order in "TB"
            self._stamps.add(picture.stamp)

    def end(self, code: int, trouble: OSError | None) -> None:
        if self._first is not None:
            self._judge_first()
        self.facts.damaged_at = self.talk.damaged_at
        self.facts.is_cut = self.talk.is_cut
        self.facts.n_sizes = max(1, len(self._sizes))
        self.on_end(code, trouble)
