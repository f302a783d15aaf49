"""Every page in light and awkward states, with large text on a small screen: whole, ours, in words.

One window goes through all states of `awkward`; what is asked of each is in `looks` and `clipping`.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from tkinter import font as tkfont
from tkinter import ttk
from typing import Any

import pytest

from tapmark.app.widgets.theme import Look
from tapmark.report.drawing.shapes import Label, Ring
from tests.app import awkward
from tests.app.awkward import FORMS
from tests.app.clipping import clipped, mapped
from tests.app.driving import Driver, OpenWindow, drawn_by_tk
from tests.app.looks import menu_fonts, raw_dates, strange, unreadable

TEXT = 1.5


@pytest.mark.long
def test_every_awkward_state_is_whole_in_our_fonts_and_says_dates_in_words(
    open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]
) -> None:
    squad = awkward.full_squad(tmp_path / "squad", truth)
    app = open_app(squad.folder)
    app.context.settings.change(replace(app.context.settings.value, text_size=TEXT))
    app.window.lay_out_again()
    app.pump()

    found, seen = {}, []
    for state in awkward.states(app, tmp_path, squad):
        seen.append(state)
        look = app.window.look
        faults = [*strange(app.root, look), *raw_dates(app.root), *clipped(app.root)]
        faults += unreadable(app.root)
        if faults:
            found[state] = faults

    assert not found, "\n".join(f"{state}: {fault}" for state in found for fault in found[state])
    assert len(seen) == len(set(seen)) == 42


@pytest.mark.parametrize(
    ("scaling", "times", "tall"),
    [(4 / 3, 1.0, 700), (8 / 3, 2.0, 1400), (8 / 3, 2.0, 830)],
    ids=["96", "192", "192 and as low as a screen of 768 px makes it"],
)
def test_marks_are_as_large_whatever_the_dots_of_the_screen(
    open_app: OpenWindow, marked_squad: Callable[[], Path], scaling: float, times: float, tall: int
) -> None:
    size = f"{round(1366 * times)}x{tall}+0+0"
    app = open_app(marked_squad(), size=size, scaling=scaling)
    app.keyboard_on(app.view.list)
    app.press("Return")
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the clip"
    )
    app.go("taps")
    app.press("Key-1")
    pane = app.bench.pane
    app.pump(lambda: pane.is_at_rest, "the smooth marks")

    drawn = pane._shapes  # noqa: SLF001
    letters = [shape for shape in drawn if isinstance(shape, Label)]
    radii = [ring.radius for ring in drawn if isinstance(ring, Ring)]
    assert letters and radii
    assert [letter.size for letter in letters] == pytest.approx(
        [13 * times] * len(letters), rel=0.01
    )
    assert radii == pytest.approx([6.5 * times] * len(radii), rel=0.01)
    x, y = pane.canvas.coords(pane._patch_item)  # noqa: SLF001
    right, bottom = x + pane._patch.width(), y + pane._patch.height()  # noqa: SLF001
    for letter in letters:
        reach = letter.size
        assert x <= letter.point[0] - reach and letter.point[0] + reach <= right, letter.text
        assert y <= letter.point[1] - reach and letter.point[1] <= bottom, letter.text


def test_the_menus_speak_in_our_font(open_app: OpenWindow) -> None:
    app = open_app()
    menus = app.window.menus
    for name in menus.menus:
        menus.fill(name)
    wanted = app.window.look.font("body").actual()
    fonts = {name: tkfont.Font(font=font).actual() for name, font in menu_fonts(menus.bar)}
    assert len(fonts) > 8
    assert [name for name, font in fonts.items() if font != wanted] == []


SMALLEST_PX = 24  # of what is pressed: WCAG 2.2, success criterion 2.5.8


def controls(app: Driver) -> Iterator[tuple[str, int]]:
    """Yield what is pressed or typed in on the page at hand, and how tall it is, px."""
    for widget in mapped(app.root):
        if isinstance(widget, ttk.Button | ttk.Checkbutton | ttk.Entry | ttk.Menubutton):
            yield f"{widget.winfo_class()} {widget}", widget.winfo_height()
        if isinstance(widget, ttk.Treeview):
            yield f"rows of {widget}", int(ttk.Style(widget).lookup("Treeview", "rowheight"))


def choice_rows(app: Driver, box: ttk.Combobox) -> int:
    """Open the choices of a field by its key and return how tall their rows are, px."""
    app.keyboard_on(box)
    menu = app.window.look.choices.menu
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(menu, "tk_popup", lambda x, y: None)  # Windows would wait for an answer
        app.press("Down")
    assert [menu.entrycget(i, "label") for i in range(3)] == list(box.cget("values"))
    return menu.yposition(2) - menu.yposition(1)


def keys_in_menu(app: Driver, *keys: str) -> None:
    """Press keys where Tk has the keyboard, which is a menu while one is open."""
    for key in keys:
        at = str(app.root.tk.call("focus")) or "."
        app.root.tk.call("event", "generate", at, f"<{key}>")
        app.pump()


@pytest.mark.parametrize("text_size", [0.75, 0.9])
def test_low_letters_leave_what_is_pressed_as_tall_as_a_finger_needs(
    open_app: OpenWindow, marked_squad: Callable[[], Path], text_size: float
) -> None:
    """Those of Windows are lower than the letters that these tests have on Linux."""
    app = open_app(marked_squad())
    settings = app.context.settings
    settings.change(replace(settings.value, text_size=text_size))
    app.window.lay_out_again()
    app.pump()
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    found = {"form": list(controls(app))}
    app.press("Escape")
    app.open_last_run()
    for page in ("squad", "film", "frames", "taps", "review", "sheet"):
        app.go(page)
        found[page] = list(controls(app))
    low = [(page, *each) for page in found for each in found[page] if each[1] < SMALLEST_PX]
    assert low == [] and all(found.values())


@drawn_by_tk
def test_an_answer_is_chosen_by_keys_alone_and_told_once(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    box = app.view.form.fields["clearance"]
    told: list[str] = []
    box.bind("<<ComboboxSelected>>", lambda event: told.append(box.get()))
    app.keyboard_on(box)
    app.press("Down")
    keys_in_menu(app, "Down", "Down", "Return")
    assert told == ["cleared by a clinician"] and app.root.focus_get() is box


def test_an_answer_that_is_chosen_before_the_list_returns_may_take_its_field_away(
    open_app: OpenWindow, squad_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows shows the list and comes back only after the answer, whose page may be built anew."""
    app = open_app(squad_folder)
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    box, menu = app.view.form.fields["clearance"], app.window.look.choices.menu
    monkeypatch.setattr(menu, "tk_popup", lambda x, y: menu.invoke(2))
    told: list[str] = []
    box.bind("<<ComboboxSelected>>", lambda event: (told.append(box.get()), box.destroy()))
    app.keyboard_on(box)
    app.press("Down")
    assert told == ["cleared by a clinician"] and not box.winfo_exists()


@pytest.mark.parametrize(
    "scaling", [pytest.param(4 / 3, marks=pytest.mark.long), 8 / 3], ids=["96", "192"]
)
def test_what_is_pressed_is_as_tall_as_a_finger_needs(
    open_app: OpenWindow, marked_squad: Callable[[], Path], scaling: float
) -> None:
    unit = scaling * 3 / 4
    app = open_app(
        marked_squad(), size=f"{round(1366 * unit)}x{round(700 * unit)}+0+0", scaling=scaling
    )
    found = {"squad": list(controls(app))}
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    form = app.view.form
    found["form"] = list(controls(app))
    rows = choice_rows(app, form.fields["clearance"])
    app.press("Escape")
    app.open_last_run()
    for page in ("film", "frames", "taps", "review", "sheet"):
        app.go(page)
        found[page] = list(controls(app))
    low = [(page, *each) for page in found for each in found[page] if each[1] < SMALLEST_PX * unit]

    assert low == [] and rows >= SMALLEST_PX * unit
    assert app.view is app.window.views["sheet"] and all(found.values())
    bar = ttk.Scrollbar(app.root)
    assert bar.winfo_reqwidth() >= 14 * unit


WHEEL = ("<Button-5>", "<Button-4>", "<Button-5>", "<Button-5>")


def test_the_wheel_scrolls_a_column_from_wherever_it_is_and_changes_no_answer(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad(), size="1024x560+0+0")
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    form, canvas = app.view.form, app.view.column.canvas
    answers = {key: field.get() for key, field in form.fields.items()}
    for field in form.fields.values():
        canvas.yview_moveto(0)
        for event in WHEEL:
            field.event_generate(event, x=5, y=5)
        app.pump()
        assert canvas.canvasy(0) > 0, field
    assert {key: field.get() for key, field in form.fields.items()} == answers
    app.press("Escape", "F1")
    for label in app.view.canvas.winfo_children()[0].winfo_children():
        label.event_generate("<Button-5>", x=5, y=5)
    app.pump()
    assert app.view.canvas.canvasy(0) > 0, "the help page"


def test_a_press_gives_the_keyboard_and_moves_nothing_away(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad(), size="1024x560+0+0")
    app.keyboard_on(app.view.list)
    app.press("Control-Key-e")
    canvas = app.view.column.canvas
    fields = [f for f in app.view.form.fields.values() if not isinstance(f, ttk.Combobox)]
    canvas.yview_moveto(0.2)
    app.pump()
    seen = [f for f in fields if 0 < f.winfo_rooty() - canvas.winfo_rooty() < canvas.winfo_height()]
    for field in seen:
        before = canvas.canvasy(0)
        app.click(field, 12)
        assert canvas.canvasy(0) == before and app.root.focus_get() is field


@pytest.mark.parametrize("times", [pytest.param(0.85, marks=pytest.mark.long), 1.15])
def test_pages_are_whole_in_letters_15_percent_narrower_and_wider(
    open_app: OpenWindow,
    marked_squad: Callable[[], Path],
    monkeypatch: pytest.MonkeyPatch,
    times: float,
) -> None:
    """Stands for another family: the same letters that much larger, in lines as tall as before."""
    half_line = Look.set_text_size

    def set_text_size(look: Look, factor: float) -> None:
        half_line(look, factor)
        kept = look._half_line  # noqa: SLF001
        half_line(look, factor * times)
        look._half_line = kept  # noqa: SLF001
        look._set_styles()  # noqa: SLF001

    monkeypatch.setattr(Look, "set_text_size", set_text_size)
    app = open_app(marked_squad())
    app.pump(lambda: app.view.readings.known, "where the athlete stands")
    found = {"squad": clipped(app.root)}
    for key, name in FORMS:
        app.keyboard_on(app.view.list)
        app.press(key)
        found[name] = clipped(app.root)
        app.press("Escape")
    app.keyboard_on(app.view.list)
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")
    found["season"] = clipped(app.root)
    app.press("Escape")
    app.open_last_run()
    for page in ("film", "frames", "taps", "review", "sheet"):
        app.go(page)
        found[page] = clipped(app.root)

    assert found == {page: [] for page in found}
