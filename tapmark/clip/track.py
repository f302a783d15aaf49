"""The picture tracks of a clip, read from the listing that ffmpeg prints when it opens a file.

The listing is a forecast: the first decoded picture has the last word on size and colours.
"""

import re
from dataclasses import dataclass, replace
from fractions import Fraction

from tapmark.clip.colour import HDR_KINDS
from tapmark.clip.showinfo import Shown

_TRACK = re.compile(r"^ +Stream #0:(\d+)(?:\[\w+\])?(?:\([^)]*\))?: Video: (.*)$")
_SIZE = re.compile(r"[ ,](\d{2,5})x(\d{2,5})[ ,\[]")
_RATE = re.compile(r"([\d.]+)(k?) (fps|tbr)")
_SHAPE = re.compile(r"SAR (\d+):(\d+)")
_TURN = re.compile(r"rotation of (-?[\d.]+) degrees")
_MATRIX = re.compile(r"\b(bt709|smpte170m|bt470bg|bt2020nc|bt2020c|smpte240m|fcc|gbr)\b")


@dataclass(frozen=True)
class Track:
    """One picture track.

    index:     its number in the file
    words:     ffmpeg's line about it
    turn_deg:  the turn noted for it, counter-clockwise
    """

    index: int
    words: str
    turn_deg: float = 0.0

    @property
    def coding(self) -> str:
        return re.split(r"[ ,(]", self.words, maxsplit=1)[0]

    @property
    def is_cover(self) -> bool:
        return "(attached pic)" in self.words or "(still image)" in self.words

    @property
    def stored_px(self) -> tuple[int, int]:
        found = _SIZE.search(self.words)
        return (int(found[1]), int(found[2])) if found else (0, 0)

    @property
    def size_px(self) -> tuple[int, int]:
        """Size upright and with square pixels. Of two pixel shapes the file's own comes last."""
        (width, height), shape = self.stored_px, Fraction(1)
        for wide, high in _SHAPE.findall(self.words):
            shape = Fraction(int(wide), int(high)) if int(wide) and int(high) else Fraction(1)
        if round(self.turn_deg) % 180 == 90:
            width, height, shape = height, width, 1 / shape
        return Shown(None, shape, (width, height), "P").square_size_px

    @property
    def rank(self) -> tuple[bool, int]:
        return "(default)" in self.words, self.stored_px[0] * self.stored_px[1]

    @property
    def rate_hz(self) -> float | None:
        found = {kind: float(n) * (1000 if k else 1) for n, k, kind in _RATE.findall(self.words)}
        return found.get("fps") or found.get("tbr") or None

    @property
    def hdr(self) -> str:
        return next((kind for curve, kind in HDR_KINDS.items() if curve in self.words), "")

    @property
    def colour_space(self) -> str:
        found = _MATRIX.search(self.words)
        return found[1] if found else "unknown"


def tracks_in(lines: list[str]) -> list[Track]:
    """Return the picture tracks of the input; the listing of our own output is left out."""
    found: list[Track] = []
    is_picture_track = False
    for line in lines:
        if line.startswith(("Output #", "Stream mapping")):
            break
        if " Stream #" in line:
            match = _TRACK.match(line)
            is_picture_track = match is not None
            if match:
                found.append(Track(int(match[1]), match[2]))
        elif is_picture_track and (turn := _TURN.search(line)):
            found[-1] = replace(found[-1], turn_deg=float(turn[1]))
    return found
