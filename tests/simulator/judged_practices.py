"""Simulated practices that judge what was tuned on those of `practices`; no code of mamelon's.

Light goes through pastes by adding and doubling (van de Hulst 1963; the first thin layer by the
diamond scheme, Wiscombe 1976, J Quant Spectrosc Radiat Transf 16:637) in eight directions, those
within the cone of escape apart from the others, scattered by Henyey and Greenstein's law. Pastes
are pigments in a scattering resin, and a lot differs by its pigments' amounts. Nothing here was
looked at while a constant of the library was chosen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.polynomial import legendre

from .practices import NM, ROLES, Array, Habits, Job, de00, to_lab

INDEX = 1.5
_HALF = 4


@dataclass(frozen=True)
class Resin:
    """A paste as it is: absorption and reduced scattering per mm, anisotropy."""

    name: str
    role: str
    absorption: Array
    reduced: Array
    anisotropy: float


@cache
def _directions(index: float) -> tuple[Array, Array]:
    """Cosines inside and weights: Gauss below the cone of escape, Radau with the normal in it."""
    edge = np.sqrt(1 - 1 / index**2)
    x, w = legendre.leggauss(_HALF)
    outside = edge * (x + 1) / 2, edge * w / 2
    # Radau's points of order n: x = −1 and the zeros of (P(n−1) + P(n)) / (1 + x), here mirrored.
    series = np.zeros(_HALF + 1)
    series[_HALF - 1 :] = 1
    inner, _ = legendre.legdiv(series, [1, 1])
    zeros = np.sort(legendre.legroots(inner))
    radau = np.concatenate([[-1.0], zeros])
    previous = legendre.legval(radau, np.eye(_HALF)[_HALF - 1])
    weights = (1 - radau) / (_HALF * previous) ** 2
    inside = edge + (1 - edge) * (1 - radau[::-1]) / 2, (1 - edge) * weights[::-1] / 2
    return np.concatenate([outside[0], inside[0]]), np.concatenate([outside[1], inside[1]])


def _fresnel(cosine: Array, index: float) -> Array:
    """Reflectance of unpolarised light from inside."""
    sine = index * np.sqrt(1 - cosine**2)
    out = np.sqrt(np.maximum(1 - sine**2, 0))
    across = ((index * cosine - out) / (index * cosine + out)) ** 2
    along = ((cosine - index * out) / (cosine + index * out)) ** 2
    return np.where(sine >= 1, 1.0, (across + along) / 2)


def _layer(resin: Resin, thickness: float) -> tuple[Array, Array]:
    """(bands, 8, 8) reflection and transmission of radiances by a layer without surfaces."""
    mu, weight = _directions(INDEX)
    order = 2 * _HALF
    forward = resin.anisotropy**order  # taken as not scattered (Wiscombe 1977)
    scattering = resin.reduced / (1 - resin.anisotropy) * (1 - forward)
    k = np.arange(order)
    moments = (2 * k + 1) * (resin.anisotropy**k - forward) / (1 - forward)
    p = legendre.legvander(mu, order - 1)
    same = (p * moments) @ p.T * weight
    turned = (p * moments * (-1.0) ** k) @ p.T * weight
    extinction = resin.absorption + scattering
    albedo = (scattering / extinction)[:, None, None]
    depth = extinction * thickness
    doublings = int(np.ceil(np.log2(depth.max() / (0.02 * mu.min()))))
    half = (depth / 2**doublings / 2)[:, None, None]
    one = np.eye(len(mu))
    lost = one + half * (one - albedo / 2 * same) / mu[:, None]
    back = half * albedo / 2 * turned / mu[:, None]
    turned_back = back @ np.linalg.inv(lost)
    middle = np.linalg.inv(lost - turned_back @ back)
    r, t = 2 * middle @ turned_back, 2 * middle - one
    for _ in range(doublings):
        again = t @ np.linalg.inv(one - r @ r)
        r, t = r + again @ r @ t, again @ t
    return r, t


def seen_over(layers: list[tuple[Resin, float]], floor: Array) -> Array:
    """Reflectance d:0 in air, gloss excluded, of layers (resin, mm) on an even floor.

    `floor` is what the floor sends back of the light that falls on it inside the resin.
    """
    mu, weight = _directions(INDEX)
    stack = floor[:, None, None] * np.broadcast_to(2 * weight * mu, (8, 8))
    one = np.eye(len(mu))
    for resin, thickness in layers:
        r, t = _layer(resin, thickness)
        stack = r + t @ np.linalg.inv(one - stack @ r) @ stack @ t
    surface = _fresnel(mu, INDEX)
    enters = np.zeros(len(mu))
    enters[-1] = (1 - surface[-1]) / (2 * weight[-1] * mu[-1])
    down = np.linalg.solve(one - surface[:, None] * stack, np.broadcast_to(
        enters[:, None], (len(floor), 8, 1)))  # fmt: skip
    up = (stack @ down)[:, :, 0]
    return np.asarray(up @ (2 * weight * mu * (1 - surface)))


def _pigments(rng: np.random.Generator) -> Array:
    """(3, bands): absorption of a yellow, a red-brown and a black pigment, each 1 at its most."""
    yellow = 1 / (1 + np.exp((NM - rng.uniform(475, 495)) / rng.uniform(12, 22)))
    brown = 1 / (1 + np.exp((NM - rng.uniform(545, 580)) / rng.uniform(15, 30)))
    black = (NM / 400) ** -rng.uniform(0.0, 0.4)
    return np.array([yellow, brown, black])


def _resin(rng: np.random.Generator, name: str, role: str, amounts: Array, own: Array) -> Resin:
    reduced = {"dentine": 3.6, "body": 2.6, "enamel": 1.6}[role] * rng.lognormal(0, 0.1)
    clear = 0.004 * np.exp((420 - NM) / 25) + 0.001
    return Resin(
        name, role, amounts @ own + clear, reduced * (NM / 550) ** -rng.uniform(0.3, 1.2),
        float(rng.uniform(0.55, 0.85)),
    )  # fmt: skip


class JudgedPractice:
    """A practice with its true pastes, hands and camera; used as `practices.Practice` is."""

    is_transport = True

    def __init__(self, seed: int, habits: Habits) -> None:
        self.habits = habits
        self.rng = np.random.default_rng([seed, 90210])
        rng = self.rng
        self.pigments = _pigments(rng)
        self.suited, self.documents, lots = [], [], []
        for number, role in enumerate(ROLES):
            dense = {"dentine": 0.12, "body": 0.085, "enamel": 0.05}[role]
            amounts = dense * np.array([1.0, 0.3, 0.12]) * rng.lognormal(0, [0.3, 0.3, 0.4])
            true = _resin(rng, f"paste{number}", role, amounts, self.pigments)
            self.suited.append(true)
            said = self._off(true, amounts, habits.document_rms, 0.02)
            # No fit tells the anisotropy well.
            self.documents.append(replace(said, anisotropy=0.7))
            lots.append(self._off(true, amounts, habits.lot_rms, 0.05))
        self.materials = {one.name: one for one in lots}
        signs = rng.choice([-1.0, 1.0], 2)
        hands = habits.hand_bias_mm * signs * rng.uniform(0.5, 1.4, 2)
        self.bias = dict(zip(("ann", "bo"), hands.tolist(), strict=True))
        self.spread = {name: float(rng.uniform(*habits.hand_spread_mm)) for name in self.bias}
        away = rng.normal(size=3) * [1, 0.7, 1]
        typical = np.array([73.0, 1.5, 17])
        away /= float(de00(typical, typical + away))
        self.camera = habits.camera_rms * rng.uniform(0.4, 1.5) * away

    def _off(self, true: Resin, amounts: Array, rms: float, opaque: float) -> Resin:
        """The paste with other amounts of its pigments; thick, it is off by that rms of ΔE00."""
        if rms == 0:
            return true
        rng = self.rng
        way = rng.normal(size=3) * amounts
        wanted = rms * np.sqrt(rng.chisquare(3) / 3)
        black = np.full_like(NM, 0.05)
        middle = to_lab(seen_over([(true, 6.0)], black))

        def with_more(size: float) -> Array:
            return np.asarray(np.maximum(true.absorption + size * way @ self.pigments, 1e-4))

        low, high = 0.0, 6.0
        for _ in range(16):
            size = (low + high) / 2
            moved = replace(true, absorption=with_more(size))
            away = float(de00(middle, to_lab(seen_over([(moved, 6.0)], black))))
            low, high = (size, high) if away < wanted else (low, size)
        factor = float(np.exp(opaque * rng.normal()))
        return replace(true, absorption=with_more(low) * factor, reduced=true.reduced * factor)

    def job(self) -> Job:
        """The next case."""
        rng = self.rng
        inside = rng.uniform(0.5, 0.72) - rng.uniform(0.1, 0.3) / (
            1 + np.exp((NM - rng.uniform(470, 540)) / 35)
        )
        depth = float(rng.uniform(1.5, 3.0))
        inner, outer = rng.choice(5), rng.choice(np.arange(3, len(ROLES)))
        part = rng.uniform(0.3, 0.7) * depth
        stack = [(self.suited[inner], part), (self.suited[outer], depth - part)]
        tooth = to_lab(seen_over(stack, inside)) + rng.normal(size=3) * [1.2, 0.4, 1.0]
        noise = rng.normal(size=(2, 3)) * [0.3, 0.15, 0.25]
        floor = seen_over([], inside)
        level, tilt = self.habits.floor_share / np.sqrt(2) * rng.normal(size=2)
        read = floor * (1 + level + tilt * (NM - 550) / 87)
        wrong = ""
        if rng.uniform() < self.habits.wrong_share:
            wrong = str(rng.choice(["paste", "tooth"]))
        return Job(
            tooth, tooth + self.camera + noise[0], inside, np.clip(read, 0.01, 0.95), depth,
            str(rng.choice(list(self.bias))), rng.normal(size=3), rng.normal(size=3) * 0.2,
            noise[1], wrong,
        )  # fmt: skip

    def place(self, job: Job, layers: list[tuple[str, float]]) -> tuple[Array, Array]:
        """True colour of the filling, and what the camera reads, of layers as prescribed."""
        made = []
        for (name, thickness), error in zip(layers, job.hand, strict=False):
            real = thickness + self.bias[job.operator] + self.spread[job.operator] * error
            made.append((self.materials[name], max(real, 0.05)))
        lab = to_lab(seen_over(made, job.floor)) + job.surface
        shown = lab
        if job.wrong == "paste":
            others = [one for name, one in self.materials.items() if name != layers[0][0]]
            taken = others[int(abs(job.hand[2]) * 1e6) % len(others)]
            shown = to_lab(seen_over([(taken, made[0][1]), *made[1:]], job.floor))
        elif job.wrong == "tooth":
            shown = job.tooth + np.array([-5.0, 1.5, 5.0]) * np.sign(job.hand)
        return lab, shown + self.camera + job.noise

    def documents_as(self, make: Any, true: bool = False) -> list[Any]:
        """Every paste by `make(name, role, absorption, reduced scattering, anisotropy)`."""
        known = self.materials.values() if true else self.documents
        return [make(x.name, x.role, x.absorption, x.reduced, x.anisotropy) for x in known]
