"""From a case's file to its record, and from an outcome to what it shows: the verbs' steps."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from mamelon._core import (
    ArgumentError,
    Case,
    ModelError,
    PlannedLayer,
    PlanRequest,
    Reading,
    ToothReport,
    digest,
    read_case,
    solve,
)
from mamelon.practice import document, linear, planning
from mamelon.practice.document import Outcome, PlacedLayer, Record, Stated
from mamelon.practice.learning import Evidence
from mamelon.practice.library import Library
from mamelon.practice.outcome import Checked, check
from mamelon.practice.planning import Plans


@dataclass(frozen=True)
class Read:
    """What a case's file says of one tooth: the request of its plan and what read the target."""

    tooth: int
    zone: str
    request: PlanRequest
    device: str
    digest: str


def device_of(case: Case, camera: str) -> str:
    """Name of what reads: the camera with its card, or the instrument."""
    if case.photo is None:
        return camera or "instrument"
    card = case.card.name if case.card is not None else "tabs"
    return f"{camera or 'camera'} with {card or 'a card'}"


def _tooth_of(teeth: Sequence[ToothReport], tooth: int | None) -> tuple[ToothReport, int]:
    if tooth is not None:
        document.check_tooth(tooth)
        for one in teeth:
            if one.number == tooth:
                return one, tooth
        if len(teeth) == 1 and teeth[0].number is None:
            return teeth[0], tooth
        known = ", ".join(str(one.number or one.name) for one in teeth)
        raise ArgumentError(f"the case has no tooth {tooth}; it has {known}")
    if len(teeth) == 1 and teeth[0].number is not None:
        return teeth[0], int(teeth[0].number)
    raise ArgumentError("say which tooth it is in two-digit notation (ISO 3950), such as 21")


def read_target(file: str | Path, tooth: int | None, camera: str) -> Read:
    """Solves a saved case as far as the plan's request of one tooth.

    Raises ArgumentError for a case without a restoration or without that tooth, ModelError where
    its reading is too uncertain to plan for.
    """
    case = read_case(file)
    if case.restoration is None:
        raise ArgumentError(
            f"{Path(file).name}: is no case that plans a restoration: save it with mamelon plan "
            "--save"
        )
    report = solve(case)
    found, number = _tooth_of(report.teeth, tooth)
    withheld = found.withheld[found.planned] if found.withheld else None
    if withheld is not None:
        raise ModelError(f"no plan is made: {withheld}")
    if report.request is None:
        raise ModelError(f"{Path(file).name}: nothing can be planned for it")
    depths = case.restoration.depths_mm
    depth = depths[found.planned] if len(depths) > 1 else depths[0]
    target = found.readings[found.planned]
    if case.aperture is not None:
        # A request is of the tooth that stands first, as a wide window would read it.
        first = solve(case.replace(headline=found.name)).request
        assert first is not None
        target = first.target
    request = report.request.replace(target=target, depth_mm=depth)
    return Read(
        number, found.readings[found.planned].zone, request, device_of(case, camera), digest(case)
    )


def plans_of(
    read: Read, evidence: Evidence, lots: Mapping[str, str], operator: str, use: bool
) -> Plans:
    """Plans of one tooth with what outcomes taught."""
    return planning.plan_with(
        read.request, evidence, lots=lots, operator=operator, device=read.device, use=use
    )


def evidence_for(
    library: Library, read: Read, lots: Mapping[str, str], operator: str, without: str = ""
) -> Evidence:
    """What the practice's outcomes say of this case's pastes, operator and device."""
    named = planning.lots_of(read.request, lots)
    whole = library.evidence(named, operator, read.device, without)
    return whole.only(named, [operator], [read.device])


def stated_of(
    read: Read, plans: Plans, evidence: Evidence, lots: Mapping[str, str], operator: str,
    date: str, layers: Sequence[tuple[str, float]] | None,
) -> Stated:  # fmt: skip
    """The plan as the record keeps it; `layers` where the person places others than recommended."""
    chosen = plans.stacks[0]
    prediction, stated, stack = chosen.prediction, chosen.colour, chosen.layers
    used = evidence if plans.evidence else planning.unlearned(evidence)
    if layers is not None:
        stack = tuple(
            PlannedLayer(name, linear.paste_named(read.request, name).role, thickness)
            for name, thickness in layers
        )
        prediction = linear.linearise(read.request, stack)
        stated = planning.state(prediction, stack, lots, used, operator, read.device)
    return Stated(
        date,
        read.zone,
        tuple(PlacedLayer(x.paste, x.thickness_mm, lots.get(x.paste, "")) for x in stack),
        document.seen_of(read.request.target, read.device),
        prediction,
        stated,
        evidence,
        plans.told,
        bool(plans.evidence),
        dict(lots),
    )


def add_case(
    library: Library, file: str | Path, *, person: str, tooth: int | None = None,
    operator: str = "", camera: str = "", lots: Mapping[str, str] | None = None,
    date: str | None = None, use: bool = True,
    layers: Sequence[tuple[str, float]] | None = None,
) -> tuple[Record, Plans]:  # fmt: skip
    """Plans a saved case with what the practice has learnt, and keeps it.

    Raises ArgumentError for a case that is kept already, and as `read_target` does.
    """
    own = dict(lots or {})
    if not person or "/" in person:
        raise ArgumentError("a case needs the practice's code of the person, such as P017")
    entered = library.today(date)
    read = read_target(file, tooth, camera)
    parts = document.read_parts(file)
    evidence = evidence_for(library, read, own, operator)
    plans = plans_of(read, evidence, own, operator, use)
    stated = stated_of(read, plans, evidence, own, operator, entered, layers)
    record = Record(
        f"{read.tooth}-{read.digest[:16]}", person, read.tooth, entered, operator, stated
    )
    library.put(record, parts, new=True)
    return record, plans


def plans_again(library: Library, name: str) -> Plans:
    """The plans of a kept case with the evidence that it was planned with: the same again."""
    record = library.record(name)
    plan = _plan_of(record)
    read = _read_kept(library, record)
    plans = plans_of(read, plan.evidence, plan.lots, record.operator, plan.learnt)
    return dataclasses.replace(plans, told=plan.told)


def _plan_of(record: Record) -> Stated:
    if record.plan is None:
        raise ArgumentError(f"case {record.id} has no plan")
    return record.plan


def _read_kept(library: Library, record: Record) -> Read:
    read = read_target(library.file(record.id), record.tooth, "")
    return dataclasses.replace(read, device=_plan_of(record).target.device)


def reading_in(case: Case, tooth: int, zone: str = "") -> Reading:
    """The reading of one tooth in a case: of that zone, else of the one that a plan is for.

    Raises ArgumentError where the case lacks the tooth or the zone, and as `solve` does.
    """
    found, _ = _tooth_of(solve(case).teeth, tooth)
    if not zone or len(found.readings) == 1:
        return found.readings[found.planned]
    for reading in found.readings:
        if reading.zone == zone:
            return reading
    raise ArgumentError(f"tooth {tooth} has no zone {zone!r}")


def check_outcome(
    library: Library, name: str, outcome: Outcome, *, keep: bool,
    photos: Mapping[str, bytes] | None = None,
) -> Checked:  # fmt: skip
    """Compares an outcome with its target and its plan, and keeps it.

    Raises ArgumentError as `document.with_outcome` does.
    """
    record = library.record(name)
    # Refused before anything is compared.
    document.with_outcome(record, outcome)
    plan = _plan_of(record)
    read = _read_kept(library, record)
    named = [(layer.paste, layer.lot) for layer in plan.layers]
    pastes = dict.fromkeys([*planning.lots_of(read.request, plan.lots), *named])
    whole = library.evidence(list(pastes), record.operator, outcome.seen.device, record.id)
    evidence = whole.only(list(pastes), [record.operator], [outcome.seen.device])
    known = evidence if evidence.is_enough else planning.unlearned(evidence)
    found = check(plan, outcome, record.operator, read.request, known)
    if keep:
        library.change(name, lambda now: document.with_outcome(now, outcome), photos)
    return found
