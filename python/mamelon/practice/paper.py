"""What a paper has to say of how colour was measured: as a table and as a paragraph.

The items are those that reviews of the field ask authors for and that comparisons fail without
(ISO/TR 28642:2016; CIE 015:2018; Khashayar et al. 2014, J Dent 42:637): geometry, backing,
illuminant, observer, aperture, repeatability, thresholds, formula and weights. Taken from what is
known; what is not is said to be missing and never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from mamelon._core import ArgumentError, Case, library_version, threshold
from mamelon.agreement import Interval

#: Gingiva, CIEDE2000: as used in doi 10.1016/j.prosdent.2025.09.007.
GINGIVA_PERCEPTIBLE_DE00 = 1.1
GINGIVA_ACCEPTABLE_DE00 = 2.8
MISSING = "not stated"


@dataclass(frozen=True)
class Reporting:
    """What is known of how a study measured; empty text: it is not stated."""

    instrument: str = ""
    geometry: str = ""
    backing: str = ""
    aperture: str = ""
    illuminant: str = ""
    observer: str = ""
    repeatability: str = ""
    formula: str = ""
    thresholds: str = ""
    software: str = ""

    def missing(self) -> tuple[str, ...]:
        """Names of what is not stated."""
        return tuple(one.name for one in fields(self) if not getattr(self, one.name))


def reporting_of(
    case: Case, digest: str, *, instrument: str = "", geometry: str = "", backing: str = "",
    aperture: str = "", repeatability: Interval | None = None, repeats: int = 0,
    gingiva: bool = False,
) -> Reporting:  # fmt: skip
    """What a case and its report's provenance `digest` say, with what only the person can say.

    `repeatability` is a mean colour difference from the mean (`agreement.mcdm_interval`) of
    `repeats` readings. Raises ArgumentError for a repeatability without its number of readings.
    """
    light, _, degrees = str(case.viewing).partition("/")
    weights = case.match.weights
    stated = ""
    if repeatability is not None:
        if repeats < 3:
            raise ArgumentError("a repeatability needs the number of readings behind it, 3 or more")
        stated = (
            f"mean ΔE00 from the mean {repeatability.estimate:.2f} (95 % interval "
            f"{repeatability.low:.2f}–{repeatability.high:.2f}, {repeats} readings; ASTM E2214)"
        )
    if case.photo is not None and not geometry:
        geometry = "photograph with a reference card in the frame"
    levels = (
        f"PT {GINGIVA_PERCEPTIBLE_DE00}, AT {GINGIVA_ACCEPTABLE_DE00} (gingiva; doi "
        "10.1016/j.prosdent.2025.09.007)"
        if gingiva
        else f"PT {threshold.perceptible_de00}, AT {threshold.acceptable_de00} (Paravina et al. "
        "2015, J Esthet Restor Dent 27:S1–S9)"
    )
    return Reporting(
        instrument, geometry, backing, aperture, f"CIE {light}", f"{degrees}°", stated,
        f"CIEDE2000 ({weights.kl:g}:{weights.kc:g}:{weights.kh:g})", levels,
        f"mamelon {library_version()}, provenance {digest[:16]}",
    )  # fmt: skip


def reporting_table(reporting: Reporting) -> list[tuple[str, str]]:
    """Item and value, in the order of the text; what is missing says so."""
    return [(one.name, getattr(reporting, one.name) or MISSING) for one in fields(reporting)]


def reporting_paragraph(reporting: Reporting) -> str:
    """The same as a paragraph for the section on methods; what is missing stands in brackets."""

    def value(name: str) -> str:
        return getattr(reporting, name) or f"[{name}: {MISSING}]"

    return (
        f"Colour was measured with {value('instrument')} (geometry: {value('geometry')}; aperture: "
        f"{value('aperture')}; backing: {value('backing')}). CIELAB values are for "
        f"{value('illuminant')} and the {value('observer')} observer. Repeatability: "
        f"{value('repeatability')}. Differences are {value('formula')}, judged by the 50:50 % "
        f"thresholds of perceptibility and acceptability {value('thresholds')}. Computed with "
        f"{value('software')}."
    )


def per_group(sd: float, difference: float, *, power: float = 0.8, confidence: float = 0.95) -> int:
    """Specimens a group to show a mean difference between two groups with that power.

    Two-sided t test by the noncentral t distribution; `sd` of one specimen in ΔE00 or on one axis,
    such as one's own repeatability and the specimens' spread together. For the width of an interval
    see `agreement.pairs_for_bias`. Raises ArgumentError for values out of range.
    """
    import numpy as np
    from scipy import stats

    if not (sd > 0 and difference > 0 and 0.5 <= power < 1 and 0.5 <= confidence < 1):
        raise ArgumentError(
            "sd and difference must be above 0, power and confidence within 0.5–1, not "
            f"{sd}, {difference}, {power}, {confidence}"
        )
    for n in range(2, 100_000):
        free = 2 * n - 2
        reach = float(stats.t.ppf((1 + confidence) / 2, free))
        shift = difference / sd * float(np.sqrt(n / 2))
        if float(stats.nct.sf(reach, free, shift) + stats.nct.cdf(-reach, free, shift)) >= power:
            return n
    raise ArgumentError("so small a difference takes more than 100 000 specimens a group")
