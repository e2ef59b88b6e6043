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
    photo = mm.read_photo(DATA / "photos/front_teeth.jpg")
    fit = mm.fit_card(photo, mm.read_card(DATA / "cards/tooth20.json"), "D65/2")
    zones = mm.find_zones(photo, fit)
    readings = mm.read_zones(photo, fit, zones, "demo")
    tabs = mm.read_tab_set(DATA / "tabs/orchard16.json")
    matches = mm.match_all(readings, tabs)
    pastes = mm.read_paste_set(DATA / "pastes/orchard10.json")
    floor = mm.read_reflectance(DATA / "floors/dark_dentine.csv")
    request = mm.PlanRequest(target=readings[1], pastes=pastes, floor=floor, depth_mm=3)
    plans = mm.plan(request)
    report = mm.Report(
        "demo",
        "D65/2",
        readings,
        matches,
        fit,
        photo,
        zones,
        tabs,
        pastes,
        request,
        plans,
        "middle",
    )
    mm.write_file_atomically(sheet, mm.sheet_html(report))
    return report


def main() -> None:
    """Prints what the sheet shows in full."""
    sheet = Path(sys.argv[1] if len(sys.argv) > 1 else "demo_sheet.html")
    report = main_job(sheet)
    for reading, match in zip(report.readings, report.matches, strict=True):
        best = match.best
        words = mm.difference_in_words(best)
        print(f"{reading.zone:9} {reading.lab.value}  {best.tab} ΔE00 {best.de00:.2f}: {words}")
    if report.plans is not None:
        for step in report.plans.plans[report.plans.recommended].increments:
            dose = f"{step.exposure_j_cm2} J/cm²"
            print(f"{step.order}. {step.paste} {step.thickness_mm:.2f} mm, {dose}")
        print(report.plans.why)
    print(f"The sheet is {sheet}")


if __name__ == "__main__":
    main()
