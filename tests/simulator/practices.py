"""Simulated practices: pastes by lot, hands, a camera and wrong notes. Shares no code with mamelon.

Colours come from the hyperbolic form of the two-flux equations (Kubelka 1948) and from sums over
the colour-matching functions and the daylight of colour-science; pastes, lots and teeth are drawn
by samplers of their own. What the practice's document says of a paste is its constants with a
smooth error, and what its lots are off is of another shape than anything a correction could fit:
bumps of absorption anywhere in the spectrum, and scattering.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
NM = np.arange(400.0, 701.0, 10.0)
ROLES = ("dentine", "dentine", "dentine", "body", "body", "body", "enamel", "enamel")


@cache
def _sums() -> tuple[Array, Array]:
    import colour

    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    matching = np.array([observer[nm] for nm in NM])
    power = np.array([light[nm] for nm in NM])
    weights = matching * power[:, None]
    return weights / weights[:, 1].sum(), weights.sum(axis=0) / weights[:, 1].sum()


def to_lab(reflectance: Array) -> Array:
    """L*, a*, b* under D65 for the 2° observer (CIE 015)."""
    weights, white = _sums()
    ratio = reflectance @ weights / white
    root = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def de00(one: Array, other: Array) -> Array:
    """CIEDE2000 by colour-science."""
    import colour

    return np.asarray(colour.difference.delta_E_CIE2000(one, other))


@dataclass(frozen=True)
class Material:
    """K and S per mm of a paste as it is."""

    name: str
    role: str
    k: Array
    s: Array


def seen_over(layers: list[tuple[Material, float]], floor: Array) -> Array:
    """Reflectance in air of layers (material, mm) over a floor as it is seen in air.

    Refractive index 1.5 of pastes and 1.54 of the floor; gloss excluded.
    """
    k1, k2 = 0.04, 0.59635
    f1, f2 = (0.54 / 2.54) ** 2, 0.6117
    below = floor / ((1 - f1) * (1 - f2) + f2 * floor)
    for material, thickness in layers:
        a = 1 + material.k / material.s
        b = np.sqrt(a**2 - 1)
        coth = 1 / np.tanh(b * material.s * thickness)
        below = (1 - below * (a - b * coth)) / (a - below + b * coth)
    return np.asarray((1 - k1) * (1 - k2) * below / (1 - k2 * below))


def _ripple(rng: np.random.Generator, size: float) -> Array:
    """A smooth curve over the bands: a few bumps of any place and width."""
    found = np.zeros_like(NM)
    for _ in range(3):
        centre, width = rng.uniform(400, 700), rng.uniform(40, 160)
        found += rng.normal() * np.exp(-(((NM - centre) / width) ** 2))
    return size * found


def _material(rng: np.random.Generator, name: str, role: str) -> Material:
    opaque = {"dentine": 3.2, "body": 2.2, "enamel": 1.3}[role] * rng.lognormal(0, 0.1)
    s = opaque * (NM / 550) ** rng.uniform(-1.1, -0.5)
    depth = {"dentine": 0.11, "body": 0.06, "enamel": 0.03}[role] * rng.lognormal(0, 0.35)
    k = depth * np.exp(-(NM - 450) / rng.uniform(60, 110)) + 0.1 * depth
    return Material(name, role, k * np.exp(_ripple(rng, 0.05)), s)


def _lot(rng: np.random.Generator, own: Material, rms: float) -> Material:
    """The paste in one lot: thick, it is off by ΔE00 of that root mean square over lots."""
    if rms == 0:
        return own
    bump, opaque = _ripple(rng, 0.1), 0.05 * rng.normal()
    wanted = rms * np.sqrt(rng.chisquare(3) / 3)
    black = np.full_like(NM, 0.05)
    low, high = 0.0, 40.0
    middle = to_lab(seen_over([(own, 6.0)], black))
    for _ in range(40):
        size = (low + high) / 2
        moved = Material(own.name, own.role, own.k * np.exp(size * bump), own.s)
        away = float(de00(middle, to_lab(seen_over([(moved, 6.0)], black))))
        low, high = (size, high) if away < wanted else (low, size)
    k = own.k * np.exp(low * bump + opaque)
    return Material(own.name, own.role, k, own.s * np.exp(opaque))


@dataclass(frozen=True)
class Habits:
    """How a practice errs."""

    lot_rms: float = 0.8
    hand_bias_mm: float = 0.2
    hand_spread_mm: tuple[float, float] = (0.1, 0.3)
    camera_rms: float = 1.0
    wrong_share: float = 0.05
    document_rms: float = 0.3
    floor_share: float = 0.05  # of its reflectance, by which a floor is read wrong


HONEST = Habits(lot_rms=0.0, hand_bias_mm=0.0, camera_rms=0.0, document_rms=0.0)


@dataclass(frozen=True)
class Job:
    """One case to come: what is wanted, where, and all chance that will strike it."""

    tooth: Array
    seen: Array
    floor: Array
    floor_read: Array
    depth_mm: float
    operator: str
    hand: Array
    surface: Array
    noise: Array
    wrong: str


class Practice:
    """A practice with its true materials, hands and camera."""

    is_transport = False

    def __init__(self, seed: int, habits: Habits) -> None:
        self.habits = habits
        self.rng = np.random.default_rng([seed, 4711])
        rng = self.rng
        names = [f"paste{i}" for i in range(len(ROLES))]
        true = [_material(rng, n, r) for n, r in zip(names, ROLES, strict=True)]
        self.suited = true
        self.documents = [_lot(rng, one, habits.document_rms) for one in true]
        #: One lot a paste in use; the practice buys it once.
        self.materials = {one.name: _lot(rng, one, habits.lot_rms) for one in true}
        self.bias = {
            name: habits.hand_bias_mm * sign
            for name, sign in zip(("ann", "bo"), rng.permutation([1.0, rng.choice([-1.0, 1.0])]),
                                  strict=True)
        }  # fmt: skip
        self.spread = {name: rng.uniform(*habits.hand_spread_mm) for name in self.bias}
        away = rng.normal(size=3)
        away /= float(de00(np.array([74.0, 2, 18]), np.array([74.0, 2, 18]) + away))
        self.camera = habits.camera_rms * np.sqrt(rng.chisquare(3) / 3) * away

    def job(self) -> Job:
        """The next case."""
        rng = self.rng
        level = rng.uniform(0.28, 0.45)
        floor = level * (0.75 + 0.35 / (1 + np.exp(-(NM - rng.uniform(480, 560)) / 50)))
        depth = float(rng.uniform(1.6, 2.8))
        # A practice keeps pastes that suit the teeth it sees.
        inner, outer = rng.choice(5), rng.choice(np.arange(3, len(ROLES)))
        part = rng.uniform(0.3, 0.7) * depth
        stack = [(self.suited[inner], part), (self.suited[outer], depth - part)]
        tooth = to_lab(seen_over(stack, floor)) + rng.normal(size=3) * np.array([1.0, 0.4, 0.8])
        noise = rng.normal(size=(2, 3)) * np.array([0.3, 0.15, 0.25])
        floor_read = np.clip(floor * (1 + self.habits.floor_share * rng.normal()), 0.01, 0.95)
        wrong = ""
        if rng.uniform() < self.habits.wrong_share:
            wrong = str(rng.choice(["paste", "tooth"]))
        return Job(
            tooth, tooth + self.camera + noise[0], floor, floor_read, depth,
            str(rng.choice(list(self.bias))), rng.normal(size=3), rng.normal(size=3) * 0.2,
            noise[1], wrong,
        )  # fmt: skip

    def place(self, job: Job, layers: list[tuple[str, float]]) -> tuple[Array, Array]:
        """True colour of the filling, and what the camera reads, of layers as prescribed.

        A wrong case is wrong in what is read: another paste was placed than noted, or another tooth
        was read. Its true colour is the one that was meant.
        """
        made = []
        for (name, thickness), error in zip(layers, job.hand, strict=False):
            real = thickness + self.bias[job.operator] + self.spread[job.operator] * error
            made.append((self.materials[name], max(real, 0.05)))
        lab = to_lab(seen_over(made, job.floor)) + job.surface
        shown = lab
        if job.wrong == "paste":
            others = [one for one in self.materials if one != made[-1][0].name]
            taken = others[int(abs(job.hand[2]) * 1e6) % len(others)]
            shown = to_lab(seen_over([*made[:-1], (self.materials[taken], made[-1][1])], job.floor))
        elif job.wrong == "tooth":
            shown = job.tooth + np.array([4.0, -2.0, 6.0]) * np.sign(job.hand)
        return lab, shown + self.camera + job.noise

    def documents_as(self, make: Any, true: bool = False) -> list[Any]:
        """Every paste by `make(name, role, k, s)`: as its document says, or as its lot is."""
        known = self.materials.values() if true else self.documents
        return [make(one.name, one.role, one.k, one.s) for one in known]
