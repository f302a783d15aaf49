"""Does the package work where nothing of the checkout is?

    python -m tests.long.packaging [PYTHON …]

Builds wheel and source archive of what is committed, installs each into a fresh environment of each
Python named (default: this one), and runs the demo, the doctor, the help and, where there are a
screen and tkinter, the window, in a folder of its own. Needs a package index for pip.
"""

import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
MOST_BYTES = 2_000_000
WINDOW_S = 5.0


def main(pythons: list[str]) -> None:
    """Print a line for each archive and Python; raise where something does not work."""
    with tempfile.TemporaryDirectory(prefix="tapmark-packaging-") as name:
        folder = Path(name)
        archives = build(folder)
        for archive in archives:
            largest, way = max(sizes(archive))
            assert largest < MOST_BYTES, f"{way} has {largest} bytes"
            print(f"{archive.name}: largest file {largest} bytes, {way}")
        for i, python in enumerate(pythons or [sys.executable]):
            for archive in archives:
                place = folder / f"{i}-{archive.suffix}"
                print(f"{archive.name}, {tried(python, archive, place)}", flush=True)


def build(folder: Path) -> list[Path]:
    """Return wheel and source archive, built from a clone."""
    ran(folder, "git", "clone", "-q", str(ROOT), "checkout")
    python = environment(sys.executable, folder / "builder")
    ran(folder, python, "-m", "pip", "install", "-q", "build")
    ran(folder, python, "-m", "build", "--outdir", str(folder / "built"), "checkout")
    return sorted((folder / "built").iterdir())


def sizes(archive: Path) -> Iterator[tuple[int, str]]:
    """Yield (bytes, name) of every file in an archive."""
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as packed:
            yield from ((entry.file_size, entry.filename) for entry in packed.infolist())
    else:
        with tarfile.open(archive) as bundle:
            yield from ((member.size, member.name) for member in bundle.getmembers())


def environment(python: str, folder: Path) -> str:
    """Make a fresh environment and return its Python."""
    ran(folder.parent, python, "-m", "venv", str(folder))
    return str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))


def tried(python: str, archive: Path, place: Path) -> str:
    """Install an archive, run it, and return what was seen."""
    place.mkdir()
    own = environment(python, place / "own")
    ran(place, own, "-m", "pip", "install", "-q", str(archive))
    tapmark = [own, "-m", "tapmark"]
    ran(place, *tapmark, "--help")
    first, *_ = ran(place, *tapmark, "doctor").splitlines()
    ran(place, *tapmark, "demo", "demo", "--no-window")
    pages = len(list(place.glob("demo/squad/athletes/*/*/sheet.pdf")))
    assert pages == 2 and (place / "demo" / "measures.csv").is_file()
    return f"{first}: help, doctor, demo with {pages} pages; window {window(tapmark, place)}"


def window(tapmark: list[str], place: Path) -> str:
    """Open the window on the demo's squad for a moment; return how it went."""
    own = {key: str(place / key) for key in ("XDG_CONFIG_HOME", "XDG_CACHE_HOME")}
    opened = subprocess.Popen(tapmark, cwd=place, env=os.environ | own, stderr=subprocess.PIPE)
    try:
        _, said = opened.communicate(timeout=WINDOW_S)
    except subprocess.TimeoutExpired:
        opened.terminate()
        opened.communicate()
        return f"stood for {WINDOW_S:.0f} s"
    return f"did not open: {said.decode('utf-8', 'replace').strip()}"


def ran(folder: Path, *words: str) -> str:
    """Run a program in a folder and return what it said; raise when it fails."""
    return subprocess.run(
        words, cwd=folder, check=True, stdout=subprocess.PIPE, encoding="utf-8"
    ).stdout


if __name__ == "__main__":
    main(sys.argv[1:])
