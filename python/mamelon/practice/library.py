"""A practice's cases in a folder, with an index of them.

`cases/ID.zip` are the cases, each with its record; they alone count. `index.sqlite` says what is in
them, so that 100 000 are listed and learnt from at once, and can be made from them again at any
time. Every write holds one lock: first it notes in the index which case it is about to write, then
it replaces that case's file whole, then it indexes it; so after a kill at any moment the next to
open the folder takes up what was noted, and no case is lost. Nothing leaves the machine. Nothing is
encrypted: keep the folder on an encrypted disk.
"""

from __future__ import annotations

import contextlib
import datetime
import fcntl
import gc
import itertools
import os
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from mamelon._core import ArgumentError, DataError, IoError, de00, sha256_hex
from mamelon.practice import document
from mamelon.practice.document import Record
from mamelon.practice.learning import MOST_LAYERS, Evidence, Lot, Rows, learn
from mamelon.practice.linear import WAYS, Floats

_BUSY_S = 60.0

# Each step brings the index from one version to the next.
_MIGRATIONS = (
    """
    CREATE TABLE pending (id TEXT PRIMARY KEY);
    CREATE TABLE name (number INTEGER PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL,
                       lot TEXT NOT NULL, UNIQUE (kind, name, lot));
    CREATE TABLE kept (id TEXT PRIMARY KEY, content TEXT NOT NULL, person TEXT NOT NULL,
                       tooth INTEGER NOT NULL, entered TEXT NOT NULL, operator TEXT NOT NULL,
                       device TEXT NOT NULL, light TEXT NOT NULL, planned TEXT,
                       outcomes INTEGER NOT NULL, latest TEXT NOT NULL, achieved REAL);
    CREATE INDEX kept_person ON kept (person);
    CREATE INDEX kept_content ON kept (content);
    CREATE INDEX kept_latest ON kept (latest DESC, id);
    CREATE TABLE outcome (id TEXT NOT NULL, place INTEGER NOT NULL, date TEXT NOT NULL,
                          operator INTEGER NOT NULL, device INTEGER NOT NULL,
                          paste1 INTEGER NOT NULL, paste2 INTEGER NOT NULL,
                          paste3 INTEGER NOT NULL, numbers BLOB NOT NULL,
                          PRIMARY KEY (id, place)) WITHOUT ROWID;
    """,
    """
    CREATE TABLE visit (id TEXT NOT NULL, date TEXT NOT NULL, tooth INTEGER NOT NULL,
                        reference INTEGER NOT NULL);
    CREATE INDEX visit_id ON visit (id);
    """,
)
VERSION = len(_MIGRATIONS)
_NUMBERS = 3 + 9 + 9 + 9 + MOST_LAYERS * 3 * WAYS + MOST_LAYERS * 3


class Listed(NamedTuple):
    """One case as the index knows it; `achieved` is the last outcome's ΔE00 to the target."""

    id: str
    person: str
    tooth: int
    entered: str
    operator: str
    device: str
    light: str
    planned: str | None
    outcomes: int
    latest: str
    achieved: float | None


@contextlib.contextmanager
def _no_collection() -> Iterator[None]:
    """Keeps the collector from going through all that is being read, again and again."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _said(path: Path, error: sqlite3.Error) -> Exception:
    text = str(error)
    if "full" in text or "I/O" in text:
        return IoError(f"{path}: the disk is full or fails ({text}); nothing of before is lost")
    if "readonly" in text or "unable to open" in text:
        return IoError(f"{path}: cannot be written ({text})")
    if "locked" in text:
        return IoError(f"{path}: another program has held it for {_BUSY_S:.0f} s; try again")
    return DataError(
        f"{path}: is damaged or no index ({text}); make it again with mamelon case rebuild"
    )


class Library:
    """A practice's folder. Use as a context manager; `create` makes one that is not there."""

    def __init__(self, folder: str | Path, *, create: bool = False) -> None:
        self._folder = Path(folder)
        self._cases = self._folder / "cases"
        self._index = self._folder / "index.sqlite"
        if create:
            try:
                self._cases.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise IoError(f"{self._folder}: cannot be made: {error.strerror}") from None
        elif not self._cases.is_dir():
            raise IoError(
                f"{self._folder}: is no practice's folder (it has no folder cases); "
                "mamelon case add makes one"
            )
        with self._errors():
            self._open()

    def __enter__(self) -> Library:
        return self

    def __exit__(self, *_: object) -> None:
        self._data.close()

    @contextlib.contextmanager
    def _errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            raise _said(self._index, error) from None

    def _open(self) -> None:
        self._data = sqlite3.connect(self._index, timeout=_BUSY_S, isolation_level=None)
        self._data.execute("PRAGMA journal_mode=WAL")
        self._data.execute("PRAGMA synchronous=FULL")
        self._data.execute("PRAGMA secure_delete=ON")
        found = int(self._data.execute("PRAGMA user_version").fetchone()[0])
        if found > VERSION:
            raise DataError(
                f"{self._index}: was written by a newer mamelon (index version {found}; this one "
                f"knows {VERSION}): install the newer one"
            )
        unindexed = found == 0 and any(self._cases.iterdir())
        pending = found > 0 and self._data.execute("SELECT 1 FROM pending LIMIT 1").fetchone()
        if found < VERSION or pending:
            with self._lock():
                self._migrate()
                self._take_up()
                if 0 < found < VERSION or unindexed:
                    self._index_all()

    def _migrate(self) -> None:
        # Another may have done it while this one waited for the lock.
        found = int(self._data.execute("PRAGMA user_version").fetchone()[0])
        for number in range(found, VERSION):
            self._data.executescript(
                f"BEGIN IMMEDIATE; {_MIGRATIONS[number]} PRAGMA user_version={number + 1}; COMMIT;"
            )

    def _take_up(self) -> None:
        for (name,) in self._data.execute("SELECT id FROM pending").fetchall():
            file = self._file(name)
            record = document.read_record(file) if file.exists() else None
            with self._transaction():
                self._forget(name)
                if record is not None:
                    self._note(record, file)
                self._data.execute("DELETE FROM pending WHERE id = ?", (name,))

    @contextlib.contextmanager
    def _lock(self) -> Iterator[None]:
        try:
            handle = os.open(self._folder / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
        except OSError as error:
            raise IoError(f"{self._folder}: cannot be written: {error.strerror}") from None
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
            yield
        finally:
            os.close(handle)

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._data.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._data.execute("ROLLBACK")
            raise
        self._data.execute("COMMIT")

    def _file(self, name: str) -> Path:
        return self._cases / f"{name}.zip"

    # --- Writing ---

    def today(self, given: str | None) -> str:
        """The given date, or today's.

        ArgumentError where the given one lies years ahead, a slip that would make every later entry
        look as if the clock were set back, or where today's lies before the last entry.
        """
        today = datetime.date.today().isoformat()
        if given is not None:
            if int(document.day(given, "the date")[:4]) > int(today[:4]) + 5:
                raise ArgumentError(f"the date {given} lies years ahead: the clock says {today}")
            return given
        with self._errors():
            (last,) = self._data.execute("SELECT max(latest) FROM kept").fetchone()
        if last is not None and today < last:
            raise ArgumentError(
                f"the clock says {today}, but the practice has an entry of {last}: set the clock, "
                "or give the date"
            )
        return today

    def put(
        self, record: Record, parts: Mapping[str, bytes],
        photos: Mapping[str, bytes] | None = None, *, new: bool = False,
    ) -> None:  # fmt: skip
        """Keeps a case: `parts` of its file as they are, with this record and further photos.

        With `new` an ArgumentError says where the same case of the same tooth is kept already.
        """
        with self._errors(), self._lock():
            self._take_up()
            if new:
                self._refuse_known(record, parts)
            with self._transaction():
                self._data.execute("INSERT OR REPLACE INTO pending VALUES (?)", (record.id,))
            document.write_record(self._file(record.id), parts, record, photos)
            with self._transaction():
                self._forget(record.id)
                self._note(record, self._file(record.id), _content(parts))
                self._data.execute("DELETE FROM pending WHERE id = ?", (record.id,))

    def change(self, name: str, change: Any, photos: Mapping[str, bytes] | None = None) -> Record:
        """Replaces a record by `change(record)`, with no other writer between; returns it."""
        with self._errors(), self._lock():
            self._take_up()
            parts = self.parts(name)
            record: Record = change(self.record(name))
            with self._transaction():
                self._data.execute("INSERT OR REPLACE INTO pending VALUES (?)", (name,))
            document.write_record(self._file(name), parts, record, photos)
            with self._transaction():
                self._forget(name)
                self._note(record, self._file(name), _content(parts))
                self._data.execute("DELETE FROM pending WHERE id = ?", (name,))
        return record

    def _refuse_known(self, record: Record, parts: Mapping[str, bytes]) -> None:
        found = self._data.execute(
            "SELECT id FROM kept WHERE id = ? OR (content = ? AND tooth = ?)",
            (record.id, _content(parts), record.tooth),
        ).fetchone()
        if found:
            raise ArgumentError(
                f"this case of tooth {record.tooth} is kept already, as {found[0]}; add its "
                "outcomes to that one"
            )

    def erase(self, person: str) -> int:
        """Removes every case of a person, photos and readings with it; returns how many.

        The index is written anew so that no page of it holds what was erased. What a later plan
        learns from is what is left; a plan of another person's keeps the averages it was made with.
        Raises ArgumentError where there is nothing of that person.
        """
        with self._errors(), self._lock():
            self._take_up()
            names = [
                name
                for (name,) in self._data.execute("SELECT id FROM kept WHERE person = ?", (person,))
            ]
            if not names:
                raise ArgumentError(f"nothing is kept of person {person!r}")
            # Noted as pending first: a kill between leaves them to be taken up as gone.
            with self._transaction():
                for name in names:
                    self._data.execute("INSERT OR REPLACE INTO pending VALUES (?)", (name,))
            for name in names:
                self._file(name).unlink(missing_ok=True)
            with self._transaction():
                for name in names:
                    self._forget(name)
                    self._data.execute("DELETE FROM pending WHERE id = ?", (name,))
            self._data.execute("VACUUM")
            self._data.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return len(names)

    def rebuild(self) -> int:
        """Makes the index again from the cases; returns how many there are."""
        with self._errors(), self._lock():
            return self._index_all()

    def _index_all(self) -> int:
        files = sorted(self._cases.glob("*.zip"))
        with self._transaction():
            for table in ("pending", "kept", "outcome", "visit", "name"):
                self._data.execute(f"DELETE FROM {table}")
            for file in files:
                record = document.read_record(file)
                if record is None or record.id != file.stem:
                    raise DataError(f"{file}: is no kept case: it has no record of that name")
                self._note(record, file)
        return len(files)

    def _forget(self, name: str) -> None:
        for table in ("kept", "outcome", "visit"):
            self._data.execute(f"DELETE FROM {table} WHERE id = ?", (name,))

    def _number(self, kind: str, name: str, lot: str = "") -> int:
        key = (kind, name, lot)
        self._data.execute("INSERT OR IGNORE INTO name (kind, name, lot) VALUES (?, ?, ?)", key)
        found = self._data.execute(
            "SELECT number FROM name WHERE kind = ? AND name = ? AND lot = ?", key
        ).fetchone()
        return int(found[0])

    def _note(self, record: Record, file: Path, content: str | None = None) -> None:
        if content is None:
            content = _content(document.read_parts(file))
        plan = record.plan
        dates = [
            record.entered,
            *(o.date for o in record.outcomes),
            *(v.date for v in record.visits),
        ]
        achieved = None
        if plan is not None:
            dates.append(plan.date)
            if record.outcomes:
                achieved = float(de00(plan.target.lab, record.outcomes[-1].seen.lab))
        self._data.execute(
            "INSERT INTO kept VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                record.id, content, record.person, record.tooth, record.entered, record.operator,
                plan.target.device if plan else "", plan.target.light if plan else "",
                plan.date if plan else None, len(record.outcomes), max(dates), achieved,
            ),
        )  # fmt: skip
        for visit in record.visits:
            self._data.executemany(
                "INSERT INTO visit VALUES (?, ?, ?, ?)",
                [(record.id, visit.date, one.tooth, one.reference) for one in visit.readings],
            )
        if plan is None:
            return
        for place, outcome in enumerate(record.outcomes):
            if not outcome.teaches:
                continue
            pastes = [self._number("paste", layer.paste, layer.lot) for layer in plan.layers]
            pastes += [-1] * (MOST_LAYERS - len(pastes))
            self._data.execute(
                "INSERT INTO outcome VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    record.id, place, outcome.date, self._number("operator", record.operator),
                    self._number("device", outcome.seen.device), *pastes,
                    _packed(plan, outcome).tobytes(),
                ),
            )  # fmt: skip

    # --- Reading ---

    def file(self, name: str) -> Path:
        """Where a kept case's file stands; ArgumentError where there is none of that name."""
        file = self._file(name)
        if "/" in name or not file.exists():
            raise ArgumentError(f"no case {name!r} is kept in {self._folder}")
        return file

    def parts(self, name: str) -> dict[str, bytes]:
        """All parts of a kept case's file."""
        return document.read_parts(self.file(name))

    def record(self, name: str) -> Record:
        """The record of a kept case; ArgumentError where there is none of that name."""
        file = self.file(name)
        record = document.read_record(file)
        if record is None:
            raise DataError(f"{file}: has lost its record")
        return record

    def cases(self, person: str | None = None, limit: int | None = None) -> list[Listed]:
        """All cases, or those of one person, the latest first."""
        columns = (
            "id, person, tooth, entered, operator, device, light, planned, outcomes, latest, "
            "achieved"
        )
        where = "" if person is None else " WHERE person = ?"
        words: list[object] = [] if person is None else [person]
        if limit is not None:
            order, words = " ORDER BY latest DESC, id LIMIT ?", [*words, limit]
        else:
            order = ""
        with self._errors(), _no_collection():
            found = self._data.execute(f"SELECT {columns} FROM kept{where}{order}", words)
            listed = list(map(Listed._make, found))
            if limit is None:
                # Quicker here than there.
                listed.sort(key=attrgetter("id"))
                listed.sort(key=attrgetter("latest"), reverse=True)
        return listed

    def records(self) -> Iterator[Record]:
        """Every record, by the order of its id."""
        with self._errors():
            names = self._data.execute("SELECT id FROM kept ORDER BY id").fetchall()
        for (name,) in names:
            yield self.record(name)

    def rows(
        self, pastes: Sequence[Lot] = (), operators: Sequence[str] = (),
        devices: Sequence[str] = (), without: str = "",
    ) -> Rows:  # fmt: skip
        """All outcomes that teach, and these names whether there is an outcome of them or not.

        `without` leaves out one case: what the others say of it.
        """
        with self._errors():
            named = self._data.execute("SELECT number, kind, name, lot FROM name").fetchall()
            found = self._data.execute(
                "SELECT operator, device, paste1, paste2, paste3, numbers FROM outcome "
                "WHERE id <> ? ORDER BY id, place",
                (without,),
            ).fetchall()
        numbers = np.array([row[:5] for row in found], dtype=np.int64).reshape(-1, 5)
        used = set(np.unique(numbers).tolist())
        lots: list[Lot] = []
        own: dict[str, list[str]] = {"operator": [], "device": []}
        place = np.full(max([n for n, *_ in named], default=0) + 2, -1)
        # By name, so that the order of entry changes nothing.
        for number, kind, name, lot in sorted(named, key=lambda row: row[1:]):
            if number not in used:
                continue
            if kind == "paste":
                place[number] = len(lots)
                lots.append((name, lot))
            else:
                place[number] = len(own[kind])
                own[kind].append(name)
        for extra in pastes:
            if extra not in lots:
                lots.append(extra)
        for kind, given in (("operator", operators), ("device", devices)):
            own[kind].extend(name for name in dict.fromkeys(given) if name not in own[kind])
        packed = np.frombuffer(b"".join(row[5] for row in found)).reshape(-1, _NUMBERS)
        return _unpacked(
            packed, place[numbers], tuple(lots), tuple(own["operator"]), tuple(own["device"])
        )

    def evidence(
        self, pastes: Sequence[Lot] = (), operator: str | None = None, device: str | None = None,
        without: str = "",
    ) -> Evidence:  # fmt: skip
        """What all outcomes teach, of these pastes with their lots, operator and device as well."""
        operators = [] if operator is None else [operator]
        devices = [] if device is None else [device]
        return learn(self.rows(pastes, operators, devices, without))


def _content(parts: Mapping[str, bytes]) -> str:
    """SHA-256 of what was given, whatever was noted of it since."""
    own = sorted(
        f"{name} {sha256_hex(content)}"
        for name, content in parts.items()
        if name != document.PART and not name.startswith("files/")
    )
    return sha256_hex("\n".join(own).encode())


def _packed(plan: document.Stated, outcome: document.Outcome) -> Floats:
    known = plan.prediction
    by_paste = np.zeros((MOST_LAYERS, 3, WAYS))
    by_thickness = np.zeros((MOST_LAYERS, 3))
    by_paste[: len(known.by_paste)] = known.by_paste
    by_thickness[: len(known.by_thickness)] = known.by_thickness
    noise = np.array(outcome.seen.random) + np.array(known.floor)
    return np.concatenate(
        [
            np.array(outcome.seen.lab) - np.array(known.lab), noise.ravel(),
            np.array(known.unit).ravel(), np.array(outcome.seen.shared).ravel(),
            by_paste.ravel(), by_thickness.ravel(),
        ]
    )  # fmt: skip


def _unpacked(
    packed: Floats, place: Any, pastes: tuple[Lot, ...], operators: tuple[str, ...],
    devices: tuple[str, ...],
) -> Rows:  # fmt: skip
    n = len(packed)
    ends = np.cumsum([0, 3, 9, 9, 9, MOST_LAYERS * 3 * WAYS, MOST_LAYERS * 3])
    part = [packed[:, a:b] for a, b in itertools.pairwise(ends)]
    return Rows(
        residual=part[0].copy(),
        noise=part[1].reshape(n, 3, 3).copy(),
        unit=part[2].reshape(n, 3, 3).copy(),
        device_shared=part[3].reshape(n, 3, 3).copy(),
        by_paste=part[4].reshape(n, MOST_LAYERS, 3, WAYS).copy(),
        by_thickness=part[5].reshape(n, MOST_LAYERS, 3).copy(),
        operator=place[:, 0].copy(),
        device=place[:, 1].copy(),
        paste=place[:, 2:].copy(),
        pastes=pastes,
        operators=operators,
        devices=devices,
    )
