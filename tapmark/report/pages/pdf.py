"""Pages into one PDF: a grey picture of 300 dpi on an exact sheet of paper, small enough to send.

A page is lines and letters on white, so packing it without loss (Flate, as in PNG) gives about
half the bytes of a JPEG that keeps thin lines clean, and every edge stays where it is. Only a page
with so much grey in it that this takes more than MOST_BYTES becomes a JPEG, at the best quality
that keeps the limit and never below the one at which edges start to move. No dates go in, so the
same pages give the same bytes.

The file is the least of ISO 32000-1: catalogue, pages, one picture a page, its title.
"""

import zlib
from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Final

from PIL import Image

from tapmark.report.pages.layout import DPI

Page = Image.Image  # mode "L", 300 dpi
MOST_BYTES: Final = 600_000
QUALITIES: Final = (90, 85, 80, 72, 62)  # at 52 the first dark pixels of thin lines turn light
PACKING: Final = 3  # zlib's effort: as quick as a JPEG; 6 takes twice as long for a sixth less
POINTS: Final = 72  # to an inch
HEAD: Final = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"
FIXED: Final = 3  # objects before the pages: catalogue, list of pages, title
PER_PAGE: Final = 3  # page, what is painted on it, picture


def pdf_bytes(pages: Sequence[Image.Image], title: str = "") -> bytes:
    """Return the PDF of one or more pages, at most MOST_BYTES a page where clean lines allow."""
    kids = " ".join(f"{FIXED + 1 + PER_PAGE * i} 0 R" for i in range(len(pages)))
    letters = title.encode("utf-16-be").hex().upper()  # with its mark any letter may stand
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        f"<</Type/Pages/Count {len(pages)}/Kids[{kids}]>>".encode(),
        f"<</Title <FEFF{letters}>>>".encode() if title else b"<<>>",
    ]
    for i, page in enumerate(pages):
        objects += _page_objects(page, FIXED + 1 + PER_PAGE * i)
    body, starts = bytearray(HEAD), []
    for number, each in enumerate(objects, 1):
        starts.append(len(body))
        body += f"{number} 0 obj\n".encode() + each + b"\nendobj\n"
    n = len(objects) + 1
    table = "".join(f"{start:010} 00000 n \n" for start in starts)  # where each object begins
    tail = f"<</Size {n}/Root 1 0 R/Info {FIXED} 0 R>>\nstartxref\n{len(body)}\n%%EOF\n"
    return bytes(body) + f"xref\n0 {n}\n0000000000 65535 f \n{table}trailer\n{tail}".encode()


def _page_objects(page: Image.Image, number: int) -> Iterator[bytes]:
    """Return a page, what paints it and its picture, as objects number, number + 1 and + 2."""
    wide, high = (f"{POINTS * pixels / DPI:.3f}" for pixels in page.size)
    yield (
        f"<</Type/Page/Parent 2 0 R/MediaBox[0 0 {wide} {high}]/Contents {number + 1} 0 R"
        f"/Resources<</XObject<</Page {number + 2} 0 R>>>>>>"
    ).encode()
    yield _stream("", f"q {wide} 0 0 {high} 0 0 cm /Page Do Q".encode())
    packing, data = "FlateDecode", zlib.compress(page.tobytes(), PACKING)
    for quality in QUALITIES:
        if len(data) <= MOST_BYTES:
            break
        packing, out = "DCTDecode", BytesIO()
        page.save(out, "JPEG", quality=quality, optimize=True)
        data = out.getvalue()
    yield _stream(
        f"/Type/XObject/Subtype/Image/Width {page.width}/Height {page.height}"
        f"/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/{packing}",
        data,
    )


def _stream(about: str, data: bytes) -> bytes:
    return f"<<{about}/Length {len(data)}>>stream\n".encode() + data + b"\nendstream"
