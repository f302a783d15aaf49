"""How the window looks, with ttk and nothing else.

On Linux the theme `clam` is given our colours; macOS and Windows keep their own. Every size comes
from the text: `u` is half a line of the default font, so a larger font makes a larger window and
no pixel count is written anywhere else.
"""

import tkinter as tk
from tkinter import font as tkfont
from tkinter import ttk
from typing import Any, Literal

from PIL import ImageTk

from tapmark.app import clam
from tapmark.drawing import palette

INDENT_EM = 0.8  # before the first text of a row
NATIVE = {"aqua", "vista"}


class Look:
    """Fonts, sizes and styles of one window; keeps the pictures that ttk elements use.

    u:         half a text line, px. scale: of the text, 1 = as the desktop has it.
    """

    def __init__(self, root: tk.Tk, text_size: float = 1.0) -> None:
        self.root = root
        self.style = ttk.Style(root)
        self._sizes = {  # all of them: Tk's own file dialogs use fonts that no page does
            name: _size_of(tkfont.nametofont(name, root))
            for name in tkfont.names(root)
            if name.startswith("Tk")
        }
        self.system = root.tk.call("tk", "windowingsystem")
        if self.system == "x11":
            self.style.theme_use("clam")
        self._pictures: list[ImageTk.PhotoImage] = []
        self._made_fonts: dict[str, tkfont.Font] = {}
        self.set_text_size(text_size)

    @property
    def is_native(self) -> bool:
        """True where the system's own theme is kept."""
        return self.style.theme_use() in NATIVE

    @property
    def u(self) -> int:
        """Half a text line in whole px."""
        return max(4, round(self._half_line))

    @property
    def unit(self) -> float:
        """Return how many px a px of a screen with 96 dots an inch is here, at least 1."""
        return max(1.0, float(self.root.tk.call("tk", "scaling")) * 72 / 96)

    def em(self, count: float) -> int:
        """Return count × u as whole px, at least 1."""
        return max(1, round(count * self._half_line))

    def font(self, name: str) -> tkfont.Font:
        """Return one of our named fonts: body, bold, head, title, small, muted."""
        return self._made_fonts[name]

    def set_text_size(self, factor: float) -> None:
        """Scale every font and set all styles again."""
        for name, size in self._sizes.items():
            tkfont.nametofont(name, self.root).configure(size=_scaled(size, factor))
        default = tkfont.nametofont("TkDefaultFont", self.root)
        self._half_line = default.metrics("linespace") / 2  # asked once: Tk takes its time
        base = default.actual()
        for name, (times, weight) in _FONTS.items():
            made = self._made_fonts.get(name)
            size = _scaled(base["size"], times)
            if made is None:
                made = tkfont.Font(self.root, family=base["family"], size=size, weight=weight)
                self._made_fonts[name] = made
            else:
                made.configure(size=size, weight=weight)
        self._set_styles()

    def _set_styles(self) -> None:
        """Set what every widget uses; a widget asks for its font when it is made."""
        self.style.configure(".", font=self.font("body"))
        for kind in ("TEntry", "TCombobox", "TSpinbox", "Menu"):
            if not (self.is_native and kind == "Menu"):
                self.root.option_add(f"*{kind}.font", self.font("body"))
        self.style.configure("Treeview", rowheight=self.em(3.05))
        self.style.layout("Treeview.Item", _FLAT)
        self.style.configure("Treeview.Item", padding=(self.em(INDENT_EM), 0, 0, 0))
        self._set_labels()
        if self.is_native:
            self._set_native()
            return
        self.root.configure(background=palette.PAPER)
        clam.dress(self.root, self.style, self.em, self.font, self._pictures)

    def _set_labels(self) -> None:
        for name, (font, colour, ground) in _LABELS.items():
            self.style.configure(
                name, font=self.font(font), **({} if self.is_native else _paint(colour, ground))
            )

    def _set_native(self) -> None:
        for name in ("Primary.TButton", "Step.TButton", "StepHere.TButton"):
            self.style.configure(name, padding=(self.em(1), self.em(0.5)))
        self.style.configure("StepHere.TButton", font=self.font("bold"))


def _size_of(font: tkfont.Font) -> int:
    """Return the size asked for, which loads no font; what it is where that is left to Tk (0)."""
    return int(font.cget("size")) or int(font.actual("size"))


def _scaled(size: int, factor: float) -> int:
    """Fonts may have negative sizes (px); the sign stays and the size never becomes 0."""
    return (1 if size > 0 else -1) * max(1, round(abs(size) * factor))


def _paint(colour: str, ground: str) -> dict[str, str]:
    return {"foreground": colour, "background": ground}


_FONTS: dict[str, tuple[float, Literal["normal", "bold"]]] = {
    "body": (1.0, "normal"),
    "bold": (1.0, "bold"),
    "head": (1.2, "bold"),
    "title": (1.4, "bold"),
}
_FLAT: Any = [  # no list of ours has branches, so none keeps room for their sign
    (
        "Treeitem.padding",
        {
            "sticky": "nswe",
            "children": [
                ("Treeitem.image", {"side": "left", "sticky": ""}),
                ("Treeitem.text", {"sticky": "nswe"}),
            ],
        },
    )
]
_LABELS = {
    "TLabel": ("body", palette.INK, palette.PAPER),
    "Muted.TLabel": ("body", palette.MUTED, palette.PAPER),
    "Bold.TLabel": ("bold", palette.INK, palette.PAPER),
    "Head.TLabel": ("head", palette.INK, palette.PAPER),
    "Title.TLabel": ("title", palette.INK, palette.PAPER),
    "Error.TLabel": ("body", palette.ERROR, palette.PAPER),
    "White.TLabel": ("body", palette.INK, palette.WHITE),
    "WhiteMuted.TLabel": ("body", palette.MUTED, palette.WHITE),
    "WhiteBold.TLabel": ("bold", palette.INK, palette.WHITE),
    "WhiteHead.TLabel": ("head", palette.INK, palette.WHITE),
    "WhiteTitle.TLabel": ("title", palette.INK, palette.WHITE),
    "WhiteError.TLabel": ("body", palette.ERROR, palette.WHITE),
}
