"""The verb `mamelon follow`: visits of a kept case, and what changed."""

from __future__ import annotations

import argparse
import dataclasses
from typing import Any

from mamelon import _core
from mamelon._core import ArgumentError
from mamelon.practice import document, follow_up
from mamelon.practice.case_verbs import numbers, pairs
from mamelon.practice.document import Record, Visit, VisitReading
from mamelon.practice.follow_up import Change
from mamelon.practice.library import Library


def add_to(verbs: Any) -> None:
    """Adds the verb."""
    made = verbs.add_parser("follow", help="The same tooth over visits: what changed, and whether "
                            "it can be seen")  # fmt: skip
    made.add_argument("practice", metavar="PRACTICE")
    made.add_argument("case", metavar="CASE")
    made.add_argument("--add")
    made.add_argument("--reference", default="")
    made.add_argument("--translucency", action="append", default=[])
    made.add_argument("--camera", default="")
    made.add_argument("--treatment", default="")
    made.add_argument("--date")
    made.add_argument("--plot")
    made.add_argument("--json", action="store_true")
    made.set_defaults(run=_follow)


def _teeth(text: str) -> set[int]:
    try:
        return {document.check_tooth(int(part)) for part in text.split(",") if part}
    except ValueError:
        raise ArgumentError(f"--reference must be teeth like 12,22, not {text!r}") from None


def _visit(given: argparse.Namespace, date: str) -> Visit:
    references = _teeth(given.reference)
    readings: dict[int, list[_core.Reading]] = {}
    for reading in _core.read_measurements(given.add, "D65/2"):
        try:
            tooth = int(reading.label)
        except ValueError:
            raise ArgumentError(
                f"{given.add}: the label of every reading must be its tooth, such as 21, not "
                f"{reading.label!r}"
            ) from None
        readings.setdefault(document.check_tooth(tooth), []).append(reading)
    missing = sorted(references - set(readings))
    if missing:
        raise ArgumentError(f"{given.add}: has no reading of the reference tooth {missing[0]}")
    clearness = {
        document.check_tooth(int(numbers(tooth, "--translucency TOOTH=TP", (1,))[0])): numbers(
            value, "--translucency TOOTH=TP", (1,)
        )[0]
        for tooth, value in pairs(given.translucency, "--translucency").items()
    }
    unread = sorted(set(clearness) - set(readings))
    if unread:
        raise ArgumentError(f"{given.add}: has no reading of tooth {unread[0]}")
    found = []
    for tooth, own in sorted(readings.items()):
        one = _core.combine(own)
        found.append(
            VisitReading(
                tooth,
                document.seen_of(one, given.camera or "instrument"),
                tooth in references,
                clearness.get(tooth),
            )
        )
    return Visit(date, tuple(found), given.treatment)


def _with_visit(record: Record, visit: Visit) -> Record:
    if record.visits and visit.date <= record.visits[-1].date:
        raise ArgumentError(
            f"the visit of {visit.date} must come after that of {record.visits[-1].date}"
        )
    return dataclasses.replace(record, visits=(*record.visits, visit))


def _follow(given: argparse.Namespace) -> tuple[str, Any, int]:
    with Library(given.practice) as library:
        record = library.record(given.case)
        if given.add is not None:
            visit = _visit(given, library.today(given.date))
            record = library.change(given.case, lambda now: _with_visit(now, visit))
    if len(record.visits) < 2:
        text = f"{len(record.visits)} visit(s) kept; changes are shown from the second on"
        return text, {"visits": len(record.visits), "changes": []}, 0
    found = follow_up.changes(record.visits)
    if given.plot is not None:
        from mamelon.practice.figures import saved

        saved(lambda ax: follow_up.follow_up_axes(found, ax=ax), given.plot)
    body = {"visits": len(record.visits), "changes": [dataclasses.asdict(one) for one in found]}
    return "\n".join(_line(one) for one in found), body, 0


def _line(one: Change) -> str:
    colour = one.colour
    camera = (
        f"camera's shift taken off by {one.references} reference teeth"
        if one.references
        else "no reference tooth tells the camera's shift"
    )
    return (
        f"{one.date} tooth {one.tooth}: ΔE00 {colour.de00:.2f} (95 %: {colour.low:.2f}–"
        f"{colour.high:.2f}), {colour.grade.replace('_', ' ')}; {colour.words}; whiteness "
        f"{one.whiteness.estimate:+.1f} ({one.whiteness.low:+.1f} to {one.whiteness.high:+.1f}), "
        f"{one.whiteness_word}; "
        + (
            ""
            if one.translucency is None
            else f"translucency {one.translucency:+.1f}, {one.translucency_word}; "
        )
        + camera
    )
