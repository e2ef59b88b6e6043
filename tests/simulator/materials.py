"""Makes the invented demo tabs and cavity floors, and sketches the demo pastes.

Run as `python -m tests.simulator.materials` from the root of the project; it rewrites
data/tabs and data/floors. `demo_pastes` lights and fits the pastes. The numbers are invented;
their magnitudes follow published scattering of enamel and porcelain (Zijp et al. 1995; O'Brien et
al. 1985).
"""

from __future__ import annotations

import json
import re
from typing import Any

import numpy as np

from .spectra import DATA, WAVELENGTHS_NM, Array, smooth_reflectance, to_lab

#: name: wanted L*, a*, b* and the strength of the fall towards blue.
TABS: dict[str, tuple[float, float, float, float]] = {
    "birch": (83.6, -0.9, 8.6, 0.15),
    "linen": (81.4, 0.3, 12.4, 0.20),
    "pear": (80.2, -1.1, 17.3, 0.35),
    "oat": (78.6, 0.6, 15.2, 0.25),
    "almond": (77.5, 1.7, 20.8, 0.30),
    "flax": (76.1, -0.4, 12.1, 0.25),
    "barley": (74.9, 0.9, 18.0, 0.40),
    "quince": (74.0, 2.6, 24.6, 0.45),
    "pebble": (72.4, -0.6, 10.2, 0.20),
    "cashew": (71.7, 1.5, 15.6, 0.30),
    "straw": (70.8, 2.2, 21.5, 0.45),
    "hazel": (68.9, 3.8, 25.9, 0.50),
    "sand": (67.6, 1.1, 13.5, 0.30),
    "loess": (66.2, 2.9, 19.4, 0.40),
    "walnut": (63.5, 4.7, 24.2, 0.50),
    "clay": (60.8, 3.4, 17.1, 0.40),
}

#: name: role, S at 550 nm /mm, exponent of its fall, K at 550 nm /mm, K rise at 400 nm /mm,
#: K of a blue-green absorbing tint /mm, refractive index, increment limit mm, exposure J/cm².
PASTES: dict[str, tuple[str, float, float, float, float, float, float, float, float]] = {
    "chalk": ("opaque", 1.90, 0.20, 0.060, 0.560, 0.045, 1.53, 1.0, 20.0),
    "loam": ("dentine", 1.20, 0.30, 0.030, 0.460, 0.045, 1.52, 2.0, 16.0),
    "russet": ("dentine", 1.10, 0.30, 0.040, 0.620, 0.085, 1.52, 2.0, 16.0),
    "bark": ("dentine", 1.05, 0.25, 0.062, 0.640, 0.115, 1.52, 1.5, 20.0),
    "pith": ("body", 0.95, 0.45, 0.012, 0.230, 0.014, 1.51, 2.0, 16.0),
    "kernel": ("body", 0.95, 0.40, 0.020, 0.360, 0.030, 1.51, 2.0, 16.0),
    "husk": ("body", 0.90, 0.40, 0.032, 0.440, 0.050, 1.51, 2.0, 16.0),
    "petal": ("enamel", 0.70, 0.60, 0.010, 0.130, 0.006, 1.50, 2.0, 12.0),
    "dew": ("enamel", 0.62, 0.60, 0.018, 0.200, 0.016, 1.50, 2.0, 12.0),
    "rime": ("translucent", 0.42, 0.90, 0.008, 0.050, 0.002, 1.50, 2.0, 12.0),
}

#: name: L*, a*, b*, fall towards blue; reflectance as seen in air.
FLOORS: dict[str, tuple[float, float, float, float]] = {
    "dark_dentine": (47.0, 7.0, 19.0, 0.45),
    "sound_dentine": (70.0, 2.5, 21.0, 0.40),
}


def spectrum(values: Array) -> dict[str, Any]:
    """The spectrum object of the project's documents."""
    return {"first_nm": 400, "step_nm": 10, "values": [round(float(v), 5) for v in values]}


def tab_set() -> dict[str, Any]:
    """The demo's tab set: 16 invented tabs with covariances as of five repeat readings."""
    draws = np.random.default_rng(16)
    tabs = []
    for name, (lightness, a, b, fall) in TABS.items():
        curve = np.round(smooth_reflectance((lightness, a, b), fall), 5)
        sd = np.array([0.22, 0.07, 0.12]) * draws.uniform(0.8, 1.25, 3)
        random = np.diag(sd**2)
        random[0, 2] = random[2, 0] = 0.25 * sd[0] * sd[2]
        tabs.append(
            {
                "name": name,
                "lab": [round(float(v), 2) for v in to_lab(curve)],
                "random": [[round(float(v), 5) for v in row] for row in random],
                "shared": [[0.04, 0.0, 0.0], [0.0, 0.0036, 0.0], [0.0, 0.0, 0.01]],
                "dof": 4,
                "reflectance": spectrum(curve),
            }
        )
    return {
        "format": "mamelon-tab-set",
        "version": "1.0",
        "name": "orchard16",
        "note": "Invented for the demo: no such tabs exist. Measure your own.",
        "invented": True,
        "viewing": "D65/2",
        "tabs": tabs,
    }


def paste_curves(name: str) -> tuple[Array, Array]:
    """Kubelka–Munk K and S per mm of one demo paste on WAVELENGTHS_NM."""
    _, s550, exponent, k550, k_blue, tint, _, _, _ = PASTES[name]
    w = WAVELENGTHS_NM
    scattering = s550 * (w / 550) ** -exponent
    blue = np.exp(-(((w - 380) / 85) ** 2))
    absorption = k550 * (w / 550) ** -1.2 + k_blue * blue
    absorption = absorption + tint * np.exp(-(((w - 525) / 45) ** 2))
    return np.round(absorption, 5), np.round(scattering, 5)


def layer_over(absorption: Array, scattering: Array, thickness_mm: float, floor: Array) -> Array:
    """Reflectance inside the material of a layer in contact with `floor` (Kubelka 1948)."""
    a = (scattering + absorption) / scattering
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * scattering * thickness_mm)
    return np.asarray((1 - floor * (a - b * coth)) / (a - floor + b * coth), dtype=np.float64)


def to_air(internal: Array, k1: float = 0.04, k2: float = 0.59635) -> Array:
    """Saunderson (1942) with the specular part excluded; k1, k2 of n = 1.5."""
    return np.asarray((1 - k1) * (1 - k2) * internal / (1 - k2 * internal), dtype=np.float64)


def to_internal(measured: Array, k1: float = 0.04, k2: float = 0.59635) -> Array:
    """The inverse of `to_air`."""
    return np.asarray(measured / ((1 - k1) * (1 - k2) + k2 * measured), dtype=np.float64)


def floor_curve(name: str) -> Array:
    """Reflectance (31,) of a demo floor in air."""
    lightness, a, b, fall = FLOORS[name]
    return np.round(smooth_reflectance((lightness, a, b), fall), 5)


def compact_json(document: dict[str, Any]) -> str:
    """JSON with lists of numbers, and small objects of them, on one line each."""
    text = json.dumps(document, indent=1)
    text = re.sub(
        r"\[\s+([-\d.e,\s]+?)\s+\]", lambda m: "[" + re.sub(r"\s+", " ", m[1]) + "]", text
    )
    text = re.sub(r"\[\s+(\[[^{}]*?\])\s+\]", lambda m: "[" + re.sub(r"\s+", " ", m[1]) + "]", text)
    text = re.sub(
        r'\{\s+("(?:id|x_mm|first_nm)"[^{}]*?)\s+\}',
        lambda m: "{" + re.sub(r"\s+", " ", m[1]) + "}",
        text,
    )
    return text + "\n"


def main() -> None:
    """Writes the demo materials."""
    for folder in ("tabs", "floors"):
        (DATA / folder).mkdir(exist_ok=True)
    (DATA / "tabs" / "orchard16.json").write_text(compact_json(tab_set()), encoding="utf-8")
    for name in FLOORS:
        rows = [f"{w:.0f},{r:.5f}" for w, r in zip(WAVELENGTHS_NM, floor_curve(name), strict=True)]
        header = [f"# Invented {name.replace('_', ' ')}, seen in air.", "wavelength_nm,reflectance"]
        (DATA / "floors" / f"{name}.csv").write_text(
            "\n".join(header + rows) + "\n", encoding="utf-8"
        )


if __name__ == "__main__":
    main()
