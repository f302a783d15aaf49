"""What the ffmpeg program of this installation can do: options change from version to version."""

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Program:
    """The ffmpeg program and what its version can do.

    path:     where it is
    version:  (major, minor); an unnumbered build counts as new
    """

    path: str
    version: tuple[int, int]

    @property
    def is_modern(self) -> bool:
        return self.version >= (5, 1)

    @property
    def converts_colours_directly(self) -> bool:
        """Whether the scaler itself turns BT.709 into the colours of JPEG (tried: 9.0 does)."""
        return self.version >= (9, 0)

    def keep_every_picture(self) -> list[str]:
        """Return the option that neither copies nor drops pictures (its name has changed)."""
        return ["-fps_mode", "passthrough"] if self.is_modern else ["-vsync", "0"]

    def showinfo(self) -> str:
        """Return the filter that prints each picture's stamp; checksums would double its cost."""
        return "showinfo=checksum=0" if self.is_modern else "showinfo"


def version_in(text: str) -> tuple[int, int]:
    """Return (major, minor) from what `ffmpeg -version` prints; (99, 0) for unnumbered builds."""
    found = re.search(r"version n?(\d+)\.(\d+)", text)
    return (int(found[1]), int(found[2])) if found else (99, 0)
