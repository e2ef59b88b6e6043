"""The simulated practices err as they say."""

from __future__ import annotations

import numpy as np

from . import judged_practices, practices


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


def test_the_judges_light_is_that_of_another_authors_adding_doubling() -> None:
    import iadpython

    rng = np.random.default_rng(2)
    pigments = judged_practices._pigments(rng)
    resin = judged_practices._resin(rng, "p", "body", np.array([0.08, 0.03, 0.01]), pigments)
    seen = judged_practices.seen_over([(resin, 1.2)], np.full_like(practices.NM, 0.4))
    for band in (0, 15, 30):
        scattering = resin.reduced[band] / (1 - resin.anisotropy)
        extinction = scattering + resin.absorption[band]
        sample = iadpython.Sample(
            a=scattering / extinction, b=extinction * 1.2, g=resin.anisotropy, d=1.2, n=1.5,
            quad_pts=16,
        )  # fmt: skip
        sample.update_quadrature()
        r, t = iadpython.simple_layer_matrices(sample)
        floor = np.full_like(r, 0.4)
        stack, none = iadpython.combine.add_layers_basic(sample, floor, 0 * t, r, r, t, t)
        top = iadpython.start.boundary_layer(sample, top=True)
        zero = np.zeros_like(none)
        whole, _, _, _ = iadpython.add_slide_above(sample, *top, stack, zero, zero, zero)
        normal, _, _, _ = sample.UX1_and_UXU(whole, zero)
        assert abs(seen[band] - (float(normal) - 0.04)) < 0.004


def test_a_judged_practice_without_bias_has_none() -> None:
    practice = judged_practices.JudgedPractice(3, practices.HONEST)
    assert not practice.camera.any()
    assert set(map(abs, practice.bias.values())) == {0.0}
    for document in practice.documents:
        np.testing.assert_array_equal(practice.materials[document.name].reduced, document.reduced)
