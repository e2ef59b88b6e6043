#pragma once
// Invented pastes, floors and targets for the tests of planning.

#include <cmath>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "mamelon/plan.h"

namespace mamelon::test {

inline const Grid visible{400, 10, 31};

inline Viewing d65() {
  return {standard_illuminant("D65"), Observer::deg2};
}

inline Reflectance flat_floor(double r) {
  return {visible, std::vector<double>(visible.count, r)};
}

// A tooth-coloured paste: scattering falls with wavelength, absorption is a yellow pigment whose
// edge lies near 470 nm over a grey base. `depth` scales the pigment, `haze` the scattering.
inline Paste sample_paste(const std::string& name, Role role, double haze, double depth,
                          double warmth = 0) {
  std::vector<double> k;
  std::vector<double> s;
  for (std::size_t i = 0; i < visible.count; ++i) {
    const double nm = visible.wavelength_nm(i);
    s.push_back(haze * std::pow(550 / nm, 1.3));
    k.push_back(depth * (0.012 + 0.35 / (1 + std::exp((nm - 455) / 22)) +
                         (0.03 + warmth) / (1 + std::exp((nm - 560) / 18))));
  }
  Paste paste;
  paste.name = name;
  paste.role = role;
  paste.absorption = PerMm(visible, std::move(k));
  paste.scattering = PerMm(visible, std::move(s));
  return paste;
}

// `count` invented pastes spread over roles, haze and depth of colour.
inline PasteSet sample_set(std::size_t count, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> uniform(0, 1);
  PasteSet set{"invented", {}, {}};
  constexpr double haze_of_role[] = {3.0, 1.6, 1.1, 0.7, 0.3};
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t role = i % 5;
    const double haze = haze_of_role[role] * (0.75 + 0.5 * uniform(random));
    const double depth = std::pow(10, -0.4 + 0.8 * uniform(random));
    set.pastes.push_back(sample_paste("paste " + std::to_string(i), static_cast<Role>(role), haze,
                                      depth, 0.04 * uniform(random)));
  }
  return set;
}

// Pastes with transport constants of one anisotropy; K and S by formula, so that the engines
// differ.
inline PasteSet with_transport(PasteSet set) {
  for (Paste& paste : set.pastes) {
    std::vector<double> absorption;
    std::vector<double> reduced;
    for (std::size_t i = 0; i < paste.absorption.size(); ++i) {
      absorption.push_back(paste.absorption[i] / 2);
      reduced.push_back(paste.scattering[i] * 4 / 3);
    }
    paste.transport = TransportConstants{PerMm(visible, absorption), PerMm(visible, reduced), 0.6};
  }
  return set;
}

inline Reading target_lab(const Lab& lab) {
  return {"target", "", {lab, {}, {}}, std::nullopt, d65(), 1, {}, {}};
}

inline Reading target_curve(const Reflectance& curve) {
  Reading reading = target_lab(to_lab(curve, d65()));
  reading.reflectance = curve;
  return reading;
}

inline PlanRequest sample_request(PasteSet set, Reading target, double depth_mm) {
  PlanRequest request{.target = std::move(target), .pastes = std::move(set)};
  request.floor = flat_floor(0.25);
  request.depth_mm = depth_mm;
  return request;
}

}  // namespace mamelon::test
