"""Finding a system font by the short list."""

import pytest

from tapmark.report.drawing.painter import FAMILIES, Family, font_files, installed


def _put(folder, *names):
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        (folder / name).write_bytes(b"")
    return (folder.parent,)


def test_the_first_family_of_the_list_that_is_complete_wins(tmp_path):
    folders = _put(
        tmp_path / "fonts" / "deep",
        "DejaVuSans.ttf",
        "DejaVuSans-Bold.ttf",
        "ARIAL.TTF",
        "arialbd.ttf",
        "LiberationSans-Regular.ttf",  # no bold: not usable
    )
    assert [family.name for family in installed(folders=folders)] == ["Arial", "DejaVu Sans"]


def test_names_are_found_in_any_case(tmp_path):
    folders = _put(tmp_path / "fonts", "ARIAL.TTF")
    assert font_files(folders)["arial.ttf"] == tmp_path / "fonts" / "ARIAL.TTF"


def test_a_machine_without_fonts_gives_none(tmp_path):
    assert installed(folders=(tmp_path / "nowhere",)) == ()
    assert font_files((tmp_path,)) == {}


@pytest.mark.parametrize(
    ("is_bold", "is_italic", "cut"),
    [(False, False, "r"), (True, False, "b"), (False, True, "i"), (True, True, "z")],
)
def test_each_style_has_its_cut(is_bold, is_italic, cut):
    family = Family("Made up", (("r", 0), ("b", 0), ("i", 0), ("z", 0)))
    assert family.cut(is_bold, is_italic) == (cut, 0)


def test_ordinary_grotesques_stand_before_wide_families():
    names = [family.name for family in FAMILIES]
    assert names.index("Arial") < names.index("DejaVu Sans")
    assert names.index("Liberation Sans") < names.index("Verdana")
