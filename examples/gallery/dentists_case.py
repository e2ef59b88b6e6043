"""A dentist's case
================

A photo with the reference card in the frame, taken before isolation, becomes a shade, a pick from
one's own tabs, and a plan of layers. Photo, tabs and pastes are invented.
"""

# %%
# The case owns what you give: photo, card, the tooth, your tabs and pastes, the floor of the cavity
# and its depth. `solve` makes the report.
from pathlib import Path

import matplotlib.pyplot as plt

import mamelon as mm
from mamelon import frames, plot

data = Path("data") if Path("data/photos").is_dir() else Path("../../data")
case = mm.Case(
    viewing="D65/2",
    photo=mm.CasePhoto((data / "photos/front_teeth.jpg").read_bytes()),
    card=mm.read_card(data / "cards/tooth20_frame.json"),
    teeth=[mm.CaseTooth(number=11)],
    tabs=mm.read_tab_set(data / "tabs/orchard16.json"),
    restoration=mm.Restoration(
        pastes=mm.read_paste_set(data / "pastes/orchard10.json"),
        floor=mm.CaseFloor(reflectance=mm.read_reflectance(data / "floors/dark_dentine.csv")),
        depths_mm=[3],
        placing=mm.Placing(lamp_irradiance_mw_cm2=1000),
    ),
)
report = mm.solve(case)
tooth = report.teeth[0]

# %%
# What was measured, with its standard deviation: look at it before you believe it. The picture
# shows where on the tooth each zone was read.
photo = mm.decode_photo(case.photo.file, "the photo")
fig, ax = plt.subplots(figsize=(6, 4.2), layout="constrained")
plot.shade_map(photo, tooth.zones, tooth.readings, ax=ax)
frames.to_frame(tooth.readings)[["zone", "L", "a", "b", "sd_L", "sd_a", "sd_b"]].round(2)

# %%
# The tabs in order of ΔE00, with the interval and the chance that each is the best. Where two
# cannot be told apart by this photo, their intervals overlap and their chances are alike.
ranked = frames.to_frame(report)
ranked[(ranked.zone == "middle") & (ranked["rank"] <= 4)].round(2)

# %%
# The plan: from the floor outward, for cured paste. Confirm it with a cured try-in, and follow the
# maker's instructions for increment and exposure; curing light harms eyes and heats the pulp.
plans = tooth.plans
best = plans.plans[plans.recommended]
for step in best.increments:
    print(f"{step.order}. {step.paste} {step.thickness_mm:.1f} mm, {step.exposure_j_cm2:.0f} J/cm²")
print(plans.why)
fig, ax = plt.subplots(figsize=(4, 4.2), layout="constrained")
plot.layer_section(best, case.restoration.pastes, ax=ax)
plt.show()
