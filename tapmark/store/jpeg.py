"""A JPEG's own bytes without what a phone writes beside the picture: place, time, owner.

Segments as in ITU-T T.81, Annex B: a marker 0xFF nn, then for most of them a length of two bytes.
"""

import re

from tapmark.errors import FileDamaged

_START, _END, _SCAN, _COMMENT = 0xD8, 0xD9, 0xDA, 0xFE
_APPS = range(0xE0, 0xF0)
_BARE = {0x01, *range(0xD0, 0xD8)}  # markers without a length
_MARKER = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]", re.DOTALL)
_KEPT = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}  # what decoders need for colour


def without_metadata(jpeg: bytes) -> bytes:
    """Return the same picture without EXIF, comments, previews and whatever follows its end.

    Raises FileDamaged for bytes that are no whole JPEG.
    """
    if jpeg[:2] != bytes((0xFF, _START)):
        raise FileDamaged("The still is not a JPEG picture. Take it from the clip again.")
    kept, at = [jpeg[:2]], 2
    while True:
        marker, end = _segment(jpeg, at)
        if marker == _SCAN:
            end = _end_of_scan(jpeg, end)
        needed = _KEPT.get(marker)
        is_app = marker in _APPS and not (needed and jpeg.startswith(needed, at + 4))
        if not is_app and marker != _COMMENT:
            kept.append(jpeg[at:end])
        if marker == _END:
            return b"".join(kept)
        at = end


def _segment(jpeg: bytes, at: int) -> tuple[int, int]:
    """Return the marker at a place and where its segment ends."""
    if at + 2 > len(jpeg) or jpeg[at] != 0xFF:
        raise FileDamaged("The still is cut off or damaged. Take it from the clip again.")
    marker = jpeg[at + 1]
    if marker == _END or marker in _BARE:
        return marker, at + 2
    length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
    if length < 2 or at + 2 + length > len(jpeg):
        raise FileDamaged("The still is cut off or damaged. Take it from the clip again.")
    return marker, at + 2 + length


def _end_of_scan(jpeg: bytes, at: int) -> int:
    """Return where the next true marker is: within a scan FF 00 and restarts are data."""
    found = _MARKER.search(jpeg, at)
    if not found:
        raise FileDamaged("The still is cut off. Take it from the clip again.")
    return found.start()
