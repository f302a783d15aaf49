"""A clip as a row of pictures, usable from its first picture on while the rest is being read."""

import functools
import io
from collections.abc import Callable

from PIL import Image

from tapmark.clip.cache import Cache
from tapmark.clip.full import Wanted, read_full
from tapmark.clip.header import Header
from tapmark.clip.ingest import Part
from tapmark.clip.notes import clip_notes
from tapmark.clip.rates import Capture, capture_from_file
from tapmark.clip.reading import ClipReader
from tapmark.clip.timing import Span, rate_stretches
from tapmark.errors import ClipError, FrameNotThere

DECODED_KEPT = 12
SMALL_PX = 320


class Clip:
    """A clip being read, or read. Gives `frames.Pictures`; see there for what each call means.

    Growth is safe to watch from any thread: pictures 0 … len−1 never change once known.
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
        """What the file says; confirmed as soon as the first picture is there."""
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
        """About how many pictures will come; exact once reading is over; None when unknown."""
        if self.is_done:
            return len(self)
        return self.part.n_expected(self.header) if self.part else self.header.n_expected

    def check(self) -> None:
        """Raise the ClipError that ended the reading, if one did."""
        if self._reading.error is not None:
            raise self._reading.error

    @property
    def shortfall(self) -> str | None:
        """A question when the file ends too early: use the pictures that can be read?"""
        if not self.is_done or not self._reading.facts.is_cut:
            return None
        promised = self.header.n_expected if self.part is None else None
        of_all = f" of about {promised}" if promised and promised > len(self) else ""
        return f"The first {len(self)}{of_all} frames of “{self.name}” can be read; use them?"

    def close(self) -> None:
        """Stop reading, end the process, remove what is not whole, forget decoded pictures."""
        self._reading.stop()
        self._decoded.cache_clear()

    # Pictures

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

    def full(self, i: int, is_cancelled: Callable[[], bool] | None = None) -> Image.Image:
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
        return read_full(self.header, wanted, self._reading.tables, is_cancelled)

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

    def span(self, i: int, j: int) -> Span | None:
        return self._reading.stamps.span(self._checked(i), self._checked(j))

    def stamp(self, i: int) -> int | None:
        return self._reading.stamps.stamp(self._checked(i))

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
