"""What a clip says about itself before it is read: tracks, size, rate, turn."""

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from tapmark import disk
from tapmark.clip import troubles
from tapmark.clip.colour import HDR_KINDS, matrix_to_assume
from tapmark.clip.ffmpeg import SHOWINFO, input_options, run
from tapmark.clip.names import shown_name
from tapmark.clip.rates import Capture, capture_from_file
from tapmark.clip.showinfo import Shown, Talk
from tapmark.errors import ClipUnreadable

_TRACK = re.compile(r"^ +Stream #0:(\d+)(?:\[\w+\])?(?:\([^)]*\))?: Video: (.*)$")
_SIZE = re.compile(r"[ ,](\d{2,5})x(\d{2,5})[ ,\[]")
_RATE = re.compile(r"([\d.]+)(k?) (fps|tbr)")
_SHAPE = re.compile(r"SAR (\d+):(\d+)")
_TURN = re.compile(r"rotation of (-?[\d.]+) degrees")
_MATRIX = re.compile(r"\b(bt709|smpte170m|bt470bg|bt2020nc|bt2020c|smpte240m|fcc|gbr)\b")


@dataclass(frozen=True)
class Track:
    """One video track.

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
    """Return the video tracks of the input; the listing of our own output is left out."""
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


PREVIEW_PX = 1280
LONG_CLIP = 3000
"""Pictures from which a part is asked for first: reading them all takes minutes on old laptops."""
MOST_PIXELS = 80_000_000
SILENCE_S = 20.0
TAIL_BYTES = 1 << 17
_LENGTH = re.compile(r"^ +Duration: (\d+):(\d\d):(\d\d\.\d+), start: (-?[\d.]+)")


@dataclass(frozen=True)
class Header:
    """What is known of a clip before it is read.

    written:         size in bytes and time of last change in ns: which state of the file this is
    track:           number of the video track in the file
    coding:          short name of its coding ("h264")
    size_px:         full size (w, h), upright, square pixels
    is_confirmed:    the first decoded frame has confirmed what follows
    tick_s:          seconds per tick of the stamps
    first_stamp:     stamp of the first frame shown, the clip's zero; None where it has none
    start_s:         where the file's own clock starts (any track)
    length_s:        length by the file's word; None when it does not say
    rate_hz:         frames per second by the file's word
    tag_hz:          frames per second that the phone noted, None without a note
    hdr:             "", "hlg" or "pq"
    matrix:          colour matrix to assume where the file names none
    turn_deg:        turn the phone noted (already applied to everything we give)
    has_ramp_note:   a maker's note says that slow motion begins somewhere inside
    has_colours_we_cannot_show:   colours cannot be shown right
    """

    path: Path
    written: tuple[int, int]
    track: int
    coding: str
    size_px: tuple[int, int]
    is_confirmed: bool
    tick_s: Fraction
    first_stamp: int | None
    start_s: float
    length_s: float | None
    rate_hz: float | None
    tag_hz: float | None
    hdr: str
    matrix: str
    turn_deg: float
    has_ramp_note: bool
    has_colours_we_cannot_show: bool

    @property
    def name(self) -> str:
        return shown_name(self.path)

    @property
    def preview_px(self) -> tuple[int, int]:
        """Size of the previews: longest side at most 1280, never enlarged."""
        width, height = self.size_px
        share = min(1.0, PREVIEW_PX / max(width, height))
        return max(2, round(width * share)), max(2, round(height * share))

    @property
    def n_expected(self) -> int | None:
        """About how many frames the file promises; None when it does not say."""
        if self.length_s is None or self.rate_hz is None:
            return None
        return max(1, round(self.length_s * self.rate_hz))

    @property
    def is_long(self) -> bool:
        """Whether to ask for a part first."""
        return (self.n_expected or 0) > LONG_CLIP

    @property
    def capture(self) -> Capture:
        """First guess; the stamps of all frames may correct it."""
        return capture_from_file(self.tag_hz, self.rate_hz)

    @property
    def looks(self) -> tuple[object, ...]:
        """What the filters depend on: a reading that began with other looks begins again."""
        return self.size_px, self.hdr, self.matrix


def read_header(path: Path) -> Header:
    """Return what a clip says about itself; takes some 0.05 s.

    Raises ClipUnreadable with the kind of trouble when it is no clip that can be read.
    """
    troubles.look_at(path)
    listing = run([*input_options(path), "-f", "ffmetadata", "-"], silence_s=SILENCE_S)
    if not any(line.startswith("Input #0") for line in listing.lines):
        raise troubles.explain(path, listing.code, listing.lines)
    tracks = tracks_in(listing.lines)
    usable = [track for track in tracks if not track.is_cover]
    if not usable:
        raise troubles.no_pictures(path, only_cover=bool(tracks))
    track = max(usable, key=lambda track: track.rank)  # the default one, then the largest
    _refuse_huge(path, track.size_px)
    length_s, start_s = _length(listing.lines)
    return Header(
        path=path,
        written=troubles.state_of(path),
        track=track.index,
        coding=track.coding,
        size_px=track.size_px,
        is_confirmed=False,
        tick_s=Fraction(1, 1_000_000),
        first_stamp=None,
        start_s=start_s,
        length_s=length_s,
        rate_hz=track.rate_hz,
        tag_hz=_tag_hz(listing.data),
        hdr=track.hdr,
        matrix=matrix_to_assume(track.colour_space, track.size_px),
        turn_deg=track.turn_deg,
        has_ramp_note=_has_ramp_note(path),
        has_colours_we_cannot_show=any(
            "DOVI" in line and "profile: 5" in line for line in listing.lines
        ),
    )


def _refuse_huge(path: Path, size_px: tuple[int, int]) -> None:
    """Stop before memory is asked for: by the listing first, by the true shape later."""
    if size_px[0] * size_px[1] > MOST_PIXELS:
        raise ClipUnreadable(
            f"“{shown_name(path)}” has frames of {size_px[0]} × {size_px[1]}, more than this "
            "program can hold. Save it at 4K or smaller."
        )


def with_first_picture(header: Header, picture: Shown, talk: Talk) -> Header:
    """Return the header corrected by the first frame that was decoded.

    The clip's zero is that frame's stamp, unless it was known before (a part begins later).
    """
    size = picture.square_size_px
    _refuse_huge(header.path, size)
    return replace(
        header,
        is_confirmed=True,
        size_px=size,
        tick_s=talk.tick_s or header.tick_s,
        first_stamp=header.first_stamp if header.is_confirmed else picture.stamp,
        hdr=HDR_KINDS.get(talk.transfer, ""),
        matrix=matrix_to_assume(talk.colour_space, size),
    )


def confirmed(header: Header) -> Header:
    """Return the header confirmed by decoding the first frame; takes 0.05–0.4 s.

    Raises ClipUnreadable when no frame can be decoded.
    """
    if header.is_confirmed:
        return header
    output = run(
        [
            *input_options(header.path, "-threads", "1"),  # more threads decode more before it
            *["-map", f"0:{header.track}", "-an", "-sn", "-dn"],
            *["-frames:v", "1", "-vf", SHOWINFO, "-f", "null", "-"],
        ],
        silence_s=SILENCE_S,
    )
    talk = Talk()
    pictures = [shown for line in output.lines if (shown := talk.take(line))]
    if not pictures:
        raise troubles.explain(header.path, output.code, output.lines, coding=header.coding)
    return with_first_picture(header, pictures[0], talk)


def _length(lines: list[str]) -> tuple[float | None, float]:
    for line in lines:
        if found := _LENGTH.match(line):
            hours, minutes, seconds, start = found.groups()
            return int(hours) * 3600 + int(minutes) * 60 + float(seconds), float(start)
    return None, 0.0


def _tag_hz(metadata: bytes) -> float | None:
    """Return the exposure rate that Android phones note, None without or with nonsense."""
    text = metadata.decode("utf-8", "replace")
    found = re.search(r"^com\.android\.capture\.fps=([\d.]+)$", text, re.MULTILINE)
    try:
        rate = float(found[1]) if found else 0.0
    except ValueError:
        return None
    return rate if 0 < rate <= 10_000 else None


def _has_ramp_note(path: Path) -> bool:
    """Return True when a maker's own trailer speaks of slow motion; nobody else can read it."""
    try:
        with disk.opened(path) as file:
            size = file.seek(0, 2)
            file.seek(max(0, size - TAIL_BYTES))
            return b"SlowMotion_Data" in file.read(TAIL_BYTES)
    except OSError:
        return False
