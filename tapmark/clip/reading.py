"""One reading of a clip into the cache: start, watch, stop, and settle what came out."""

import contextlib
import errno
import os
from dataclasses import asdict, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from tapmark import disk
from tapmark.clip import troubles
from tapmark.clip.blob import Blob
from tapmark.clip.cache import Cache
from tapmark.clip.colour import write_table
from tapmark.clip.ffmpeg import Running, find_program, stop
from tapmark.clip.header import Header, confirmed, with_first_picture
from tapmark.clip.ingest import Facts, Intake, Part, preview_command
from tapmark.clip.showinfo import Shown, Talk
from tapmark.clip.timing import Stamps
from tapmark.errors import ClipError, ClipUnreadable

BYTES_PER_PIXEL = 0.08
"""Of a preview: 55–70 kB at 1280 × 720 were measured; a little above that."""

MOST_THREADS = 4


class ClipReader:
    """Previews and stamps of a clip: prepared earlier, or growing while ffmpeg reads.

    stamps, facts:  what is known so far
    error:          what made the reading unusable, None while all is well
    is_done:        nothing more will come
    """

    def __init__(self, header: Header, cache: Cache, part: Part | None) -> None:
        self.header = header
        self.part = part
        self.stamps = Stamps(header.tick_s, header.first_stamp)
        self.facts = Facts()
        self.error: ClipError | None = None
        self.is_done = False
        self._cache = cache
        self._details = f"{find_program().version} {part}"
        self._can_seek = True
        self._blob: Blob | None = None
        self._is_finished = self._is_damaged = False
        self._is_stopped = False
        self._running: Running | None = None

    def __len__(self) -> int:
        """Pictures of which both the preview and the stamp have arrived."""
        return min(len(self._blob), len(self.stamps)) if self._blob is not None else 0

    @property
    def tables(self) -> Path:
        """The folder of the HDR colour tables."""
        return self._cache.folder

    def jpeg(self, i: int) -> bytes:
        """Return the preview's bytes, b"" when the cache has gone or is damaged there.

        A damaged file of the cache is removed: the clip is read anew when it is opened next.
        """
        blob = self._blob
        try:
            return blob.read(i) if blob is not None else b""
        except OSError:
            self._is_damaged = True
            with contextlib.suppress(OSError):  # Windows removes it once it is closed
                assert blob is not None
                blob.path.unlink(missing_ok=True)
            return b""

    def begin(self) -> None:
        """Take what an earlier reading prepared, or start in the background.

        Raises ClipError when the disk is too full or the clip has gone.
        """
        try:
            found = self._cache.find(self.header.path, self._details)
            if found:
                self._take_prepared(*found)
                return
            if self.part is not None:
                self.header = confirmed(self.header)
            self._check_space()
            self._start()
        except OSError as trouble:
            raise self._disk_trouble(trouble) from trouble

    def wait(self, timeout_s: float) -> bool:
        """Wait at most that long; return whether reading is over."""
        if self._running is not None and not self.is_done:
            self._running.wait(timeout_s)
        return self.is_done

    @property
    def n_signs_of_life(self) -> int:
        return self._running.n_signs_of_life if self._running is not None else 0

    def stop(self) -> None:
        """End the process and remove what is not whole; harmless at any time."""
        self._is_stopped = True
        if self._running is not None:
            stop(self._running)
        self._drop_blob()
        self.is_done = True

    def _take_prepared(self, blob: Blob, noted: dict[str, Any]) -> None:
        self.header = replace(
            self.header,
            is_confirmed=True,
            size_px=tuple(noted["size_px"]),
            tick_s=Fraction(noted["tick_s"]),
            first_stamp=noted["first_stamp"],
            hdr=noted["hdr"],
            matrix=noted["matrix"],
        )
        self.stamps = Stamps(self.header.tick_s, self.header.first_stamp)
        for stamp in noted["stamps"]:
            self.stamps.add(stamp)
        self.facts = Facts(**noted["facts"])
        self._blob, self._is_finished, self.is_done = blob, True, True

    def _to_note(self) -> dict[str, Any]:
        """Return what `_take_prepared` needs, as plain values."""
        return {
            "size_px": self.header.size_px,
            "tick_s": str(self.header.tick_s),
            "first_stamp": self.header.first_stamp,
            "hdr": self.header.hdr,
            "matrix": self.header.matrix,
            "stamps": [self.stamps.stamp(i) for i in range(len(self))],
            "facts": asdict(self.facts),
        }

    def _check_space(self) -> None:
        width, height = self.header.preview_px
        n = self.header.n_expected or 0
        if self.part is not None and self.header.rate_hz:
            n = min(n, round((self.part.to_s - self.part.from_s) * self.header.rate_hz))
        needed = n * width * height * BYTES_PER_PIXEL
        if needed > self._cache.limit_bytes:
            raise self._too_much()
        free = self._cache.free_bytes()
        if needed > free:
            raise ClipError(
                f"Preparing “{self.header.name}” needs about {_megabytes(needed)} on the disk of "
                f"{self._cache.folder}; {_megabytes(free)} are free. Free some space, or take a "
                "shorter part of the clip."
            )

    def _start(self) -> None:
        if self.header.hdr:
            write_table(self.header.hdr, self._cache.folder)
        arguments = preview_command(
            self.header, self.part, can_seek=self._can_seek, n_threads=n_threads()
        )
        self._blob = self._cache.start(self.header.path, self._details)
        self.stamps = Stamps(self.header.tick_s, self.header.first_stamp)
        intake = Intake(self._blob, self.stamps, self._cache.limit_bytes)
        intake.is_right = self._is_right
        intake.on_first = self._step_back
        intake.on_wrong = self._kill
        intake.on_end = lambda code, trouble: self._ended(intake, code, trouble)
        self._running = Running(arguments, intake, self._cache.folder, is_background=True)
        self._running.start()

    def _is_right(self, first: Shown, talk: Talk) -> bool:
        """Judge the first picture: as the listing promised, and not behind the part's start."""
        if self.part is not None and self._can_seek:
            latest = self.part.latest_first(self.header)
            if latest is not None and (first.stamp is None or first.stamp > latest):
                self._can_seek = False
                return False
        expected = self.header
        try:
            self.header = with_first_picture(expected, first, talk)
        except ClipUnreadable as trouble:  # far too large; we are in a thread of the run
            self.error = trouble
            return False
        self.stamps.begin(self.header.tick_s, self.header.first_stamp)
        return self.header.looks == expected.looks

    def _step_back(self) -> None:
        if self._running is not None:
            self._running.step_back()

    def _kill(self) -> None:
        if self._running is not None:
            self._running.kill()

    def _ended(self, intake: Intake, code: int, trouble: OSError | None) -> None:
        """Settle what one pass gave. Called by the thread that drained it."""
        if self._is_stopped:
            return
        if intake.is_wrong and self.error is None:
            self._start_again()
            return
        self.facts = replace(intake.facts, is_cut=intake.facts.is_cut or code != 0)
        self.error = self.error or self._judge(intake, code, trouble)
        if self.error is None and code == 0:
            self.error = self._finish()
        if self.error is not None:
            self._drop_blob()
        self.is_done = True

    def _start_again(self) -> None:
        """Read once more with what the first frame taught."""
        self._drop_blob()
        try:
            self._start()
        except OSError as trouble:
            self.error, self.is_done = self._disk_trouble(trouble), True
        if self._is_stopped:
            self._kill()

    def _judge(self, intake: Intake, code: int, trouble: OSError | None) -> ClipError | None:
        """Return what makes this pass unusable, None when its frames can be used."""
        name, n_previews = self.header.name, len(self._blob or ())
        if trouble is not None:
            return self._disk_trouble(trouble)
        if len(self) == 0 and self.part is not None and code == 0:
            return ClipUnreadable(
                f"“{name}” has no frames between {self.part.from_s:g} and {self.part.to_s:g} "
                "seconds. Choose another part."
            )
        if len(self) == 0:
            words, coding = intake.talk.last_words, self.header.coding
            return troubles.explain(self.header.path, code, words, coding=coding)
        if code == 0 and n_previews != len(self.stamps):
            return ClipUnreadable(
                f"“{name}” announces {len(self.stamps)} frames but gives {n_previews}: nobody "
                "can say which is which. Save it as MP4 (H.264) and open that copy."
            )
        return None

    def _finish(self) -> ClipError | None:
        """Write the index; return the trouble if the disk would not take it."""
        assert self._blob is not None
        try:
            self._blob.finish(self._to_note())
        except OSError as trouble:
            return self._disk_trouble(trouble)
        self._is_finished = True
        return None

    def _drop_blob(self) -> None:
        """Close the file; remove it unless it is whole."""
        blob, self._blob = self._blob, None
        if blob is not None:
            blob.close()
            if not self._is_finished or self._is_damaged:
                with contextlib.suppress(OSError):  # of another program that has it open
                    blob.path.unlink(missing_ok=True)

    def _too_much(self) -> ClipError:
        limit = _megabytes(self._cache.limit_bytes)
        return ClipError(
            f"“{self.header.name}” holds more frames than the {limit} set aside for prepared "
            "pictures can take. Choose a part of the clip: the two or three seconds that count."
        )

    def _disk_trouble(self, trouble: OSError) -> ClipError:
        name, folder = self.header.name, self._cache.folder
        if trouble.errno == errno.EFBIG:
            return self._too_much()
        if disk.is_full(trouble):
            return ClipError(
                f"The disk of {folder} is full, so “{name}” could not be prepared. Free some "
                "space and open the clip again; nothing was left behind."
            )
        if isinstance(trouble, FileNotFoundError) and not disk.is_too_long(trouble):
            return ClipUnreadable(
                f"“{name}” is not there any more. Was it moved, or is its drive unplugged?"
            )
        return ClipError(
            f"“{name}” could not be prepared: {disk.reason(trouble)}. Check the disk of {folder} "
            "and open the clip again."
        )


def n_threads() -> int:
    """Return how many threads decode: one processor stays free for the window."""
    return max(1, min(MOST_THREADS, (os.cpu_count() or 2) - 1))


def _megabytes(n_bytes: float) -> str:
    return f"{n_bytes / 1e6:.0f} MB" if n_bytes < 2e9 else f"{n_bytes / 1e9:.1f} GB"
