"""The one list of media types: which files are clips, stills, pages or our own data, by name.

Whatever opens, deletes, keeps, checks or backs up files asks here, so that no two places can
disagree about an ending. What is on no list is "unknown" and is treated like a picture of
somebody: it may leave only where pictures may.
"""

import re

CLIPS = (
    *(".mp4", ".mov", ".m4v", ".avi", ".mkv", ".webm", ".3gp", ".3g2", ".mts", ".m2ts", ".ts"),
    *(".mpg", ".mpeg", ".wmv", ".flv", ".ogv", ".qt", ".mxf", ".y4m", ".h264", ".hevc"),
)
STILLS = (
    *(".jpg", ".jpeg", ".jpe", ".jfif", ".png", ".tif", ".tiff", ".webp", ".gif", ".bmp"),
    *(".heic", ".heif", ".avif", ".ppm", ".pgm"),
)
PAGES = (".pdf", ".html", ".htm", ".csv", ".txt")

_RUN = r"run-[1-9][0-9]{0,4}"
_DAY = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_STEM = rf"(?:squad|athlete|visit|shots-{_DAY}|{_RUN})"
_ASIDE = rf"(?:\.(?:damaged|elsewhere)-{_DAY}-[0-9]{{6}}(?:-[0-9]+)?)?"
_FILM = re.compile(rf"(?:photo-)?[A-Za-z0-9][A-Za-z0-9_-]{{0,25}}-step-film-{_DAY}\.(?:mp4|gif)")
_DATA = re.compile(rf"{_STEM}{_ASIDE}\.json|checks\.toml|since\.txt")


def ending(name: str) -> str:
    """Return the ending of a file name, in small letters, with its dot; "" without one."""
    stem, dot, last = name.rpartition(".")
    return f".{last.casefold()}" if dot and stem else ""


def kind_of(name: str) -> str:
    """Return "clip", "still", "page", "data" (written and read by Tapmark itself) or "unknown"."""
    if _DATA.fullmatch(name):
        return "data"
    if is_film(name):  # made by Tapmark: it is held and leaves like a page
        return "page"
    found = ending(name)
    for kind, endings in (("clip", CLIPS), ("still", STILLS), ("page", PAGES)):
        if found in endings:
            return kind
    return "unknown"


def is_film(name: str) -> bool:
    """Say whether a name is that of a film of a step that Tapmark made."""
    return bool(_FILM.fullmatch(name))


def is_media(name: str) -> bool:
    """Say whether a name is that of a clip or a still."""
    return kind_of(name) in ("clip", "still")


def patterns(endings: tuple[str, ...]) -> str:
    """Return the endings as a file dialog wants them: "*.mp4 *.MP4 …"."""
    return " ".join(f"*{each} *{each.upper()}" for each in endings)
