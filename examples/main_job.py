"""The main job in ten lines: a tooth photo with a reference card to a plan and a sheet to look at.

Run from a clone: `python examples/main_job.py [SHEET.html]`. Photo, tabs and pastes are invented.
"""

from __future__ import annotations

import sys
from pathlib import Path

import mamelon as mm

DATA = Path(__file__).resolve().parent.parent / "data"


def main_job(sheet: Path) -> mm.Report:
    """Does the whole job on the demo case and writes its sheet."""
    case = mm.Case(
        viewing="D65/2",
        label="demo",
        photo=mm.CasePhoto((DATA / "photos/front_teeth.jpg").read_bytes()),
        card=mm.read_card(DATA / "cards/tooth20_frame.json"),
        teeth=[mm.CaseTooth(number=11)],
        tabs=mm.read_tab_set(DATA / "tabs/orchard16.json"),
        restoration=mm.Restoration(
            pastes=mm.read_paste_set(DATA / "pastes/orchard10.json"),
            floor=mm.CaseFloor(reflectance=mm.read_reflectance(DATA / "floors/dark_dentine.csv")),
            depths_mm=[3],
        ),
    )
    report = mm.solve(case)
    mm.write_file_atomically(sheet, mm.sheet_html(report))
    return report


def main() -> None:
    """Prints what the sheet shows in full."""
    sheet = Path(sys.argv[1] if len(sys.argv) > 1 else "demo_sheet.html")
    tooth = main_job(sheet).teeth[0]
    for reading, match in zip(tooth.readings, tooth.matches, strict=True):
        best = match.best
        words = mm.difference_in_words(best)
        print(f"{reading.zone:9} {reading.lab.value}  {best.tab} ΔE00 {best.de00:.2f}: {words}")
    if tooth.plans is not None:
        for step in tooth.plans.plans[tooth.plans.recommended].increments:
            dose = f"{step.exposure_j_cm2} J/cm²"
            print(f"{step.order}. {step.paste} {step.thickness_mm:.1f} mm, {dose}")
        print(tooth.plans.why)
    print(f"The sheet is {sheet}")


if __name__ == "__main__":
    main()
