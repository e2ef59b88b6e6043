#pragma once
// Drawdowns as an instrument would measure them, of pastes whose constants are known.

#include <functional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/drawdown.h"
#include "mamelon/stack.h"

#include "paste_samples.h"

namespace mamelon::test {

inline Reflectance flat(double r) {
  return {visible, std::vector<double>(visible.count, r)};
}

// What a stack reflects, by the engine that is held to be true.
using Look = std::function<Reflectance(const Stack&)>;

// Over black and white at the given thicknesses, with noise and errors of thickness.
inline std::vector<Drawdown> simulate(const Paste& paste, const std::vector<double>& thicknesses,
                                      double noise, double thickness_sd, std::mt19937& random,
                                      const Look& look) {
  std::normal_distribution<double> normal;
  std::vector<Drawdown> drawdowns;
  for (const double d : thicknesses) {
    const double true_mm = d + thickness_sd * normal(random);
    for (const double backing : {0.03, 0.85}) {
      Drawdown one;
      one.specimen = std::to_string(d);
      one.thickness_mm = d;
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = Backing::internal;
      one.backing = flat(backing);
      std::vector<double> seen = look(Stack{flat(backing), {{paste, true_mm}}, false}).values();
      for (double& value : seen) value += noise * normal(random);
      one.measured = Reflectance(visible, std::move(seen));
      drawdowns.push_back(std::move(one));
    }
  }
  return drawdowns;
}

}  // namespace mamelon::test
