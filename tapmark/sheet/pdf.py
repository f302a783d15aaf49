"""Pages into one PDF: grey JPEG at 300 dpi on an exact sheet of paper, small enough to send.

Made by Pillow. No dates go in, so the same pages give the same bytes. The quality is the best of
a short list with which a page stays within MOST_BYTES.
"""

import os
import tempfile
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image

from tapmark.errors import CannotWrite
from tapmark.sheet.layout import DPI

Page = Image.Image  # mode "L", 300 dpi

MOST_BYTES: Final = 600_000
QUALITIES: Final = (72, 62, 52, 44, 36)  # most pages fit at the first; lines are clean at the last


def write_pdf(pages: Sequence[Image.Image], path: Path, title: str = "") -> None:
    """Write pages (mode "L", 300 dpi) as a PDF; an older file stays whole until the new one is.

    Raises CannotWrite where the folder or the disk does not let us.
    """
    write_whole(path, pdf_bytes(pages, title))


def pdf_bytes(pages: Sequence[Image.Image], title: str = "") -> bytes:
    """Return the PDF of one or more pages, at most MOST_BYTES a page where that can be had."""
    limit = MOST_BYTES * len(pages)
    for quality in QUALITIES:
        data = _encoded(pages, title, quality)
        if len(data) <= limit:
            break
    return data


def _encoded(pages: Sequence[Image.Image], title: str, quality: int) -> bytes:
    out = BytesIO()
    pages[0].save(
        out,
        "PDF",
        save_all=True,
        append_images=pages[1:],
        resolution=DPI,
        quality=quality,
        optimize=True,
        title=title or None,
        producer=None,
        creationDate=None,
        modDate=None,
    )
    return out.getvalue()


def write_whole(path: Path, data: bytes) -> None:
    """Write a file beside its place and move it there, so that nothing is ever half written."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as trouble:
        raise _cannot(path, trouble) from trouble
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except OSError as trouble:
        Path(name).unlink(missing_ok=True)
        raise _cannot(path, trouble) from trouble


def _cannot(path: Path, trouble: OSError) -> CannotWrite:
    return CannotWrite(
        f"“{path.name}” could not be written into “{path.parent}”: "
        f"{trouble.strerror or trouble}. Choose another folder, or make room on the disk."
    )
