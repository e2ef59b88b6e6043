"""`python -m mamelon.study`: a study from the command line."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from mamelon import _core
from mamelon.study.engine import run_to_file
from mamelon.study.settings import Settings

# As the `mamelon` command has them.
EXIT = (
    (_core.ArgumentError, 2),
    (_core.DataError, 3),
    (_core.CaptureError, 4),
    (_core.ModelError, 5),
    (_core.IoError, 6),
    (_core.StoppedError, 6),
    (OSError, 6),
)


def parser(prog: str = "mamelon study") -> argparse.ArgumentParser:
    """The options."""
    made = argparse.ArgumentParser(
        prog=prog,
        description="A manifest of many photos or readings to one table, parallel and resumable.",
        epilog="Exit codes: 0 done; 1 every item failed; 2 wrong use; 3 malformed file; "
        "6 cannot read or write; 130 interrupted (run again to go on).",
    )
    add = made.add_argument
    add("manifest", metavar="MANIFEST", help="CSV with a column `item` and, a row, photo and card, "
        "or L,a,b, or curve, or case; other columns are covariates")  # fmt: skip
    add("--tabs", metavar="FILE", action="append", required=True,
        help="tab set (JSON); may stand several times")  # fmt: skip
    add("--output", metavar="FILE", required=True, help="table to write, .csv or .parquet")
    add("--card", metavar="FILE", help="card of the photos whose row names none")
    add("--like", metavar="CASE", help="a saved case that every item takes what it does not state "
        "from: the card, and what is to be placed over which floor")  # fmt: skip
    add("--viewing", metavar="V", default="D65/2", help="illuminant and observer, as D65/2")
    add("--rows", choices=("summary", "tabs"), default="summary",
        help="one row a zone (nearest tab), or one a tab")  # fmt: skip
    add("--weights", metavar="L:C:H", default="1:1:1", help="parametric factors, as 2:1:1")
    add("--prior", metavar="generated|none|FILE", help="what is known of teeth before one is read: "
        "a table of your own teeth; that of an item's case or of --like unless given")  # fmt: skip
    add("--draws", type=int, default=4096, help="of the sample behind chances and intervals")
    add("--seed", type=int, default=1, help="of that sample")
    add("--margin", type=float, default=0.4, metavar="MM", help="left out along a tooth's outline")
    add("--camera-rendering", action="store_true",
        help="photos carry a camera's own tone curve")  # fmt: skip
    add("--processes", type=int, metavar="N", help="worker processes; all processors unless given")
    add("--fresh", action="store_true", help="start again, do not resume")
    add("--plain-csv", action="store_true",
        help="no apostrophe before cells that a spreadsheet would run as formulas")  # fmt: skip
    add("--quiet", action="store_true", help="no progress bar")
    add("--json", action="store_true", help="print the record as JSON")
    return made


def weights_of(text: str) -> _core.DifferenceWeights:
    """Parametric factors from `2:1:1`."""
    try:
        kl, kc, kh = (float(part) for part in text.split(":"))
    except ValueError:
        raise _core.ArgumentError(f"--weights must be like 2:1:1, not {text!r}") from None
    return _core.DifferenceWeights(kl, kc, kh)


def prior_of(text: str | None, viewing: str) -> _core.ToothPrior | None:
    """What `--prior` says; None where it is not given."""
    if text is None:
        return None
    if text == "generated":
        return _core.generated_prior()
    if text == "none":
        return _core.ToothPrior("", [0, 0, 0], [[0.0] * 3] * 3)
    teeth = _core.read_measurements(text, viewing)
    return _core.prior_of(_core.population_of("your teeth", teeth))


def work(arguments: argparse.Namespace) -> int:
    """Runs the study; 1 when every item failed."""
    settings = Settings(
        tuple(_core.read_tab_set(file) for file in arguments.tabs),
        arguments.viewing,
        Path(arguments.card) if arguments.card else None,
        arguments.rows,
        weights_of(arguments.weights),
        arguments.draws,
        arguments.seed,
        arguments.margin,
        arguments.camera_rendering,
        _core.read_case(arguments.like) if arguments.like else None,
        prior_of(arguments.prior, arguments.viewing),
    )
    record = run_to_file(
        arguments.manifest,
        settings,
        arguments.output,
        resume=not arguments.fresh,
        processes=arguments.processes,
        progress=False if arguments.quiet else None,
        guard=not arguments.plain_csv,
    )
    if arguments.json:
        print(json.dumps(record.document(), ensure_ascii=False))
    else:
        print(f"{arguments.output}: {record.items} items, {record.rows} rows, "
              f"{record.failed} failed")  # fmt: skip
    return 1 if record.failed == record.items else 0


def main(argv: Sequence[str] | None = None) -> int:
    """The command; returns its exit code."""
    arguments = parser().parse_args(argv)
    try:
        return work(arguments)
    except KeyboardInterrupt:
        print("interrupted; run the same command again to go on", file=sys.stderr)
        return 130
    except (_core.Error, OSError) as error:
        print(f"mamelon: {error}", file=sys.stderr)
        return next(code for kind, code in EXIT if isinstance(error, kind))


if __name__ == "__main__":
    sys.exit(main())
