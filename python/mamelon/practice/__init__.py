"""A practice's cases over time: kept, compared with what was planned, learnt from, followed.

`library` keeps cases in a folder with an index; `casework` plans and checks them; `learning` is
what outcomes teach and `planning` how plans state it; `calibration` how often what was stated held;
`follow_up` the same tooth over visits; `alignment` instruments brought into line; `paper` what a
paper has to say of how colour was measured; `export` the table. `learning` and `alignment` need
NumPy alone, the others SciPy as well.

On the command line: `mamelon case --help`, `mamelon follow --help`, `mamelon tabs align --help`.
"""

from __future__ import annotations

from mamelon.practice.alignment import Alignment, align, carry, drift_of_line
from mamelon.practice.calibration import calibration_axes, levels_held, place_outcomes
from mamelon.practice.casework import add_case, check_outcome, plans_again
from mamelon.practice.document import Outcome, Record, Seen, Visit, VisitReading, read_record
from mamelon.practice.follow_up import changes, follow_up_axes
from mamelon.practice.learning import ENOUGH_CASES, Evidence, Rows, learn
from mamelon.practice.library import Library
from mamelon.practice.outcome import check
from mamelon.practice.paper import (
    per_group,
    reporting_of,
    reporting_paragraph,
    reporting_table,
)
from mamelon.practice.planning import plan_with

__all__ = [
    "ENOUGH_CASES",
    "Alignment",
    "Evidence",
    "Library",
    "Outcome",
    "Record",
    "Rows",
    "Seen",
    "Visit",
    "VisitReading",
    "add_case",
    "align",
    "calibration_axes",
    "carry",
    "changes",
    "check",
    "check_outcome",
    "drift_of_line",
    "follow_up_axes",
    "learn",
    "levels_held",
    "per_group",
    "place_outcomes",
    "plan_with",
    "plans_again",
    "read_record",
    "reporting_of",
    "reporting_paragraph",
    "reporting_table",
]
