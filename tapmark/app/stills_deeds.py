"""Keeping the stills of a run: its key frames and two neighbours either side, one at a time.

They are read at full size beside the window, each in a job of its own, so that whatever the coach
looks at comes in between.
"""

import io
from dataclasses import dataclass

from PIL import Image

from tapmark.app.desk import Desk
from tapmark.app.prompting import missing_events
from tapmark.clip.frames import Clip
from tapmark.errands.gate import keep_in
from tapmark.errors import TapmarkError
from tapmark.marks.run import Run
from tapmark.store.pictures import NEIGHBOURS, Still

QUALITY = 88


@dataclass(frozen=True)
class Wanted:
    """A still and the picture it shows."""

    still: Still
    picture: int


def wanted_stills(run: Run, n_pictures: int) -> tuple[Wanted, ...]:
    """Return every still to keep: key frames first, then their neighbours that exist."""
    found = [
        Wanted((i_step, frame.event, offset), frame.picture + offset)
        for i_step, step in enumerate(run.steps)
        for frame in step.key_frames
        for offset in range(-NEIGHBOURS, NEIGHBOURS + 1)
        if 0 <= frame.picture + offset < n_pictures
    ]
    return tuple(sorted(found, key=lambda each: abs(each.still[2])))


def keep(desk: Desk) -> None:
    """Keep the next still that is not kept yet, and so on until all are.

    One that cannot be kept is told once and not tried again while the run is open: where the disk
    or the consent says no, that is every one that is left.
    """
    state = desk.state
    run, gallery = state.run, state.gallery
    if run is None or gallery is None or not isinstance(gallery.pictures, Clip):
        return
    if missing_events(run, state.i_step) or desk.jobs.is_busy("stills") or desk.is_read_only:
        return
    pictures = gallery.pictures
    left = [
        w
        for w in wanted_stills(run, len(pictures))
        if w.still not in state.left_out and state.kept.get(w.still) != w.picture
    ]
    if not left:
        return
    first = left[0]

    def done(jpeg: bytes) -> None:
        if not desk.attempt(lambda: _keep(desk, first, jpeg)):
            state.left_out.update(each.still for each in left)
            return
        keep(desk)

    def failed(trouble: TapmarkError) -> None:  # the clip itself has told its trouble already
        state.left_out.add(first.still)
        keep(desk)

    desk.jobs.run(
        "stills",
        lambda task: jpeg_of(pictures.full(first.picture, task.is_cancelled)),
        done,
        failed,
        by="run",
    )


def _keep(desk: Desk, wanted: Wanted, jpeg: bytes) -> None:
    state = desk.state
    visit = state.visit
    if state.squad and visit and state.run_name:
        today, place = desk.now().date(), (visit.code, visit.dated, state.run_name)
        keep_in(state.squad, place, {wanted.still: jpeg}, today)
        state.kept[wanted.still] = wanted.picture


def jpeg_of(image: Image.Image) -> bytes:
    """Return an image as JPEG, with nothing beside its pixels."""
    out = io.BytesIO()
    image.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
