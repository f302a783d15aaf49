"""A film of one step, and two clips that play together: python -m tests.benchmarks.bench_film

The film: making it, against the same encoder on the same pictures painted before; drawn and with
photos, CPU of this process and its children, the smallest of three; and how much more memory a
film needs that is eight times as long. Playing: shown frames a second
of two halves cut from the sample clip enlarged to 1080p, as the page for two runs cuts them.
"""

import resource
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from unittest import mock

from PIL import Image

from tapmark.app.review.two_runs import cut
from tapmark.clip.film_file import mp4_bytes
from tapmark.progress import NOBODY
from tapmark.report.pages import film as film_pages
from tapmark.report.pages.film import SIZE_PX, Film
from tapmark.services import film as films
from tapmark.services.demo import make_demo
from tapmark.services.places import VisitPlace
from tapmark.store.squad import open_squad
from tests.services.made import agreed

DAY = date(2026, 5, 14)
TIMES = 3
HALF_PX = (464, 516)


def cpu_s() -> float:
    """CPU seconds of this process and of those that it waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def smallest(work: Callable[[], object]) -> tuple[float, float]:
    """Return the smallest (CPU s, s by the clock) of a few times."""
    found = []
    for _ in range(TIMES):
        cpu, clock = cpu_s(), time.perf_counter()
        work()
        found.append((cpu_s() - cpu, time.perf_counter() - clock))
    return min(each[0] for each in found), min(each[1] for each in found)


def film_of(place: VisitPlace, kind: str) -> None:
    """Print what a film costs, beside the encoder alone."""
    with films._content((place,), kind, DAY, NOBODY) as content:  # noqa: SLF001
        film = Film(content)
        painted = list(film.frames())
        alone = smallest(lambda: mp4_bytes(painted, SIZE_PX, film.n_frames))
        whole = smallest(lambda: mp4_bytes(Film(content).frames(), SIZE_PX, film.n_frames))
    ratio = f"{whole[0] / alone[0]:.2f} × CPU, {whole[1] / alone[1]:.2f} × by the clock"
    print(f"film, {kind}: {ratio} of the encoder alone ({film.n_frames} frames, {whole[1]:.1f} s)")


def peaks_mb() -> tuple[float, float]:
    """Return the most memory that this process and any of its children ever held, MB (Linux)."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return used[0].ru_maxrss / 1024, used[1].ru_maxrss / 1024


def memory_of_a_long_film(place: VisitPlace) -> None:
    """Print by how much the peaks grow when a filmed step is slowed eight times more."""
    with films._content((place,), "photo", DAY, NOBODY) as content:  # noqa: SLF001
        film = Film(content)
        mp4_bytes(film.frames(), SIZE_PX, film.n_frames)
        short = peaks_mb()
        with mock.patch.object(film_pages, "SLOWED", 8 * film_pages.SLOWED):
            film = Film(content)
            mp4_bytes(film.frames(), SIZE_PX, film.n_frames)
        long = peaks_mb()
    print(f"memory: peaks of {short[0]:.0f} MB here and {short[1]:.0f} MB in ffmpeg, ", end="")
    grown = f"{long[0] - short[0]:.0f} and {long[1] - short[1]:.0f} MB more"
    print(f"{grown} for {film.n_frames} frames")


def pairs_a_second(place: VisitPlace) -> None:
    """Print how many pairs of halves a second are cut from 1080p, whole and at half the size."""
    previews = [Image.effect_noise((1280, 720), 40).convert("RGB") for _ in range(8)]
    for shrink in (1, 2):
        size = HALF_PX[0] // shrink, HALF_PX[1] // shrink

        def work(size: tuple[int, int] = size) -> None:
            for i in range(24):
                for _ in range(2):
                    box = (400.0 + i, 100.0, 1300.0 + i, 1000.0)
                    made = cut(previews[i % 8], (1920, 1080), box, size, mirrored=False)
                    made.resize(HALF_PX, Image.Resampling.NEAREST)

        _, clock = smallest(work)
        print(f"two halves of 1080p, cut 1/{shrink}: {24 / clock:.0f} pairs a second")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        list(make_demo(Path(folder) / "demo", DAY))
        squad = open_squad(Path(folder) / "demo" / "squad")
        squad.save_athlete(agreed("P02"))
        place = VisitPlace(squad, "P02", "2026-05-14")
        memory_of_a_long_film(place)  # first: the others hold all frames, which would hide it
        for kind in ("drawn", "photo"):
            film_of(place, kind)
        pairs_a_second(place)


if __name__ == "__main__":
    main()
