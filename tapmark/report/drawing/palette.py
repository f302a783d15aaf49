"""The one palette. UI colours with their measured contrast; overlay roles for any frame.

Overlay lines are a light core on a pure black casing: core against casing at least 9, so the
better of the two is at least 3 : 1 against any background.
"""

from dataclasses import dataclass

INK = "#1F2933"  # on paper 13.9, on white 14.8
PAPER = "#F7F8FA"
WHITE = "#FFFFFF"
MUTED = "#55606C"  # on paper 6.0
ACCENT = "#0B5CAD"  # white on it 6.7
ACCENT_HOVER = "#084C90"  # white on it 8.6
CONTROL_EDGE = "#7B8794"  # 3.4 or better
OUTLINE = "#6B7682"  # prompt drawing, 4.6 on white
ERROR = "#B42318"  # 6.2 on paper
HAIRLINE = "#D8DDE3"
HAIRLINE_DARK = "#AEB7C1"
HOVER = "#EAF0F6"
PRESSED = "#D5DDE6"
SELECTED_ROW = "#DDE8F4"
DISABLED_EDGE = "#C6CCD3"
DISABLED_TEXT = "#66717D"  # on paper 4.7: it may say what is missing
BLACK = "#000000"
TINT = "#DEDEDE"  # trunk and head on paper: 13 % grey, decoration only


@dataclass(frozen=True)
class Role:
    """How one kind of mark looks on a frame: colour, shape and dash; never colour alone."""

    colour: str
    shape: str
    dash: tuple[float, ...]


OVERLAY = {
    "near leg": Role("#FFFFFF", "ring", ()),
    "trunk and arm": Role("#F0E442", "diamond", ()),
    "plumb and pole": Role("#E69F00", "cross", (14.0, 6.0)),
    "far leg": Role("#56B4E9", "ring", (9.0, 5.0)),
    "scale": Role("#FFB3DA", "diamond", (2.0, 11.0)),
}
CASING = "#000000"


def tint_of(ink: str, paper: str) -> str:
    """Return the colour of 13 % of the ink on the paper, both "#rrggbb"."""
    pairs = zip(bytes.fromhex(ink[1:]), bytes.fromhex(paper[1:]), strict=True)
    return "#" + "".join(f"{round(0.13 * a + 0.87 * b):02X}" for a, b in pairs)
