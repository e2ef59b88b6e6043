"""Plan layers for a target colour and draw the cross-section of the recommended plan.

`python examples/plan_layers.py [FIGURE.png]`. The pastes are invented. A plan is a prediction for
cured paste: confirm it with a cured try-in, and follow the maker's instructions for use.
"""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib as mpl
import matplotlib.pyplot as plt

import mamelon as mm
from mamelon import plot

DATA = Path(__file__).resolve().parent.parent / "data"


def main(figure: Path) -> None:
    """Prints the plans and draws the recommended one."""
    mpl.use("Agg")
    pastes = mm.read_paste_set(DATA / "pastes/orchard10.json")
    target = mm.Reading("tooth 21", mm.Measured([72.5, 2.0, 18.0]), "D65/2", zone="middle")
    request = mm.PlanRequest(
        target=target,
        pastes=pastes,
        floor=mm.read_reflectance(DATA / "floors/dark_dentine.csv"),
        depth_mm=3.0,
        placing=mm.Placing(lamp_irradiance_mw_cm2=1000),
    )
    plans = mm.plan(request)
    for number, plan in enumerate(plans.plans):
        layers = " + ".join(f"{x.paste} {x.thickness_mm:.2f} mm" for x in plan.layers)
        mark = "→" if number == plans.recommended else " "
        print(f"{mark} {layers}: ΔE00 {plan.de00:.2f}, expected {plan.de00_rms:.2f}")
    print(plans.why)
    recommended = plans.plans[plans.recommended]
    for step in recommended.increments:
        seconds = "" if step.exposure_s is None else f", {step.exposure_s:.0f} s"
        dose = f"{step.exposure_j_cm2:.0f} J/cm²{seconds}"
        print(f"{step.order}. {step.paste} {step.thickness_mm:.2f} mm, {dose}")
    plot.layer_section(recommended, pastes)
    plt.savefig(figure, dpi=150)
    print(f"The figure is {figure}")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "plan_layers.png"))
