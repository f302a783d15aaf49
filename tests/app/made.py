"""A context without a screen: the real store, pictures made on the spot, work done at once."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from PIL import Image

from tapmark.app.actions import by_name
from tapmark.app.main import begin
from tapmark.app.shell.context import Context
from tapmark.app.shell.run_lock import ask_about_unsaved
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.saving import RETRY_MS, KeptSettings, Saver
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.frames_wanted import Wish
from tapmark.app.state.session import AppState
from tapmark.clip.frames import Clip
from tapmark.clip.rates import Capture
from tapmark.errors import TapmarkError
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tests.app.driving import SAMPLES, Asked

PICTURES = {event: 10 + 12 * i for i, event in enumerate(SIDE_EVENTS)}


class Drawn:
    """120 grey pictures of 1280 × 720 at 240 a second."""

    kind = "stills"
    name = "made pictures"
    size_px = (1280, 720)
    notes = ("Made for a test.",)
    capture = Capture(1.0, 240.0, "made")

    def __len__(self) -> int:
        return 120

    def full(self, i: int, progress: Any = None) -> Image.Image:
        return Image.new("RGB", self.size_px, (2 * i, 90, 90))

    preview = small = full

    def time_s(self, i: int) -> float | None:
        return i / 240

    def interval_s(self, i: int) -> float | None:
        return 1 / 240

    def rate_hz(self) -> float | None:
        return 240.0

    def close(self) -> None:
        return None


NEVER_CANCELLED = SimpleNamespace(is_cancelled=lambda: False, report=lambda so_far, of: None)


class AtOnce:
    """Does every job at once, as the worker would, on this thread."""

    def __init__(self) -> None:
        self.channels: list[str] = []
        self.at_hand: Any = None
        self.is_handing_over = False

    def run(
        self,
        channel: str,
        work: Any,
        done: Any,
        failed: Any = lambda trouble: None,
        progress: Any = None,
        stopped: str = "",
        *,
        by: str,
        late: Any = None,
    ) -> None:
        self.channels.append(channel)
        try:
            result = work(NEVER_CANCELLED)
        except TapmarkError as trouble:
            failed(trouble)
            return
        done(result)

    def cancel(self, channel: str) -> None:
        return None

    def stop(self) -> str:
        return ""

    def is_busy(self, channel: str) -> bool:
        return False

    def close(self) -> None:
        return None


def bare_context(home: Path, now: Callable[[], datetime] | None = None) -> Context:
    """Return a context with nothing open; what is to be done later is done at once.

    A disk that refused is not tried again by itself: that would have no end.
    """
    state = AppState()

    def later(ms: int, action: Callable[[], None]) -> None:
        if ms == RETRY_MS:
            return
        clip = state.marking.gallery.pictures if state.marking.gallery else None
        if isinstance(clip, Clip):
            clip.wait(20)
        action()

    clock = now or (lambda: datetime(2026, 5, 14, 20, 58, 31))
    return Context(
        state=state,
        jobs=AtOnce(),  # type: ignore[arg-type]
        painter=AtOnce(),  # type: ignore[arg-type]
        ask=Asked(),
        now=clock,
        actions=by_name(),
        cache_folder=home / "cache",
        later=later,
        open_file=lambda path: None,
        print_file=lambda path: None,
        when_unsaved=ask_about_unsaved,
        saver=Saver(state, later, clock),
        settings=KeptSettings(home / "settings.json", later),
    )


def context_with_run(home: Path, squad_folder: Path) -> Context:
    """Return a context with a run of P02 open, its five key frames chosen, nothing tapped."""
    context = bare_context(home)
    use_squad(context, squad_folder)
    choose_athlete(context, "P02")
    context.perform("new visit")
    show_drawn(context, is_new=True)
    context.go("frames")
    for i, picture in enumerate(PICTURES.values(), start=1):
        context.state.marking.picture = picture
        context.perform(f"key frame {i}")
    context.go("taps")
    return context


def show_drawn(context: Context, *, is_new: bool) -> None:
    """Give the run the made pictures."""
    from tapmark.app.shell.runs import _take_source

    context.state.marking.gallery = Gallery(Drawn(), context.jobs)  # type: ignore[arg-type]
    if is_new:
        _take_source(context, Drawn(), Wish(context.state.folder / "film"))  # type: ignore[arg-type,operator]


def reopened(home: Path) -> Context:
    """Return the context of the next start: only what is on the disk is left."""
    from tapmark.store.settings import load_settings

    context = bare_context(home)
    context.settings.value, _ = load_settings(context.settings.path)
    begin(context, None)
    return context


def context_on_marked_run(
    home: Path, folder: Path, truth: dict[str, Any], clip: Path | None = None
) -> Context:
    """Return a context with a run of P02 open, every tap at the truth."""
    name = put_marked_run(folder, truth, clip)
    context = bare_context(home)
    use_squad(context, folder)
    choose_athlete(context, "P02")
    context.attempt(lambda: open_run(context, "P02", "2026-05-14", name))
    return context


def put_marked_run(folder: Path, truth: dict[str, Any], clip: Path | None = None) -> str:
    """Write a run of P02 marked on the sample clip, every tap at the truth; return its name."""
    from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
    from tapmark.store.pictures import clip_of
    from tapmark.store.squad import open_squad

    squad, dated = open_squad(folder), "2026-05-14"
    clip = clip or SAMPLES / "P02" / truth["clip"]["file"]
    first_s = truth["clip"]["first_picture_s"]
    frames = tuple(
        KeyFrame(
            event,
            truth["clip"]["key_pictures"][event],
            truth["stills"][event]["time_s"] - first_s,
            1 / 240,
            taps=tuple(
                Tap(point, tuple(truth["stills"][event]["points"][point]))
                for point in STANDARD[event]
            ),
        )
        for event in SIDE_EVENTS
    )
    set_up = SetUp(
        direction="right to left",
        slow_factor=1.0,
        camera="tripod, levelled",
        camera_distance_m=12.0,
        upright_px=(tuple(truth["pole"]["foot"]), tuple(truth["pole"]["top"])),
        scale_px=tuple(map(tuple, truth["scale_marks"]["points"])),  # type: ignore[arg-type]
        scale_m=2.0,
        leg_cm=90.1,
        leg_source="tape",
        pain="no",
    )
    source = Source("clip", "", (1280, 720), truth["clip"]["pictures"])
    run = Run(source=source, set_up=set_up, steps=(Step(frames),))
    name = squad.new_run("P02", dated, run)
    path = squad.run_path("P02", dated, name)
    squad.save_run(
        "P02", dated, name, Run(source=clip_of(clip, path, source), set_up=set_up, steps=run.steps)
    )
    return name
