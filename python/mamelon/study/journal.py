"""The append-only journal that makes a study resumable.

One line an item, written whole by a single write to the operating system. After a kill at any
moment the file is a run of whole lines and at most one torn line at its end, which is cut off.
"""

from __future__ import annotations

import fcntl
import json
import os
import time
from collections.abc import Sequence
from pathlib import Path

from mamelon._core import ArgumentError, DataError, IoError

Row = tuple[str, ...]


class Journal:
    """Rows of finished items by their key. Use as a context manager."""

    def __init__(self, file: Path, settings_digest: str, resume: bool) -> None:
        self._file = file
        self._digest = settings_digest
        self._resume = resume
        self._handle = -1
        self._synced = 0.0
        self.done: dict[str, list[Row]] = {}

    def __enter__(self) -> Journal:
        try:
            self._handle = os.open(self._file, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o644)
        except OSError as error:
            raise IoError(f"{self._file}: cannot open: {error.strerror}") from None
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if not self._resume:
                os.ftruncate(self._handle, 0)
            self._load()
        except BlockingIOError:
            os.close(self._handle)
            raise ArgumentError(f"{self._file}: another study is writing this journal") from None
        except BaseException:
            os.close(self._handle)
            raise
        return self

    def __exit__(self, *_: object) -> None:
        os.fsync(self._handle)
        os.close(self._handle)

    def _load(self) -> None:
        with open(os.dup(self._handle), "rb") as stream:  # noqa: PTH123
            stream.seek(0)
            whole = 0
            for number, line in enumerate(stream):
                if not line.endswith(b"\n"):
                    break
                self._take(number, line)
                whole += len(line)
        os.ftruncate(self._handle, whole)
        if whole == 0:
            self._append({"mamelon-study-journal": 1, "settings": self._digest})

    def _take(self, number: int, line: bytes) -> None:
        try:
            entry = json.loads(line)
            if number == 0:
                found = entry["settings"]
            else:
                self.done[entry["key"]] = [tuple(row) for row in entry["rows"]]
        except (ValueError, KeyError, TypeError):
            raise DataError(
                f"{self._file}, line {number + 1}: is not a line of a study journal"
            ) from None
        if number == 0 and found != self._digest:
            raise DataError(
                f"{self._file}: was made with other settings or another version; "
                "remove it, choose another output, or do not resume"
            )

    def add(self, key: str, rows: Sequence[Row]) -> None:
        """Notes a finished item."""
        self.done[key] = list(rows)
        self._append({"key": key, "rows": rows})

    def _append(self, entry: dict[str, object]) -> None:
        line = (json.dumps(entry) + "\n").encode()
        try:
            written = os.write(self._handle, line)
        except OSError as error:
            raise IoError(f"{self._file}: cannot write: {error.strerror}") from None
        if written != len(line):
            raise IoError(f"{self._file}: the disk is full")
        # A kill loses nothing that was written; a power cut at most the last second.
        now = time.monotonic()
        if now - self._synced > 1:
            os.fsync(self._handle)
            self._synced = now
