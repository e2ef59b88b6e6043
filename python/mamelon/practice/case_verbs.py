"""The verbs `mamelon case …`: words in, words or one JSON document out."""

from __future__ import annotations

import argparse
import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from mamelon import _core
from mamelon._core import ArgumentError, IoError
from mamelon.practice import calibration, casework, document, export, paper
from mamelon.practice.document import Outcome, Record, Seen
from mamelon.practice.learning import ENOUGH_CASES, Evidence
from mamelon.practice.library import Library
from mamelon.practice.outcome import Checked, Compared
from mamelon.practice.planning import Plans

Shown = tuple[str, Any, int]


def add_to(verbs: Any) -> None:
    """Adds every verb to the parsers of `case`."""

    def verb(name: str, run: Any, text: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = verbs.add_parser(name, help=text, description=text)
        made.add_argument("practice", metavar="PRACTICE", help="the practice's folder")
        made.add_argument("--json", action="store_true", help="one JSON document")
        made.set_defaults(run=run)
        return made

    add = verb("add", _add, "Plans a saved case with what the practice has learnt, and keeps it")
    add.add_argument("case", metavar="CASE")
    add.add_argument("--person", required=True)
    add.add_argument("--tooth", type=int)
    add.add_argument("--operator", default="")
    add.add_argument("--camera", default="")
    add.add_argument("--lot", action="append", default=[])
    add.add_argument("--layer", action="append", default=[])
    add.add_argument("--date")
    add.add_argument("--without-learning", action="store_true")
    _add_checks(verb)
    _add_tables(verb)


def _add_checks(verb: Callable[..., argparse.ArgumentParser]) -> None:
    again = verb("plan", _plan, "The plan of a kept case again, with what was known on its day")
    again.add_argument("case", metavar="CASE")
    check = verb("check", _check, "A try-in or finished restoration beside target and prediction")
    check.add_argument("case", metavar="CASE")
    check.add_argument("--tooth", type=int, required=True)
    check.add_argument("--stage", choices=("try_in", "finished"), required=True)
    check.add_argument("--surface", choices=("wet", "dry"), required=True)
    check.add_argument("--cured", choices=("yes", "no"), required=True)
    check.add_argument("--lab")
    check.add_argument("--photo")
    check.add_argument("--card")
    check.add_argument("--at")
    check.add_argument("--camera", default="")
    check.add_argument("--date")
    check.add_argument("--not-kept", action="store_true")


def _add_tables(verb: Callable[..., argparse.ArgumentParser]) -> None:
    cases = verb("list", _list, "The cases kept, the latest first")
    cases.add_argument("--person")
    cases.add_argument("--most", type=int, default=50)
    show = verb("show", _show, "All that is kept of one case")
    show.add_argument("case", metavar="CASE")
    table = verb("export", _export, "One table of all cases and outcomes")
    table.add_argument("--output", required=True)
    table.add_argument("--anonymised", action="store_true")
    table.add_argument("--plain-csv", action="store_true")
    erase = verb("erase", _erase, "Removes everything of one person")
    erase.add_argument("--person", required=True)
    erase.add_argument("--yes", action="store_true")
    verb("rebuild", _rebuild, "Makes the index again from the cases")
    held = verb("calibration", _calibration, "How often what was stated held")
    held.add_argument("--plot")
    verb("learned", _learned, "What the outcomes have taught so far")
    text = verb("paper", _paper, "What a paper has to say of how colour was measured")
    text.add_argument("case", metavar="CASE")
    for name in ("instrument", "geometry", "backing", "aperture"):
        text.add_argument(f"--{name}", default="")
    text.add_argument("--repeats")
    text.add_argument("--gingiva", action="store_true")


def pairs(given: list[str], option: str) -> dict[str, str]:
    """`name=value` words of an option that may stand several times."""
    found: dict[str, str] = {}
    for word in given:
        name, equals, value = word.partition("=")
        if not equals or not name or not value:
            raise ArgumentError(f"{option} must be like NAME=VALUE, not {word!r}")
        if name in found:
            raise ArgumentError(f"{option} gives {name!r} twice")
        found[name] = value
    return found


def numbers(text: str, option: str, counts: tuple[int, ...]) -> list[float]:
    """Finite numbers with commas between them."""
    try:
        found = [float(part) for part in text.split(",")]
    except ValueError:
        found = []
    if len(found) not in counts or not np.isfinite(found).all():
        wanted = " or ".join(str(count) for count in counts)
        raise ArgumentError(f"{option} must be {wanted} numbers with commas, not {text!r}")
    return found


def _stack(record: Record) -> str:
    assert record.plan is not None
    return ", ".join(
        f"{x.paste}{f' (lot {x.lot})' if x.lot else ''} {x.thickness_mm:.1f} mm"
        for x in record.plan.layers
    )


def _plan_lines(plans: Plans) -> list[str]:
    best = plans.stacks[0]
    lab = ", ".join(f"{x:.1f}" for x in best.colour.lab)
    return [
        f"expected L*, a*, b*: {lab}; ΔE00 to the target {best.de00:.2f}, {best.de00_rms:.2f} "
        f"on average over all that is not known, at most {best.de00_p95:.2f} in 95 of 100",
        plans.told,
    ]


def _plans_document(plans: Plans) -> dict[str, Any]:
    return {
        "told": plans.told,
        "evidence": plans.evidence,
        "plans": [
            {
                "layers": [
                    {"paste": x.paste, "thickness_mm": _short(x.thickness_mm)} for x in one.layers
                ],
                "lab": [_short(x) for x in one.colour.lab],
                "sd": [_short(x) for x in np.sqrt(np.diag(np.array(one.colour.covariance)))],
                "de00": _short(one.de00),
                "de00_expected": _short(one.de00_rms),
                "de00_p95": _short(one.de00_p95),
            }
            for one in plans.stacks
        ],
    }


def _short(value: float) -> float:
    return float(f"{float(value):.9g}")


def _add(given: argparse.Namespace) -> Shown:
    layers = None
    if given.layer:
        layers = []
        for word in given.layer:
            name, _, text = word.rpartition("=")
            layers.append((name, numbers(text, "--layer NAME=MM", (1,))[0]))
    with Library(given.practice, create=True) as library:
        record, plans = casework.add_case(
            library, given.case, person=given.person, tooth=given.tooth, operator=given.operator,
            camera=given.camera, lots=pairs(given.lot, "--lot"), date=given.date,
            use=not given.without_learning, layers=layers,
        )  # fmt: skip
    lines = [f"kept as {record.id}", f"planned: {_stack(record)}", *_plan_lines(plans)]
    return "\n".join(lines), {"case": record.id, **_plans_document(plans)}, 0


def _plan(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        plans = casework.plans_again(library, given.case)
    best = ", ".join(f"{x.paste} {x.thickness_mm:.1f} mm" for x in plans.stacks[0].layers)
    return "\n".join([best, *_plan_lines(plans)]), _plans_document(plans), 0


def _seen(given: argparse.Namespace, record: Record) -> tuple[Seen, dict[str, bytes]]:
    """The outcome's reading, by instrument or from a photo."""
    assert record.plan is not None
    light = record.plan.target.light
    if (given.lab is None) == (given.photo is None):
        raise ArgumentError("give the outcome as --lab L,a,b[,SDL,SDa,SDb] or as --photo")
    if given.lab is not None:
        values = numbers(given.lab, "--lab", (3, 6))
        sd = values[3:] or list(document.READING_SD)
        if min(sd) <= 0:
            raise ArgumentError(f"--lab: the standard deviations must be above 0, not {sd}")
        spread = tuple(tuple(sd[i] ** 2 * (i == j) for j in range(3)) for i in range(3))
        device = given.camera or record.plan.target.device
        return Seen(tuple(values[:3]), spread, document.NOTHING, device, light), {}
    if given.card is None:
        raise ArgumentError("--photo needs --card, the card that stands in it")
    hint = _core.ToothHint()
    if given.at is not None:
        x, y = numbers(given.at, "--at", (2,))
        hint = _core.ToothHint(point=(x, y))
    try:
        photo = Path(given.photo).read_bytes()
    except OSError as error:
        raise IoError(f"{given.photo}: cannot read: {error.strerror}") from None
    tooth = _core.CaseTooth(number=given.tooth, kind="restoration", at=hint)
    case = _core.Case(
        viewing=light,
        teeth=[tooth],
        photo=_core.CasePhoto(photo, Path(given.photo).name),
        card=_core.read_card(given.card),
    )
    reading = casework.reading_in(case, given.tooth, record.plan.zone)
    device = casework.device_of(case, given.camera)
    return document.seen_of(reading, device), {"photo": photo}


def _check(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        record = library.record(given.case)
        if record.plan is None:
            raise ArgumentError(f"case {record.id} has no plan to compare with")
        document.check_tooth(given.tooth, "--tooth")
        if given.tooth != record.tooth:
            raise ArgumentError(
                f"the outcome is of tooth {given.tooth}, but case {record.id} of tooth "
                f"{record.tooth}"
            )
        seen, photos = _seen(given, record)
        outcome = Outcome(
            library.today(given.date), given.tooth, given.stage, seen, given.surface == "wet",
            given.cured == "yes",
            _core.sha256_hex(photos["photo"]) if photos else "",
        )  # fmt: skip
        found = casework.check_outcome(
            library, given.case, outcome, keep=not given.not_kept, photos=photos
        )
    acceptable = found.to_target.de00 <= _core.threshold.acceptable_de00
    return _checked_text(found), dataclasses.asdict(found), 0 if acceptable else 1


def _compared(what: str, one: Compared) -> str:
    return (
        f"{what}: ΔE00 {one.de00:.2f} (95 %: {one.low:.2f}–{one.high:.2f}), "
        f"{one.grade.replace('_', ' ')}; {one.words}"
    )


def _checked_text(found: Checked) -> str:
    lines = [
        _compared("against the target", found.to_target),
        _compared("against the prediction", found.to_prediction),
    ]
    if found.is_more_than_chance:
        lines.append(f"more than chance (p = {found.p_value:.3g}); likeliest causes:")
        lines += [f"  {100 * one.chance:.0f} %  {one.words}" for one in found.causes[:4]]
    else:
        lines.append(f"no more than the prediction left open (p = {found.p_value:.2f})")
    lines.append(f"to do: {found.change}")
    lines += [f"mind: {text}" for text in found.cautions]
    return "\n".join(lines)


def _list(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        found = library.cases(given.person, given.most)
    lines = [
        f"{one.id}  {one.person}  tooth {one.tooth}  {one.latest}  "
        + (
            "no outcome"
            if one.achieved is None
            else f"{one.outcomes} outcome(s), last ΔE00 {one.achieved:.2f}"
        )
        for one in found
    ]
    return "\n".join(lines) or "no case", {"cases": [x._asdict() for x in found]}, 0


def _show(given: argparse.Namespace) -> Shown:
    import json

    with Library(given.practice) as library:
        record = library.record(given.case)
    lines = [f"{record.id}: person {record.person}, tooth {record.tooth}, {record.entered}"]
    if record.plan is not None:
        lines += [f"planned {record.plan.date}: {_stack(record)}", record.plan.told]
    for one in record.outcomes:
        lab = ", ".join(f"{x:.1f}" for x in one.seen.lab)
        state = f"{'wet' if one.wet else 'dry'}, {'cured' if one.cured else 'not cured'}"
        lines.append(f"{one.date} {one.stage.replace('_', '-')}: {lab} ({state})")
    lines += [f"{one.date} visit: {len(one.readings)} readings" for one in record.visits]
    return "\n".join(lines), json.loads(document.to_json(record)), 0


def _export(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        rows = export.rows_of(library.records(), anonymised=given.anonymised)
    export.write_table(given.output, rows, guard=not given.plain_csv)
    return f"{given.output}: {len(rows)} rows", {"output": given.output, "rows": len(rows)}, 0


def _erase(given: argparse.Namespace) -> Shown:
    if not given.yes:
        raise ArgumentError(
            f"erasing cannot be undone: say --yes to remove everything of person {given.person!r}"
        )
    with Library(given.practice) as library:
        count = library.erase(given.person)
    text = (
        f"{count} case(s) of {given.person} removed from this folder; copies and backups elsewhere "
        "are yours to remove"
    )
    return text, {"erased": count}, 0


def _rebuild(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        count = library.rebuild()
    return f"{count} cases", {"cases": count}, 0


def _calibration(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        placed = calibration.place_outcomes(library.records())
    found = calibration.levels_held(placed)
    if given.plot is not None:
        calibration.save_plot(placed, given.plot)
    lines = [
        f"{' '.join(filter(None, (one.group, one.name)))}: stated {100 * one.level:.0f} %, held "
        f"{one.within} of {one.cases} = {100 * one.share.estimate:.0f} % "
        f"({100 * one.share.low:.0f}–{100 * one.share.high:.0f})"
        for one in found
    ]
    whole = all(one.is_as_stated for one in found if one.group == "all")
    return "\n".join(lines), {"held": [dataclasses.asdict(x) for x in found]}, 0 if whole else 1


def _learned(given: argparse.Namespace) -> Shown:
    with Library(given.practice) as library:
        found = library.evidence()
    lines = [
        f"{found.cases} outcomes, {found.counted:.1f} of them not taken for wrong; "
        + (
            "plans are corrected"
            if found.is_enough
            else f"plans are corrected from {ENOUGH_CASES} on"
        )
    ]
    lines += _learned_lines(found)
    return "\n".join(lines), dataclasses.asdict(found), 0


def _learned_lines(found: Evidence) -> list[str]:
    sd = np.sqrt(np.diag(np.array(found.covariance).reshape(len(found.mean), -1)))
    lines = []
    for name, lot in found.pastes:
        size = float(np.linalg.norm(found.of_paste((name, lot))[:3]))
        place = 4 * found.pastes.index((name, lot))
        open_part = float(np.linalg.norm(sd[place : place + 3]))
        label = f"{name}{f' (lot {lot})' if lot else ''}"
        lines.append(f"paste {label}: off by ΔE00 {size:.2f} (sd {open_part:.2f})")
    first = 4 * len(found.pastes)
    for i, name in enumerate(found.operators):
        bias = found.mean[first + i]
        lines.append(
            f"operator {name or '(unnamed)'}: layers {abs(bias):.2f} mm "
            f"{'thicker' if bias > 0 else 'thinner'} (sd {sd[first + i]:.2f}), spread "
            f"{found.spread_mm[i]:.2f} mm"
        )
    for name in found.devices:
        shift = ", ".join(f"{x:+.1f}" for x in found.of_device(name))
        lines.append(f"{name}: reads L*, a*, b* {shift} too much")
    return lines


def _paper(given: argparse.Namespace) -> Shown:
    interval, count = None, 0
    if given.repeats is not None:
        from mamelon.agreement import mcdm_interval

        repeats = _core.read_measurements(given.repeats)
        rows = [[r.lab.value.l, r.lab.value.a, r.lab.value.b] for r in repeats]
        interval, count = mcdm_interval(rows), len(rows)
    with Library(given.practice) as library:
        case = _core.read_case(library.file(given.case))
    found = paper.reporting_of(
        case, _core.digest(case), instrument=given.instrument, geometry=given.geometry,
        backing=given.backing, aperture=given.aperture, repeatability=interval, repeats=count,
        gingiva=given.gingiva,
    )  # fmt: skip
    lines = [f"{name}: {value}" for name, value in paper.reporting_table(found)]
    lines += ["", paper.reporting_paragraph(found)]
    body = {
        "items": dict(paper.reporting_table(found)),
        "paragraph": paper.reporting_paragraph(found),
        "missing": list(found.missing()),
    }
    return "\n".join(lines), body, 0
