"""Which frames are to be opened: stills, a clip, or a part of a long one."""

from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image

from tapmark.app.jobs import Task
from tapmark.clip.frames import Clip, Header, Pictures, begin_clip, open_stills, read_header
from tapmark.errors import OtherPictures
from tapmark.marks.run import Source
from tapmark.store import pictures as stored


@dataclass(frozen=True)
class Wish:
    """Which frames to open.

    stills:  loose files in the folder `path`; () = the clip or the whole folder.
    is_new:  chosen by the coach now, not the frames that a run has already.
    rate_hz: frames per second of stills, as typed in.
    part_s:  from and to, seconds on the file's clock; None = the whole clip.
    marked:  what a run was marked on; other frames under that name are refused.
    """

    path: Path
    stills: tuple[Path, ...] = ()
    is_new: bool = True
    rate_hz: float | None = None
    part_s: tuple[float, float] | None = None
    marked: Source | None = None

    def opened(self, cache_folder: Path, task: Task) -> Pictures:
        """Open them; a clip comes back with its first frame.

        Raises ClipError, OtherPictures, Cancelled.
        """
        if self.stills or self.path.is_dir():
            pictures: Pictures = open_stills(self.stills or self.path, rate_hz=self.rate_hz)
        else:
            if self.marked and self.path.is_file():
                stored.refuse_other_clip(self.marked, self.path)
            header = read_header(self.path)
            pictures = begin_clip(
                self.path, cache_folder, part=self.part_s, header=header, progress=task
            )
        try:
            self.refuse_others(pictures)
        except OtherPictures:
            pictures.close()
            raise
        return pictures

    def refuse_others(self, pictures: Pictures) -> None:
        """Raise OtherPictures when they are not those that were marked; a clip once it is read."""
        if self.marked:
            n, is_whole = len(pictures), not isinstance(pictures, Clip) or pictures.is_done
            last_s = pictures.time_s(n - 1) if n and is_whole else None
            stored.refuse_other_pictures(self.marked, self.path.name, pictures.size_px, n, last_s)


USUAL_PICTURES = 1_200  # frames of a part that is offered: a few steps at 240 a second


@dataclass(frozen=True)
class LongClip:
    """A clip that was asked for, small frames of it, and the part that is offered (seconds).

    strip: (seconds on the file's clock, small frame), in order.
    """

    wish: Wish
    header: Header
    strip: tuple[tuple[float, Image.Image], ...]
    start_s: float
    end_s: float

    @property
    def length_s(self) -> float:
        """Length of the whole clip on its own clock."""
        return self.header.length_s or 0.0

    @property
    def words(self) -> str:
        """What the clip is like, in a sentence."""
        n = round(self.header.n_expected or 0, -2)
        return (
            f"“{self.header.name}” has about {n:,} frames ({self.length_s:.0f} s). "
            "Press the frame where the runner passes, or type from and to."
        )

    def around(self, at_s: float) -> "LongClip":
        """Return the same with a part around a moment."""
        wide = USUAL_PICTURES / (self.header.rate_hz or 240.0)
        start = min(max(0.0, at_s - wide / 2), max(0.0, self.length_s - wide))
        return replace(self, start_s=start, end_s=min(self.length_s, start + wide))
