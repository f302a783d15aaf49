"""What a sheet costs, as ratios to the bare operation in the same run.

    python -m tests.benchmarks.bench_sheet

The bare operation is Pillow alone: the very shapes of the page painted with Pillow's own calls at
the same size (polygons, ellipses, text without measuring, wrapping or smoothing layout), and
Pillow's own way to save a grey PDF, which is a JPEG. The bar is 1.5.
"""

import json
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from PIL import Image, ImageDraw

from tapmark.report.drawing.painter import SMOOTH, Fonts
from tapmark.report.drawing.shapes import Area, Label, Line, Ring
from tapmark.report.pages.athlete_page import athlete_page, athlete_shapes
from tapmark.report.pages.html import athlete_html
from tapmark.report.pages.layout import PX_PER_MM
from tapmark.report.pages.pdf import pdf_bytes
from tests.report.drawing_made import mapped
from tests.report.made import made

REPEATS = 7


def best_of(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the shortest time of several runs in seconds: the one least disturbed by others."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def pillow_alone(shapes: tuple[object, ...], quality: int) -> bytes:
    """Paint the page with nothing but Pillow, as smoothly, and save it in a PDF."""
    page = Image.new("L", (2480, 3508), 255)
    fonts = Fonts(PX_PER_MM)
    drawn = [shape for shape in shapes if not isinstance(shape, Label)]
    big = Image.new("L", (2480 * SMOOTH, 3508 * SMOOTH // 1), 255)
    draw = ImageDraw.Draw(big)
    for shape in mapped(tuple(drawn), PX_PER_MM * SMOOTH):  # type: ignore[arg-type]
        match shape:
            case Area():
                draw.polygon(shape.points, fill=_grey(shape.fill), outline=None)
            case Line():
                draw.line(shape.points, fill=_grey(shape.colour), width=max(1, round(shape.width)))
            case Ring():
                (x, y), r = shape.centre, shape.radius
                draw.ellipse((x - r, y - r, x + r, y + r), fill=_grey(shape.fill))
    page.paste(big.reduce(SMOOTH))
    write = ImageDraw.Draw(page)
    for shape in shapes:
        if isinstance(shape, Label):
            at = shape.point[0] * PX_PER_MM, shape.point[1] * PX_PER_MM
            font = fonts.font(shape.size, shape.is_bold, shape.is_italic)
            write.text(at, fonts.readable(shape.text), fill=0, font=font, anchor="ls")
    out = BytesIO()
    page.save(out, "PDF", resolution=300, quality=quality, optimize=True)
    return out.getvalue()


def _grey(colour: str | None) -> int | None:
    return None if colour is None else int(colour[1:3], 16)


def from_disk(folder: Path) -> bytes:
    """A sheet from stored files to the bytes of its PDF: read, measure, judge, set, paint, save."""
    from datetime import date

    from tapmark.services.pages import content_of
    from tapmark.services.places import visit_at

    return pdf_bytes([athlete_page(content_of(visit_at(folder), "a4", date(2026, 6, 1)))])


def main() -> None:
    """Print the table."""
    content = made()
    shapes = athlete_shapes(content, Fonts(PX_PER_MM))
    bare = best_of(lambda: pillow_alone(shapes, 70))
    rows = [
        ("Pillow alone: paint and save an equal page", bare),
        ("set the page (layout only)", best_of(lambda: athlete_shapes(content, Fonts(PX_PER_MM)))),
        ("set, paint and save the page", best_of(lambda: pdf_bytes([athlete_page(content)]))),
        ("HTML twin", best_of(lambda: athlete_html(content))),
    ]
    rows += sample_rows()
    for name, seconds in rows:
        print(f"{name:44} {1000 * seconds:8.0f} ms {seconds / bare:6.2f} ×")
    print(json.dumps({name: round(seconds / bare, 2) for name, seconds in rows}))


def sample_rows() -> list[tuple[str, float]]:
    """Return the time of a sheet from stored files, where the demo squad can be made."""
    from datetime import date

    from tapmark.services.demo import make_demo

    with TemporaryDirectory() as place:
        list(make_demo(Path(place), date(2026, 6, 1)))
        visits = sorted(Path(place).rglob("visit.json"))
        folder = visits[-1].parent
        return [("from run.json on disk to PDF", best_of(lambda: from_disk(folder), 5))]


if __name__ == "__main__":
    main()
