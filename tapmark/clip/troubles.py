"""Why a clip cannot be read, in words a coach can act on.

ffmpeg's own text names the spot where it stumbled; the coach needs the kind of trouble and what
to do now. The first bytes of the file and the last lines of ffmpeg's talk tell the kinds apart.
"""

import errno
import os
import stat
from pathlib import Path

from tapmark import disk
from tapmark.clip.names import shown_name
from tapmark.errors import ClipUnreadable

FIRST_BYTES = 4096

PLAYLISTS = (b"#EXTM3U", b"ffconcat", b"<SMIL", b"<?xml", b"[playlist]", b"v=0\r\n", b"<MPD")
OTHER_KINDS = (
    (b"%PDF", "a PDF page"),
    (b"PK\x03\x04", "a zip file or an office document; unpack it first"),
    (b"\x89PNG", "a PNG picture; open it as a still"),
    (b"\xff\xd8\xff", "a JPEG picture; open it as a still"),
    (b"Rar!", "a packed file; unpack it first"),
)
LINKS_IN_THE_CLOUD = 0x400000 | 0x1000
"""Windows: FILE_ATTRIBUTE_RECALL_ON_DATA_ACCESS and FILE_ATTRIBUTE_OFFLINE."""
DATALESS = 0x40000000
"""macOS: SF_DATALESS, the contents are not on this disk."""


def look_at(path: Path) -> None:
    """Refuse what can be told from the file itself, before ffmpeg sees it.

    Raises ClipUnreadable for a missing, empty, unreadable or hollow file, for folders and
    devices, for playlists and for files that plainly are something else.
    """
    name = shown_name(path)
    try:
        facts = path.stat()
    except (OSError, ValueError) as trouble:
        raise ClipUnreadable(_cannot_reach(name, trouble)) from trouble
    if stat.S_ISDIR(facts.st_mode):
        raise ClipUnreadable(f"“{name}” is a folder. Choose a clip, or open it as stills.")
    if not stat.S_ISREG(facts.st_mode):
        raise ClipUnreadable(f"“{name}” is not a file. Choose a clip.")
    if facts.st_size == 0:
        raise ClipUnreadable(
            f"“{name}” is an empty file: the copy failed or the clip is still in the cloud. "
            "Copy it again from the phone."
        )
    _refuse_other_kinds(name, _first_bytes(path, facts, name))


def _first_bytes(path: Path, facts: os.stat_result, name: str) -> bytes:
    try:
        with disk.opened(path) as file:
            head = file.read(FIRST_BYTES)
    except OSError as trouble:
        if is_hollow(facts):
            raise ClipUnreadable(_in_the_cloud(name)) from trouble
        raise ClipUnreadable(_cannot_reach(name, trouble)) from trouble
    if is_hollow(facts) and not head.strip(b"\0"):
        raise ClipUnreadable(_in_the_cloud(name))
    return head


def state_of(path: Path) -> tuple[int, int]:
    """Return size in bytes and time of last change in ns; (0, 0) when the file has gone."""
    try:
        facts = path.stat()
    except OSError:
        return 0, 0
    return facts.st_size, facts.st_mtime_ns


def is_hollow(facts: os.stat_result) -> bool:
    """Return True when the system marks the file as having its contents elsewhere."""
    if getattr(facts, "st_file_attributes", 0) & LINKS_IN_THE_CLOUD:
        return True
    if getattr(facts, "st_flags", 0) & DATALESS:
        return True
    return facts.st_size > 0 and getattr(facts, "st_blocks", 1) == 0


def _refuse_other_kinds(name: str, head: bytes) -> None:
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    low = start[:256].lower()
    if low.startswith((b"<html", b"<!doctype html")):
        raise ClipUnreadable(
            f"“{name}” is a web page saved under a clip's name, often a sign-in page. "
            "Download the clip again while signed in."
        )
    if start.startswith(PLAYLISTS):
        raise ClipUnreadable(
            f"“{name}” is a list that points to other files, not a clip. Tapmark opens only the "
            "file it is given: choose the clip itself."
        )
    for sign, kind in OTHER_KINDS:
        if start.startswith(sign):
            raise ClipUnreadable(f"“{name}” is not a clip but {kind}.")
    if not head.strip(b"\0"):
        raise ClipUnreadable(
            f"“{name}” holds nothing but zeros: the copy failed. Copy it again from the phone."
        )


def _cannot_reach(name: str, trouble: OSError | ValueError) -> str:
    number = getattr(trouble, "errno", None)
    if isinstance(trouble, OSError) and getattr(trouble, "winerror", None):
        return f"“{name}” cannot be read: {disk.reason(trouble)}."
    if number == errno.ENOENT:
        return f"“{name}” is not there any more. Was it moved, or is its drive unplugged?"
    if number in (errno.EACCES, errno.EPERM):
        return f"This computer does not let Tapmark read “{name}”. Check the file's permissions."
    if number == errno.ENAMETOOLONG:
        return f"The path of “{name}” is too long for this system. Move the clip nearer the top."
    if number == errno.ELOOP:
        return f"“{name}” is a link that leads in a circle. Open the clip itself."
    reason = getattr(trouble, "strerror", None) or str(trouble)
    return f"“{name}” cannot be read ({reason}). Copy it to this computer and try again."


def _in_the_cloud(name: str) -> str:
    return (
        f"“{name}” is still in the cloud; only its name is on this computer. Choose “keep on "
        "this device” for it, wait until it has arrived, and open it again."
    )


def explain(path: Path, code: int, lines: list[str], coding: str = "") -> ClipUnreadable:
    """Return the error for a run that gave no picture.

    code:    exit code of ffmpeg; see has_crashed
    lines:   its last lines
    coding:  of the pictures, when the file itself could be opened
    """
    name, text = shown_name(path), "\n".join(lines)
    if has_crashed(code):
        return ClipUnreadable(
            f"The program that reads clips crashed on “{name}”. Copy the clip again from the "
            "phone; if that does not help, save it as MP4 (H.264) there and open that copy."
        )
    for sign, words in _SIGNS:
        if sign in text and (sign != NO_INDEX or _starts_like_a_recording(path)):
            return ClipUnreadable(f"“{name}” {words}")
    if coding:
        return ClipUnreadable(
            f"None of the frames in “{name}” can be decoded (coding: {coding}). Play it on this "
            "computer: if it does not play, copy it again; if it does, save it as MP4 (H.264) "
            "and open that."
        )
    return ClipUnreadable(
        f"“{name}” is not a clip that can be read. Play it on this computer: if it does not "
        "play, copy it again from the phone; if it does, save it as MP4 (H.264) and open that."
    )


def has_crashed(code: int) -> bool:
    """Return True for the exit codes of a crash on POSIX and on Windows.

    Windows crashes with 0xC…; above those lie ffmpeg's own complaints, −22 as 0xFFFFFFEA.
    """
    return code < 0 or 0xC0000000 <= code < 0xD0000000


def _starts_like_a_recording(path: Path) -> bool:
    """Return True for the first box of MP4 and QuickTime files; ffmpeg guesses by the name."""
    try:
        with disk.opened(path) as file:
            return file.read(8)[4:] in (b"ftyp", b"mdat", b"wide", b"free", b"skip")
    except OSError:
        return False


NO_INDEX = "moov atom not found"
_SIGNS = (
    (
        NO_INDEX,
        "has no index: the recording was cut off (empty battery, full memory, unfinished copy) "
        "and the phone never wrote it. Copy it again; if it does not play on the phone either, "
        "it is lost.",
    ),
    (
        "Format not on whitelist",
        "is a kind of file that Tapmark does not open as a clip. Save it as MP4 on the phone or "
        "computer that made it.",
    ),
    ("matches no streams", "holds sound but no pictures. Choose the clip itself."),
    ("Permission denied", "may not be read. Check the file's permissions."),
    (
        "No such file",
        "is not there any more. Was it moved, or is its drive unplugged?",
    ),
    (
        "Input/output error",
        "cannot be read: its drive gave an error. Copy the clip to this computer and try again.",
    ),
    (
        "Decoder not found",
        "is in a coding this computer cannot open. On the phone choose the “most compatible” "
        "format (H.264), or save the clip as MP4 (H.264).",
    ),
)


def no_pictures(path: Path, *, only_cover: bool) -> ClipUnreadable:
    """Return the error for a file whose header lists no usable picture track."""
    name = shown_name(path)
    if only_cover:
        return ClipUnreadable(f"“{name}” is sound with a cover picture. Choose the clip itself.")
    return ClipUnreadable(f"“{name}” holds sound but no pictures. Choose the clip itself.")
