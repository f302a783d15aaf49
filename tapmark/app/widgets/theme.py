"""How the window looks: colours, sizes and shapes of ttk's own widgets."""

import tkinter as tk
from functools import partial
from tkinter import font as tkfont
from tkinter import ttk
from typing import Any, Literal

from PIL import Image, ImageDraw, ImageTk

from tapmark.report.drawing import palette

INDENT_EM = 0.8  # before the first text of a row
NATIVE = {"aqua"}
LINE_PX = 16  # of a text line at 96 dots an inch; with less, what is pressed is below 24 px


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
        if self.system != "aqua":  # the theme of Windows cuts texts and has no filled button
            self.style.theme_use("clam")
        self.pictures: list[ImageTk.PhotoImage] = []  # ttk keeps none of its own
        self._made_fonts: dict[str, tkfont.Font] = {}
        self.set_text_size(text_size)
        if not self.is_native:
            self.choices = Choices(self)

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

    def units(self, count: float) -> int:
        """Return count × u as whole px, at least 1."""
        return max(1, round(count * self._half_line))

    def pad(self, count: float) -> int:
        """Return the px above and below the text of what is pressed: more where letters are low."""
        return self.units(count) + self._lack

    def font(self, name: str) -> tkfont.Font:
        """Return one of our named fonts: body, bold, head, title, small, muted."""
        return self._made_fonts[name]

    def set_text_size(self, factor: float) -> None:
        """Scale every font and set all styles again."""
        for name, size in self._sizes.items():
            tkfont.nametofont(name, self.root).configure(size=_scaled(size, factor))
        default = tkfont.nametofont("TkDefaultFont", self.root)
        line = default.metrics("linespace")  # asked once: Tk takes its time
        self._half_line = max(line, LINE_PX * self.unit) / 2
        self._lack = round(self._half_line - line / 2)
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
        for kind in ("TEntry", "TCombobox", "Menu"):
            if not (self.is_native and kind == "Menu"):
                self.root.option_add(f"*{kind}.font", self.font("body"))
        self.style.configure("Treeview", rowheight=self.units(3.05))
        self.style.layout("Treeview.Item", _FLAT)
        self.style.configure("Treeview.Item", padding=(self.units(INDENT_EM), 0, 0, 0))
        for name, (font, colour, ground) in _LABELS.items():
            colours = {} if self.is_native else {"foreground": colour, "background": ground}
            self.style.configure(name, font=self.font(font), **colours)
        if self.is_native:
            self._set_native()
            return
        self.root.configure(background=palette.PAPER)
        dress(self)

    def _set_native(self) -> None:
        for name in ("Primary.TButton", "Step.TButton", "StepHere.TButton"):
            self.style.configure(name, padding=(self.units(1), self.units(0.5)))
        self.style.configure("StepHere.TButton", font=self.font("bold"))


def _size_of(font: tkfont.Font) -> int:
    """Return the size asked for, which loads no font; what it is where that is left to Tk (0)."""
    return int(font.cget("size")) or int(font.actual("size"))


def _scaled(size: int, factor: float) -> int:
    """Fonts may have negative sizes (px); the sign stays and the size never becomes 0."""
    return (1 if size > 0 else -1) * max(1, round(abs(size) * factor))


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


class Choices:
    """The list of what a field offers, as a menu: its rows are as tall as a finger needs.

    Tk's own list has rows of one text line. What is longer than MOST keeps it, because it scrolls.
    """

    MOST, ROW_EM = 16, 2.9

    def __init__(self, look: "Look") -> None:
        self._look, root = look, look.root
        self.menu, self._field = tk.Menu(root, tearoff=False), ""
        root.createcommand("post_choices", self.post)
        root.bind_class("TCombobox", "<Destroy>", self._gone, add="+")
        root.tk.eval(
            f"""rename ::ttk::combobox::Post ::ttk::combobox::PostList
            proc ::ttk::combobox::Post {{box}} {{
                set many [expr {{[llength [$box cget -values]] > {self.MOST}}}]
                if {{$many}} {{::ttk::combobox::PostList $box}} else {{post_choices $box}}
            }}"""
        )

    def post(self, path: str) -> None:
        """Show the choices below a field; the one that stands in it is bold."""
        look, box = self._look, self._look.root.nametowidget(path)
        if box.instate(["disabled"]):
            return
        look.root.tk.eval(str(box.cget("postcommand")))
        self._field = path
        values, font = [str(value) for value in box.cget("values")], look.font("body")
        widest = max(map(font.measure, values), default=0)
        self._strut = tk.PhotoImage(  # behind the words: as wide as the field, and the row's height
            master=look.root,
            width=max(1, box.winfo_width() - widest - look.units(3.6)),
            height=look.units(self.ROW_EM),
        )
        self.menu.delete(0, "end")
        for value in values:
            self.menu.add_command(
                label=value,
                image=self._strut,
                compound="right",
                command=partial(self._choose, box, value),
                font=look.font("bold" if value == box.get() else "body"),
            )
        self.menu.tk_popup(box.winfo_rootx(), box.winfo_rooty() + box.winfo_height())
        if box.winfo_exists() and box.get() in values:  # Windows comes back after the answer
            self.menu.activate(values.index(box.get()))

    def _gone(self, event: "tk.Event[tk.Misc]") -> None:
        """Take the list away with its field, whose page is closed or built anew."""
        if str(event.widget) == self._field and self.menu.winfo_exists():
            self.menu.unpost()
            self.menu.delete(0, "end")

    def _choose(self, box: ttk.Combobox, value: str) -> None:
        box.set(value)
        box.focus_set()
        box.event_generate("<<ComboboxSelected>>")


HEADING_RIM = 2  # px that the theme keeps around a heading and not around a cell
Style = dict[str, Any]


def _buttons(look: Look) -> dict[str, tuple[Style, Style]]:
    """Return style -> its options, and those that hang on the state of a widget."""
    units, font = look.units, look.font
    pad, slim = (units(1.6), look.pad(0.72)), (units(1.6), look.pad(0.3))
    white, paper, ink, edge = palette.WHITE, palette.PAPER, palette.INK, palette.CONTROL_EDGE
    accent, no_edge = palette.ACCENT, palette.DISABLED_EDGE
    grey = [("disabled", palette.DISABLED_TEXT)]
    pressed = [("pressed", palette.PRESSED), ("active", palette.HOVER)]
    flat = {"background": pressed, **_edges(accent, white)}
    bold, tight = {"font": font("bold")}, {"padding": (units(0.4), look.pad(0.5))}
    primary = [("pressed", palette.ACCENT_HOVER), ("active", palette.ACCENT_HOVER)]
    chosen = [("selected", "pressed", palette.PRESSED), ("selected", palette.SELECTED_ROW)]
    quiet = {
        "background": white,
        "bordercolor": white,
        "anchor": "w",
        "padding": (0, look.pad(0.4)),
    }
    steps = {
        name: ({**_button(white, white, colour, slim), "font": font(named)}, flat)
        for name, colour, named in (
            ("Step.TButton", ink, "body"),
            ("StepAhead.TButton", palette.MUTED, "body"),
            ("StepHere.TButton", accent, "bold"),
        )
    }
    return {
        "TButton": (
            _button(white, edge, ink, pad),
            {
                "background": [*chosen, ("disabled", paper), *pressed],
                "foreground": [("selected", ink), *grey],
                "font": [("selected", font("bold"))],
                **_edges(accent, no_edge, chosen=ink),
            },
        ),
        "Primary.TButton": (
            {**_button(accent, accent, white, pad), **bold},
            {
                "background": [("disabled", paper), *primary],
                "foreground": grey,
                **_edges(ink, no_edge),
            },
        ),
        **steps,
        "Tight.TButton": (tight, {}),
        "Leaf.TButton": (tight, {"font": [("selected", font("body"))]}),
        "Choice.TButton": ({"padding": (units(0.7), look.pad(0.62))}, {}),
        "Quiet.TButton": (quiet, flat),
        "Row.TButton": ({"anchor": "w"}, {}),
        "Low.TButton": ({"padding": (units(1.2), look.pad(0.3))}, {}),
        "Slim.TButton": ({"anchor": "w", "padding": (units(0.7), pad[1])}, {}),
    }


def _lists(look: Look) -> dict[str, tuple[Style, Style]]:
    white, ink, accent = palette.WHITE, palette.INK, palette.ACCENT
    return {
        "Treeview": (
            {
                **dict.fromkeys(
                    ("background", "fieldbackground", "lightcolor", "bordercolor"), white
                ),
                "foreground": ink,
                "borderwidth": 0,
                "relief": "flat",
            },
            {
                "background": [("selected", palette.SELECTED_ROW)],
                "foreground": [("selected", ink)],
                "bordercolor": [("focus", accent)],
                "lightcolor": [("focus", accent)],
            },
        ),
        "Treeview.Heading": (
            {
                "background": white,
                "foreground": palette.MUTED,
                "font": look.font("body"),
                "relief": "flat",
                "padding": (look.units(0.5) - HEADING_RIM, look.units(0.6)),
            },
            {"background": [("active", palette.HOVER)]},
        ),
    }


def _button(ground: str, edge: str, text: str, padding: tuple[int, int]) -> Style:
    return {
        **dict.fromkeys(("background", "lightcolor", "darkcolor"), ground),
        "foreground": text,
        "bordercolor": edge,
        "relief": "raised",
        "borderwidth": 1,
        "padding": padding,
        "anchor": "center",
        "width": 0,
    }


def _edges(focused: str, disabled: str, chosen: str = "") -> Style:
    """Return the edges by state; chosen: with the keyboard, for buttons that can be chosen."""
    light: list[tuple[str, ...]] = [("disabled", palette.PAPER), ("focus", focused)]
    dark: list[tuple[str, ...]] = [("disabled", disabled), ("focus", focused)]
    if chosen:
        held = light[0], ("selected", "focus", chosen)
        light = [*held, ("selected", palette.SELECTED_ROW), *light]
        dark = [dark[0], held[1], ("selected", palette.ACCENT), *dark]
    return {"bordercolor": dark, "lightcolor": light, "darkcolor": light}


def _field(look: Look) -> tuple[Style, Style]:
    grounds = ("fieldbackground", "background", "lightcolor", "darkcolor")
    options = {
        **dict.fromkeys(grounds, palette.WHITE),
        "bordercolor": palette.CONTROL_EDGE,
        "arrowcolor": palette.INK,
        "arrowsize": look.units(1.5),
        "padding": (look.units(0.75), look.pad(0.4)),
    }
    return options, {
        "fieldbackground": [("disabled", palette.PAPER)],
        "lightcolor": [("focus", palette.ACCENT)],
        "selectbackground": [("readonly", palette.WHITE)],
        "selectforeground": [("readonly", palette.INK)],
        "foreground": [("disabled", palette.DISABLED_TEXT)],
        "bordercolor": [
            ("invalid", palette.ERROR),
            ("focus", palette.ACCENT),
            ("disabled", palette.DISABLED_EDGE),
        ],
    }


def dress(look: Look) -> None:
    """Set every style of the theme; may be called again after the text size changed."""
    s = look.style
    s.configure(
        ".",
        background=palette.PAPER,
        foreground=palette.INK,
        troughcolor=palette.HAIRLINE,
        bordercolor=palette.CONTROL_EDGE,
        focuscolor=palette.ACCENT,
        selectbackground=palette.SELECTED_ROW,
        selectforeground=palette.INK,
        insertcolor=palette.INK,
    )
    s.map(".", foreground=[("disabled", palette.DISABLED_TEXT)])
    grounds = {"White": palette.WHITE, "Ahead": palette.WHITE, "Done": palette.INK}
    grounds |= {"Here": palette.ACCENT, "Hair": palette.HAIRLINE, "Error": palette.ERROR}
    for name, ground in grounds.items():
        s.configure(f"{name}.TFrame", background=ground)
    fields = dict.fromkeys(("TEntry", "TCombobox"), _field(look))
    for name, (options, by_state) in {**_buttons(look), **_lists(look), **fields}.items():
        s.configure(name, **options)
        s.map(name, **by_state)
    _bars(look)
    _tick_boxes(look)
    row = look.units(2.95)  # a row that a finger finds: Tk takes its height from this border
    lists = {
        "font": look.font("body"),
        "background": palette.WHITE,
        "selectBackground": palette.SELECTED_ROW,
        "selectForeground": palette.INK,
        "selectBorderWidth": max(0, -(-(row - round(2 * look.units(1)) - 1) // 2)),
        "activeStyle": "none",
    }
    for option, value in lists.items():
        look.root.option_add(f"*TCombobox*Listbox.{option}", value)
    for option, value in MENUS.items():
        look.root.option_add(f"*Menu.{option}", value)


MENUS = {
    "background": palette.WHITE,
    "foreground": palette.INK,
    "activeBackground": palette.SELECTED_ROW,
    "activeForeground": palette.INK,
    "disabledForeground": palette.DISABLED_TEXT,
    "relief": "solid",
    "borderWidth": 1,
    "activeBorderWidth": 0,
}


def _bars(look: Look) -> None:
    """Set quiet bars: a thumb in a trough, as wide as a finger finds, and no arrows."""
    s, dark = look.style, palette.HAIRLINE_DARK
    colours = ("background", "lightcolor", "darkcolor")
    active = [("pressed", palette.MUTED), ("active", palette.CONTROL_EDGE)]
    for way in ("Vertical", "Horizontal"):
        name = f"{way}.TScrollbar"
        thumb = (f"{way}.Scrollbar.thumb", {"expand": True, "sticky": "nswe"})
        layout: Any = [(f"{way}.Scrollbar.trough", {"sticky": "nswe", "children": [thumb]})]
        s.layout(name, layout)
        s.configure(
            name,
            **dict.fromkeys(colours, dark),
            troughcolor=palette.PAPER,
            bordercolor=palette.PAPER,
            gripcount=0,
            arrowsize=look.units(1.75),  # else as thin on a screen with more dots
        )
        s.map(name, background=active, lightcolor=active, darkcolor=active)
    empty = dict.fromkeys(("troughcolor", "bordercolor"), palette.HAIRLINE)
    s.configure("TProgressbar", **dict.fromkeys(colours, palette.ACCENT), **empty)


def _tick_boxes(look: Look) -> None:
    side, unit = look.units(2), look.units(1)
    name = f"Tick{side}x{unit}.indicator"
    if name not in look.style.element_names():  # ttk forgets none: one for each size of text
        states = {
            key: ImageTk.PhotoImage(_tick_box(side, unit, *colours), master=look.root)
            for key, colours in _TICKS.items()
        }
        look.pictures.extend(states.values())
        look.style.element_create(
            name,
            "image",
            states["off"],
            ("disabled", "selected", states["on disabled"]),
            ("disabled", states["off disabled"]),
            ("selected", "focus", states["on focus"]),
            ("focus", states["off focus"]),
            ("selected", states["on"]),
            sticky="w",
        )
    parts = [
        (name, {"side": "left", "sticky": ""}),
        ("Checkbutton.label", {"side": "left", "sticky": "w"}),
    ]
    layout: Any = [("Checkbutton.padding", {"sticky": "nswe", "children": parts})]
    for style, ground in (("TCheckbutton", palette.PAPER), ("White.TCheckbutton", palette.WHITE)):
        look.style.layout(style, layout)
        look.style.configure(style, background=ground, padding=(0, look.pad(0.5)))
        look.style.map(style, background=[("active", palette.HOVER)])


def _tick_box(size: int, gap: int, edge: str, ground: str, tick: str | None) -> Image.Image:
    """Draw a box four times too large and shrink it: a smooth tick instead of the theme's cross.

    The gap to the words is part of the picture, because the theme leaves none.
    """
    big = size * 4
    image = Image.new("RGBA", (big + 4 * gap, big), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, big - 1, big - 1), fill=ground, outline=edge, width=4)
    if tick:
        points = [(0.22 * big, 0.52 * big), (0.42 * big, 0.72 * big), (0.78 * big, 0.28 * big)]
        draw.line(points, fill=tick, width=max(4, big // 9), joint="curve")
    return image.resize((size + gap, size), Image.Resampling.LANCZOS)


_TICKS = {
    "off": (palette.CONTROL_EDGE, palette.WHITE, None),
    "on": (palette.CONTROL_EDGE, palette.WHITE, palette.INK),
    "off focus": (palette.ACCENT, palette.SELECTED_ROW, None),
    "on focus": (palette.ACCENT, palette.SELECTED_ROW, palette.INK),
    "off disabled": (palette.DISABLED_EDGE, palette.PAPER, None),
    "on disabled": (palette.DISABLED_EDGE, palette.PAPER, palette.DISABLED_TEXT),
}
