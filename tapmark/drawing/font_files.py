"""Where the letters come from: a system font by a short list; no font is shipped.

Ordinary grotesques come first, because the page was set with their widths; wider families follow.
"""

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final


@dataclass(frozen=True)
class Cut:
    """One style of a family: file name (any case) and number inside a collection file."""

    file: str
    index: int = 0


@dataclass(frozen=True)
class Family:
    """A family and its four styles, each named by the file that holds it."""

    name: str
    regular: Cut
    bold: Cut
    italic: Cut
    bold_italic: Cut

    def cut(self, is_bold: bool, is_italic: bool) -> Cut:
        """Return the cut for a style."""
        if is_bold:
            return self.bold_italic if is_italic else self.bold
        return self.italic if is_italic else self.regular


def _files(name: str, *files: str) -> Family:
    return Family(name, *(Cut(file) for file in files))


FAMILIES: Final = (
    _files(
        "Liberation Sans",
        "LiberationSans-Regular.ttf",
        "LiberationSans-Bold.ttf",
        "LiberationSans-Italic.ttf",
        "LiberationSans-BoldItalic.ttf",
    ),
    _files("Arial", "arial.ttf", "arialbd.ttf", "ariali.ttf", "arialbi.ttf"),
    _files("Arial", "Arial.ttf", "Arial Bold.ttf", "Arial Italic.ttf", "Arial Bold Italic.ttf"),
    Family("Helvetica", *(Cut("Helvetica.ttc", index) for index in (0, 1, 2, 3))),
    _files(
        "Nimbus Sans",
        "NimbusSans-Regular.otf",
        "NimbusSans-Bold.otf",
        "NimbusSans-Italic.otf",
        "NimbusSans-BoldItalic.otf",
    ),
    _files("FreeSans", "FreeSans.ttf", "FreeSansBold.ttf", "FreeSansOblique.ttf", "FreeSans.ttf"),
    _files("Segoe UI", "segoeui.ttf", "segoeuib.ttf", "segoeuii.ttf", "segoeuiz.ttf"),
    _files(
        "Noto Sans",
        "NotoSans-Regular.ttf",
        "NotoSans-Bold.ttf",
        "NotoSans-Italic.ttf",
        "NotoSans-BoldItalic.ttf",
    ),
    _files(
        "DejaVu Sans",
        "DejaVuSans.ttf",
        "DejaVuSans-Bold.ttf",
        "DejaVuSans-Oblique.ttf",
        "DejaVuSans-BoldOblique.ttf",
    ),
    _files("Verdana", "verdana.ttf", "verdanab.ttf", "verdanai.ttf", "verdanaz.ttf"),
)
FOLDERS: Final = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path("~/.local/share/fonts"),
    Path("~/.fonts"),
    Path("/System/Library/Fonts"),
    Path("/Library/Fonts"),
    Path("~/Library/Fonts"),
    Path("C:/Windows/Fonts"),
    Path("~/AppData/Local/Microsoft/Windows/Fonts"),
)


@lru_cache(maxsize=8)
def font_files(folders: tuple[Path, ...] = FOLDERS) -> Mapping[str, Path]:
    """Return file name in lower case -> where it lies, for every font file below the folders."""
    return {path.name.lower(): path for folder in folders for path in _below(folder)}


def _below(folder: Path) -> Iterator[Path]:
    try:
        root = folder.expanduser()
    except RuntimeError:  # a system account without a home
        return
    for inside, _, names in os.walk(root):  # no Path for the many files that are no fonts
        yield from (Path(inside, name) for name in names if name.lower().endswith(_SUFFIXES))


_SUFFIXES: Final = (".ttf", ".otf", ".ttc")


def installed(
    families: Iterable[Family] = FAMILIES, folders: tuple[Path, ...] = FOLDERS
) -> tuple[Family, ...]:
    """Return the families whose regular and bold cuts are on this machine, best first."""
    found = font_files(folders)
    return tuple(
        family
        for family in families
        if family.regular.file.lower() in found and family.bold.file.lower() in found
    )


def path_of(cut: Cut, folders: tuple[Path, ...] = FOLDERS) -> Path | None:
    """Return where the file of a cut lies, or None."""
    return font_files(folders).get(cut.file.lower())
