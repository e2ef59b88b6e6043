#include <algorithm>
#include <cmath>
#include <vector>

#include "mamelon/drawdown.h"

#include "base/find.h"

namespace mamelon {

// Two fluxes know neither Fresnel's angles across an air gap nor edges: they are fitted to what
// transport says of the same specimens in contact and under an endless aperture.
PasteFit two_fluxes_like(const PasteFit& transport, std::span<const Drawdown> drawdowns) {
  if (transport.engine != Engine::transport) {
    throw ArgumentError("two fluxes are fitted to a fit by transport");
  }
  const Grid grid = transport.absorption.grid();
  std::vector<Drawdown> ideal;
  const auto add = [&](const Drawdown& real, double level) {
    Drawdown one;
    one.specimen = real.specimen;
    const auto fitted =
        detail::find_by(transport.thickness, real.specimen, &SpecimenThickness::specimen);
    one.thickness_mm = fitted->thickness_mm;
    one.thickness_sd_mm = real.thickness_sd_mm;
    one.geometry = Geometry::diffuse_8_excluded;
    one.contact = Backing::internal;
    one.backing = Reflectance(grid, std::vector<double>(grid.count, std::clamp(level, 0.0, 0.95)));
    const FittedLayer layer{&transport, one.thickness_mm, 0};
    const FittedPrediction seen = predict_fitted(
        one.backing, std::span(&layer, 1), Viewing{standard_illuminant("D65"), Observer::deg2});
    one.measured = seen.reflectance;
    double squares = 0;
    for (const double sd : seen.reflectance_sd) squares += sd * sd;
    one.reflectance_sd =
        std::clamp(std::sqrt(squares / static_cast<double>(grid.count)), 0.001, 0.4);
    ideal.push_back(std::move(one));
  };
  for (const Drawdown& real : drawdowns) {
    if (real.geometry == Geometry::transmittance) {
      // What transport has learnt from what passes it says of a dark and of a light backing.
      add(real, 0.05);
      add(real, 0.8);
      continue;
    }
    double level = 0;
    for (const double value : real.backing.values()) {
      level += value / static_cast<double>(grid.count);
    }
    add(real, level);
  }
  PasteFitOptions options;
  options.refractive_index = transport.refractive_index;
  options.model_sd = kubelka_munk_model_sd;
  return fit_paste(ideal, options);
}

}  // namespace mamelon
