"""The record of a case: what was planned, what came of it, and the visits since.

It stands as `record.json` in the case's own file, beside what was given and the photos; readers
that know nothing of it read the case as before. Values are checked as they are read: unknown keys,
wrong types and numbers that are not finite are errors that name their place. A newer minor version
is read and what it adds is kept out; a newer major one is refused.
"""

from __future__ import annotations

import dataclasses
import datetime
import io
import json
import math
import types
import typing
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from mamelon._core import (
    ArgumentError,
    DataError,
    IoError,
    Reading,
    sha256_hex,
    write_file_atomically,
)
from mamelon.practice.learning import Evidence
from mamelon.practice.linear import Prediction, rows
from mamelon.practice.planning import Statement

FORMAT = "mamelon-case-record"
VERSION = (1, 0)
PART = "record.json"
_PHOTOS = "files/"

T = TypeVar("T")
Matrix = tuple[tuple[float, ...], ...]
NOTHING: Matrix = ((0.0, 0.0, 0.0),) * 3


@dataclasses.dataclass(frozen=True)
class Seen:
    """A colour as a device read it: L*, a*, b*, and its random and shared covariance.

    `device` names the camera with its card, or the instrument; `light` is illuminant and observer.
    """

    lab: tuple[float, ...]
    random: Matrix = NOTHING
    shared: Matrix = NOTHING
    device: str = ""
    light: str = "D65/2"


@dataclasses.dataclass(frozen=True)
class PlacedLayer:
    """One layer as planned, from the floor outward, with the paste's lot where it is known."""

    paste: str
    thickness_mm: float
    lot: str = ""


@dataclasses.dataclass(frozen=True)
class Stated:
    """A plan as it was stated before it was carried out.

    `prediction` is as the pastes' document says, with derivatives; `stated` what was expected with
    all that was known on that day, and `evidence` that knowledge itself, so that the plan can be
    made again to the same bytes; `learnt` says whether it corrected the plan, and `told` is the
    sentence that the person was shown. `lots` are those in use, of pastes in the plan or not.
    """

    date: str
    zone: str
    layers: tuple[PlacedLayer, ...]
    target: Seen
    prediction: Prediction
    stated: Statement
    evidence: Evidence
    told: str = ""
    learnt: bool = False
    lots: dict[str, str] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass(frozen=True)
class Outcome:
    """What a try-in or a finished restoration looked like.

    `stage` is try_in or finished; `wet` whether tooth and restoration were wet, as saliva leaves
    them; `cured` whether the paste was cured; `photo` the SHA-256 of the photo it was read from.
    """

    date: str
    tooth: int
    stage: str
    seen: Seen
    wet: bool
    cured: bool
    photo: str = ""

    @property
    def teaches(self) -> bool:
        """Whether it says what a plan predicts: the cured colour of a tooth that is not dried."""
        return self.wet and self.cured


@dataclasses.dataclass(frozen=True)
class VisitReading:
    """One tooth at a visit; a `reference` tooth is one that nothing was done to."""

    tooth: int
    seen: Seen
    reference: bool = False
    translucency: float | None = None


@dataclasses.dataclass(frozen=True)
class Visit:
    """Readings of one day; `treatment` in words, such as the product-free "bleached at home"."""

    date: str
    readings: tuple[VisitReading, ...]
    treatment: str = ""


@dataclasses.dataclass(frozen=True)
class Record:
    """All that is kept of a case beside what was given.

    `id` names it for good; `person` is the practice's own code for the person, not a name;
    `tooth` is in two-digit notation (ISO 3950).
    """

    id: str
    person: str
    tooth: int
    entered: str
    operator: str = ""
    plan: Stated | None = None
    outcomes: tuple[Outcome, ...] = ()
    visits: tuple[Visit, ...] = ()


#: Standard deviations of L*, a*, b* of a reading that states none: a contact instrument placed anew
#: on a tooth (an assumption; state your own).
READING_SD = (0.3, 0.15, 0.25)


def seen_of(reading: Reading, device: str) -> Seen:
    """A library reading as a record keeps it; `READING_SD` stands in where it states no scatter."""
    value = reading.lab.value
    random = np.asarray(reading.lab.random)
    if not random.any():
        random = np.diag(np.square(READING_SD))
    return Seen(
        (value.l, value.a, value.b),
        rows(random),
        rows(np.asarray(reading.lab.shared)),
        device,
        str(reading.viewing),
    )


def day(text: str, where: str) -> str:
    """A date as YYYY-MM-DD; ArgumentError for anything else."""
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except (TypeError, ValueError):
        raise ArgumentError(f"{where} must be a date such as 2026-11-28, not {text!r}") from None


def check_tooth(number: int, where: str = "the tooth") -> int:
    """A tooth of two-digit notation (ISO 3950): permanent 11–48 or deciduous 51–85."""
    quadrant, place = divmod(number, 10)
    if not ((1 <= quadrant <= 4 and 1 <= place <= 8) or (5 <= quadrant <= 8 and 1 <= place <= 5)):
        raise ArgumentError(
            f"{where} must be a number of two-digit notation (ISO 3950), 11–48 or 51–85, "
            f"not {number}"
        )
    return number


def with_outcome(record: Record, outcome: Outcome) -> Record:
    """The record with one outcome more.

    Raises ArgumentError for an outcome without a plan, of another tooth, of before the plan, of
    another light, of an unknown stage, of a colour that no tooth has, or one that the record has.
    """
    if record.plan is None:
        raise ArgumentError(
            f"case {record.id} has no plan that an outcome could be compared with: plan it first "
            "(mamelon case plan)"
        )
    check_tooth(outcome.tooth, "the outcome's tooth")
    if outcome.tooth != record.tooth:
        raise ArgumentError(
            f"the outcome is of tooth {outcome.tooth}, but case {record.id} of tooth {record.tooth}"
        )
    day(outcome.date, "the outcome's date")
    if outcome.date < record.plan.date:
        raise ArgumentError(
            f"the outcome's date {outcome.date} lies before that of its plan, {record.plan.date}"
        )
    if outcome.seen.light != record.plan.target.light:
        raise ArgumentError(
            f"the outcome is for {outcome.seen.light}, but the plan for "
            f"{record.plan.target.light}: read it for the same illuminant and observer"
        )
    if outcome.stage not in ("try_in", "finished"):
        raise ArgumentError(f"an outcome's stage is try_in or finished, not {outcome.stage!r}")
    lightness, a, b = outcome.seen.lab
    if not (0 < lightness <= 100 and max(abs(a), abs(b)) <= 100):
        raise ArgumentError(
            f"the outcome reads L* {lightness:g}, a* {a:g}, b* {b:g}, which no tooth does: L* lies "
            "within 0–100, a* and b* within ±100"
        )
    if outcome in record.outcomes:
        raise ArgumentError(f"case {record.id} has this outcome already")
    return dataclasses.replace(record, outcomes=(*record.outcomes, outcome))


# --- JSON ---------------------------------------------------------------------------------------


def to_json(record: Record) -> str:
    """The document, numbers to 12 significant digits."""

    def plain(value: Any) -> Any:
        if isinstance(value, float):
            return float(f"{value:.12g}")
        if isinstance(value, dict):
            return {key: plain(own) for key, own in value.items()}
        if isinstance(value, list | tuple):
            return [plain(own) for own in value]
        return value

    document = {"format": FORMAT, "version": ".".join(map(str, VERSION))}
    document.update(plain(dataclasses.asdict(record)))
    return json.dumps(document, ensure_ascii=False, allow_nan=False) + "\n"


def parse_record(text: str, source: str) -> Record:
    """The inverse of `to_json`; DataError names `source` and the place of what is wrong."""
    try:
        document = json.loads(text)
    except ValueError as error:
        raise DataError(f"{source}: is no JSON: {error}") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise DataError(f"{source}: /format must be {FORMAT!r}")
    newer = check_version(document.get("version"), source)
    body = {key: own for key, own in document.items() if key not in ("format", "version")}
    record: Record = _value(Record, body, source, "", newer)
    try:
        check_tooth(record.tooth, f"{source}: /tooth")
    except ArgumentError as error:
        raise DataError(str(error)) from None
    return record


def check_version(version: Any, source: str) -> bool:
    """Whether the minor version is newer than ours; DataError for a newer major one."""
    try:
        major, minor = (int(part) for part in str(version).split("."))
    except ValueError:
        raise DataError(f"{source}: /version must be like '1.0', not {version!r}") from None
    if major > VERSION[0]:
        raise DataError(
            f"{source}: was written by a newer mamelon (record version {version}; this one reads "
            f"{VERSION[0]}.x): install the newer one"
        )
    return (major, minor) > VERSION


def _value(kind: Any, given: Any, source: str, path: str, newer: bool) -> Any:
    where = f"{source}: {path or '/'}"
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        inner = next(k for k in typing.get_args(kind) if k is not type(None))
        return None if given is None else _value(inner, given, source, path, newer)
    if dataclasses.is_dataclass(kind):
        return _fields(kind, given, source, path, newer)
    if origin is tuple:
        if not isinstance(given, list):
            raise DataError(f"{where} must be a list")
        kinds = typing.get_args(kind)
        if kinds[-1] is Ellipsis:
            kinds = (kinds[0],) * len(given)
        if len(kinds) != len(given):
            raise DataError(f"{where} must have {len(kinds)} values, not {len(given)}")
        return tuple(
            _value(k, own, source, f"{path}/{i}", newer)
            for i, (k, own) in enumerate(zip(kinds, given, strict=True))
        )
    if origin is dict:
        if not isinstance(given, dict):
            raise DataError(f"{where} must be an object")
        return {k: _value(str, v, source, f"{path}/{k}", newer) for k, v in given.items()}
    if kind is float and isinstance(given, int | float) and not isinstance(given, bool):
        if not math.isfinite(given):
            raise DataError(f"{where} must be a finite number")
        return float(given)
    if kind is int and isinstance(given, bool):
        raise DataError(f"{where} must be a whole number, not {given!r}")
    if not isinstance(given, kind) or kind is float:
        name = {float: "a number", int: "a whole number", str: "text", bool: "true or false"}[kind]
        raise DataError(f"{where} must be {name}, not {given!r:.60}")
    return given


def _fields(kind: Any, given: Any, source: str, path: str, newer: bool) -> Any:
    if not isinstance(given, dict):
        raise DataError(f"{source}: {path or '/'} must be an object")
    hints = typing.get_type_hints(kind)
    found = {}
    for one in dataclasses.fields(kind):
        if one.name in given:
            found[one.name] = _value(
                hints[one.name], given[one.name], source, f"{path}/{one.name}", newer
            )
        elif one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING:
            raise DataError(f"{source}: {path}/{one.name} is missing")
    unknown = sorted(set(given) - set(hints))
    if unknown and not newer:
        raise DataError(f"{source}: {path}/{unknown[0]} is not known")
    return kind(**found)


# --- The case's file ----------------------------------------------------------------------------


def read_parts(file: str | Path) -> dict[str, bytes]:
    """All parts of a case's file; IoError or DataError where it cannot be read."""
    path = Path(file)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise IoError(f"{path}: cannot read: {error.strerror}") from None
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return {name: archive.read(name) for name in archive.namelist()}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError):
        raise DataError(f"{path}: is no case's file (zip), or is damaged") from None


def read_record(file: str | Path) -> Record | None:
    """The record in a case's file; None where it has none."""
    path = Path(file)
    try:
        with zipfile.ZipFile(path) as archive:
            if PART not in archive.namelist():
                return None
            text = archive.read(PART)
    except OSError as error:
        raise IoError(f"{path}: cannot read: {error.strerror}") from None
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError):
        raise DataError(f"{path}: is no case's file (zip), or is damaged") from None
    try:
        return parse_record(text.decode(), f"{path.name}: {PART}")
    except UnicodeDecodeError:
        raise DataError(f"{path.name}: {PART} is not in UTF-8") from None


def zipped(parts: Mapping[str, bytes], record: Record, photos: Mapping[str, bytes]) -> bytes:
    """The case's file with this record and these further photos by their SHA-256.

    What was given stays as it is; the same parts give the same bytes.
    """
    whole = {name: own for name, own in parts.items() if name != PART}
    for photo in photos.values():
        whole[_PHOTOS + sha256_hex(photo)] = photo
    whole[PART] = to_json(record).encode()
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, own in whole.items():
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            archive.writestr(entry, own)
    return stream.getvalue()


def write_record(
    file: str | Path, parts: Mapping[str, bytes], record: Record,
    photos: Mapping[str, bytes] | None = None,
) -> None:  # fmt: skip
    """Writes the case's file whole or not at all. IoError where the disk is full or read-only."""
    write_file_atomically(str(file), zipped(parts, record, photos or {}))
