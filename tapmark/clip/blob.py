"""One file that holds all previews of a clip: JPEGs one behind the other, then an index.

A frame is found by its number alone and read in one go, so a random jump costs no more than a
step. The index comes last, with its checksum: a file without it is unfinished, one with another
checksum is damaged, and neither is ever taken for a whole one. It holds a checksum of each frame
too, asked whenever one is read: a JPEG with a wrong bit often still decodes, to another frame.
"""

import errno
import json
import os
import struct
import zlib
from array import array
from hashlib import sha256
from io import BufferedWriter
from pathlib import Path
from threading import Lock
from typing import Any

from tapmark import disk

FOOTER = struct.Struct("<Q32s8s")  # size and SHA-256 of the index, sign
SIGN = b"tapmark3"
JPEG_END = b"\xff\xd9"
PNG_END = b"IEND\xaeB`\x82"


class Blob:
    """The growing or finished file. One thread appends, any thread reads."""

    def __init__(
        self,
        path: Path,
        ends: "array[int]",
        sums: "array[int]",
        writer: BufferedWriter | None = None,
    ) -> None:
        """path: an existing file; ends, sums: where each frame ends, in bytes, and its CRC-32."""
        self.path = path
        self._ends, self._sums = ends, sums
        self._writer = writer
        self._alone = Lock()
        with disk.opened(path, follow=False) as file:
            self._reader = os.dup(file.fileno())

    def __len__(self) -> int:
        return len(self._ends)

    @property
    def n_bytes(self) -> int:
        return self._ends[-1] if self._ends else 0

    def append(self, jpeg: bytes) -> None:
        """Add a frame. Raises OSError when the disk is full."""
        self._write(jpeg)
        self._sums.append(zlib.crc32(jpeg))
        self._ends.append(self.n_bytes + len(jpeg))

    def finish(self, facts: dict[str, Any]) -> None:
        """Write the index: from now on the file counts as whole. Raises OSError."""
        index = json.dumps(
            {"ends": self._ends.tolist(), "sums": self._sums.tolist(), "facts": facts}
        ).encode("ascii")
        self._write(index + FOOTER.pack(len(index), sha256(index).digest(), SIGN))
        if self._writer is not None:
            self._writer.close()

    def _write(self, data: bytes) -> None:
        if self._writer is None:
            raise ValueError("a finished blob does not grow")
        self._writer.write(data)
        self._writer.flush()

    def read(self, i: int) -> bytes:
        """Return the bytes of frame i. Raises OSError when the file has gone or is damaged."""
        start = self._ends[i - 1] if i else 0
        data = self._read_at(start, self._ends[i] - start)
        if zlib.crc32(data) != self._sums[i]:
            raise OSError(errno.EIO, "the checksum is another one", str(self.path))
        return data

    def _read_at(self, start: int, size: int) -> bytes:
        if hasattr(os, "pread"):  # not on Windows
            return os.pread(self._reader, size, start)
        with self._alone:  # or the position that two threads share would be that of the other
            os.lseek(self._reader, start, os.SEEK_SET)
            return os.read(self._reader, size)

    def close(self) -> None:
        if self._reader >= 0:
            os.close(self._reader)
            self._reader = -1
        if self._writer is not None:
            self._writer.close()


def start_blob(path: Path) -> Blob:
    """Return an empty blob in a new file. Raises FileExistsError, OSError."""
    return Blob(path, array("Q"), array("L"), path.open("xb"))


def open_blob(path: Path) -> tuple[Blob, dict[str, Any]] | None:
    """Return a finished blob and what was noted with it; None for an unfinished or damaged file."""
    try:
        with disk.opened(path, follow=False) as file:
            size = file.seek(0, os.SEEK_END)
            if size < FOOTER.size:
                return None
            file.seek(size - FOOTER.size)
            index_size, digest, sign = FOOTER.unpack(file.read(FOOTER.size))
            if sign != SIGN or index_size > size - FOOTER.size:
                return None
            file.seek(size - FOOTER.size - index_size)
            packed = file.read(index_size)
        if sha256(packed).digest() != digest:
            return None
        index = json.loads(packed)
        ends, sums = array("Q", index["ends"]), array("L", index["sums"])
        if (
            not ends
            or len(sums) != len(ends)
            or list(ends) != sorted(ends)
            or ends[-1] != size - FOOTER.size - index_size
        ):
            return None
        return Blob(path, ends, sums), index["facts"]
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None


class Splitter:
    """Cuts a stream of frames at the mark that ends each of them.

    Inside a JPEG its end mark cannot occur; inside a PNG the eight bytes of its last chunk do not.
    """

    def __init__(self, end: bytes = JPEG_END) -> None:
        self._end = end
        self._rest = bytearray()

    def feed(self, chunk: bytes) -> list[bytes]:
        """Return the frames that `chunk` completes, in order."""
        looked_at = max(0, len(self._rest) - len(self._end) + 1)
        self._rest += chunk
        pictures = []
        start = 0
        while (at := self._rest.find(self._end, max(start, looked_at))) >= 0:
            pictures.append(bytes(self._rest[start : at + len(self._end)]))
            start = at + len(self._end)
        del self._rest[:start]
        return pictures
