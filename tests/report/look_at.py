"""Small pictures of the printed pages, for human eyes and for README.

    python -m tests.report.look_at FOLDER

Pages of the sample squad of `tapmark demo`, and the group sheet of an invented squad of fourteen.
Look at them after every change of looks; README shows those in tests/pictures.
"""

import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
from PIL import Image

from tapmark.checklist.verdict import CANT_TELL, FINE, NEAR_THE_LINE, NOT_MEASURED, SEEN, SHOWN
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.group_page import group_pages
from tapmark.services.demo import make_sample_squad
from tapmark.services.pages import content_of, pages_of
from tapmark.services.places import visit_at
from tests.report.made import english

WIDE, GREYS = 620, 32
DAY = date(2026, 6, 9)
RESULT = 14  # is shown, never judged
FROM_BEHIND = (15, 16, 17, 18)  # seldom filmed
SIDE_WORDS = ((FINE, 0.52), (NEAR_THE_LINE, 0.22), (SEEN, 0.16), (CANT_TELL, 0.1))


def main(folder: Path) -> None:
    """Save a picture of each page into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, page in pages():
        small = page.resize(
            (WIDE, round(WIDE * page.height / page.width)), Image.Resampling.LANCZOS
        )
        small.quantize(GREYS).save(folder / f"{name}.png", optimize=True)


def pages() -> Iterator[tuple[str, Image.Image]]:
    """Yield name and page."""
    with tempfile.TemporaryDirectory() as place:
        make_sample_squad(Path(place) / "demo", DAY)
        for code in ("P01", "P02"):
            visit = visit_at(Path(place) / "demo/squad/athletes" / code / "2026-05-14")
            sheet, numbers, *_ = pages_of(content_of(visit, "a4", DAY), "coach")
            yield f"sheet-{code.lower()}", sheet
            if code == "P02":
                yield f"coach-{code.lower()}", numbers
    yield "group-sheet", group_pages(invented())[0]


def invented() -> GroupContent:
    """A squad of nobody: seeded verdicts in about the shares that a club meets."""
    random = np.random.default_rng(11)
    lines = tuple(_line(f"K{i:02}", i, random) for i in range(1, 15))
    works = [line for line in lines if line.works_on]
    root = 8
    sharing = tuple(line.code for line in works if line.works_on[0] in (8, 1, 11))
    again = tuple(line.code for line in lines if CANT_TELL in line.words)
    late = tuple(line.code for line in lines if line.is_due)
    return GroupContent(
        "Tuesday sprinters",
        DAY.isoformat(),
        lines,
        english(),
        (root,),
        ((root, sharing),),
        (late[:8],),
        again,
    )


def _line(code: str, i: int, random: np.random.Generator) -> GroupLine:
    if i == 9:
        return GroupLine(code, is_due=True, note=english().say("group.first_visit"))
    names, shares = zip(*SIDE_WORDS, strict=True)
    words = [names[k] for k in random.choice(len(names), 18, p=shares)]
    words[RESULT - 1] = SHOWN
    for number in FROM_BEHIND:
        words[number - 1] = FINE if i % 4 == 0 else NOT_MEASURED
    seen = [n for n, word in enumerate(words, 1) if word == SEEN and n != 13]
    dated = f"2026-05-{3 + 2 * i:02}" if i < 14 else "2026-04-02"
    return GroupLine(code, "sprint", dated, tuple(words), tuple(seen[:1]), is_due=i in (2, 14))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
