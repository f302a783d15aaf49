"""What ffmpeg's `showinfo` filter prints about each decoded frame, read line by line."""

import re
from dataclasses import dataclass, field
from fractions import Fraction

_OURS = r"\[Parsed_showinfo_\d+ @ \w+\] +"
"""Lines of the filter itself; a file's own notes are printed indented and cannot pass for one."""

_TICK = re.compile(_OURS + r"config in time_base: (\d+)/(\d+)")
_PICTURE = re.compile(
    _OURS + r"n: *\d+ pts: *(-?\d+|NOPTS) .*? sar:(\d+)/(\d+) s:(\d+)x(\d+) i:(\w)"
)
_COLOUR = re.compile(
    _OURS + r"color_range:\S+ color_space:(\S+) color_primaries:\S+ color_trc:(\S+)"
)
_DAMAGE = re.compile(
    r"concealing|corrupt decoded frame|corrupt input packet|error while decoding|"
    r"Invalid NAL unit|Packet corrupt|Error submitting packet",
    re.IGNORECASE,
)
_CUT = re.compile(
    r"partial file|ended prematurely|Truncating packet|Input/output error", re.IGNORECASE
)


@dataclass(frozen=True)
class Shown:
    """One decoded frame as the filter saw it, after turning upright.

    stamp:       integer stamp in ticks, None where the file gives none
    sar:         width of a pixel / its height, 1 where the file says nothing
    size_px:     (w, h) before the pixels are made square
    field_order: "P" whole frames, "T" or "B" two half frames in one
    """

    stamp: int | None
    sar: Fraction
    size_px: tuple[int, int]
    field_order: str

    @property
    def square_size_px(self) -> tuple[int, int]:
        """Size with square pixels: the longer axis is stretched, none is shrunk."""
        width, height = self.size_px
        if self.sar >= 1:
            return max(2, round(width * self.sar)), height
        return width, max(2, round(height / self.sar))


def parse_picture(line: str) -> Shown | None:
    """Return the frame a line tells of, None for every other line."""
    found = _PICTURE.match(line)
    if not found:
        return None
    stamp = None if found[1] == "NOPTS" else int(found[1])
    wide, high = int(found[2]), int(found[3])
    sar = Fraction(wide, high) if wide and high else Fraction(1)
    return Shown(stamp, sar, (int(found[4]), int(found[5])), found[6])


@dataclass
class Talk:
    """What all lines of a run add up to, besides the frames themselves.

    tick_s:                  length of a tick, None until it is announced
    colour_space, transfer:  ffmpeg's names, "" until announced
    n_pictures:              frames so far
    damaged_at:              frames that had come by when damage was told of for the first time
    is_cut:                  a line says that the end is missing
    last_words:              the last few lines that are no frame, for the kind of an error
    """

    tick_s: Fraction | None = None
    colour_space: str = ""
    transfer: str = ""
    n_pictures: int = 0
    damaged_at: int | None = None
    is_cut: bool = False
    last_words: list[str] = field(default_factory=list)

    def take(self, line: str) -> Shown | None:
        """Add one line; return the frame if it tells of one."""
        picture = parse_picture(line)
        if picture is not None:
            self._look_for_damage(line)  # another thread's message may hang on to the line
            self.n_pictures += 1
        elif tick := _TICK.match(line):
            self.tick_s = self.tick_s or Fraction(int(tick[1]), int(tick[2]))
        elif colour := _COLOUR.match(line):
            self.colour_space = self.colour_space or colour[1]
            self.transfer = self.transfer or colour[2]
        else:
            self._look_for_damage(line)
            if "[Parsed_showinfo" not in line:
                self.last_words.append(line)
                del self.last_words[:-12]
        return picture

    def _look_for_damage(self, line: str) -> None:
        if _CUT.search(line):
            self.is_cut = True
        elif self.damaged_at is None and _DAMAGE.search(line):
            self.damaged_at = self.n_pictures
