"""SVG: well formed, escaped, light and dark by classes, the same outlines as on paper."""

import xml.etree.ElementTree as ET

from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Ring
from tapmark.report.drawing.svg import STYLE, svg
from tests.report.drawing_made import FONTS, good_run
from tests.report.test_step_line import LOOK, WIDTH, line_of

SPACE = "{http://www.w3.org/2000/svg}"


def _root(shapes, alt="x"):
    return ET.fromstring(svg(shapes, (100.0, 50.0), alt))


def test_the_title_is_the_alternative_text_and_is_escaped():
    root = _root((), alt='<b>"K07"</b> & co')
    assert root.attrib["role"] == "img"
    assert root.find(f"{SPACE}title").text == '<b>"K07"</b> & co'


def test_decoration_is_hidden_from_screen_readers():
    root = _root((), alt="")
    assert root.attrib["aria-hidden"] == "true"
    assert root.find(f"{SPACE}title") is None


def test_text_is_real_text_and_escaped():
    root = _root((Label((1.0, 2.0), "a < b & c", 4.0, BLACK, is_bold=True, anchor="e"),))
    (text,) = root.iter(f"{SPACE}text")
    assert text.text == "a < b & c"
    assert (text.attrib["text-anchor"], text.attrib["font-weight"]) == ("end", "700")


def test_paper_colours_become_classes_so_that_dark_pages_turn_them_round():
    shapes = (
        Area(((0, 0), (1, 0), (1, 1)), BLACK),
        Ring((5, 5), 1.0, WHITE, BLACK, 0.2),
        Ring((5, 5), 1.0, TINT),
        Line(((0, 0), (9, 9)), BLACK, 0.4, (1.0, 2.0)),
        Area(((0, 0), (1, 0), (1, 1)), "#0B5CAD"),
    )
    written = svg(shapes, (10, 10), "")
    assert "#000000" not in written
    assert "#FFFFFF" not in written
    assert "#0B5CAD" in written
    for name in ("ink", "paper", "tint", "s-ink", "none"):
        assert name in written
        assert f".{name}" in STYLE


def test_neighbouring_areas_of_one_colour_are_one_path():
    areas = tuple(Area(((i, 0), (i + 1, 0), (i + 1, 1)), BLACK) for i in range(5))
    assert len(list(_root(areas).iter(f"{SPACE}path"))) == 1


def test_outlines_return_to_the_same_points():
    (path,) = _root((Area(((1.0, 2.0), (3.5, 2.0), (3.5, 4.25)), BLACK),)).iter(f"{SPACE}path")
    assert path.attrib["d"] == "M100 200l250 0 0 225z"


def test_a_step_line_fits_a_small_file_and_is_well_formed():
    drawn = line_of(good_run())
    written = svg(drawn.shapes, (WIDTH, drawn.above + drawn.below), "step")
    assert len(written) < 150_000
    names = [text.text for text in ET.fromstring(written).iter(f"{SPACE}text")]
    assert "touchdown" in names
    assert FONTS.width("touchdown", LOOK.text) > 0
