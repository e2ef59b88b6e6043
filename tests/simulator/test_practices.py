"""The simulated practices err as they say."""

from __future__ import annotations

import numpy as np

from . import practices


def test_lots_are_off_by_what_is_said() -> None:
    rng = np.random.default_rng(1)
    own = practices._material(rng, "p", "body")
    black = np.full_like(practices.NM, 0.05)
    middle = practices.to_lab(practices.seen_over([(own, 6.0)], black))
    lots = [practices._lot(rng, own, 0.8) for _ in range(60)]
    seen = np.array([practices.to_lab(practices.seen_over([(lot, 6.0)], black)) for lot in lots])
    away = practices.de00(middle, seen)
    assert 0.65 < np.sqrt((away**2).mean()) < 0.95


def test_a_practice_without_bias_has_none() -> None:
    practice = practices.Practice(3, practices.HONEST)
    assert not practice.camera.any()
    assert set(practice.bias.values()) == {0.0}
    for document in practice.documents:
        np.testing.assert_array_equal(practice.materials[document.name].k, document.k)
