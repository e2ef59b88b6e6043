#include "material/reading_model.h"

#include <algorithm>
#include <cmath>

namespace mamelon::detail {

ReadingModel::ReadingModel(std::span<const Drawdown> drawdowns, const PasteFitOptions& options)
    : engine_(options.engine) {
  const double n = options.refractive_index;
  for (const Drawdown& drawdown : drawdowns) {
    Setup setup{drawdown.geometry, instrument_of(drawdown.geometry, n), {}};
    for (const double value : drawdown.backing.values()) {
      setup.backing.push_back(backing_inside(value, drawdown.contact, drawdown.geometry, n));
    }
    setups_.push_back(std::move(setup));
    if (engine_ == Engine::transport) {
      if (drawdown.geometry == Geometry::angle_45_0) {
        if (!beam_) beam_.emplace(options.streams, n, Light::beam_45);
      } else if (!even_) {
        even_.emplace(options.streams, n);
      }
    }
  }
}

ReadingModel::Prepared ReadingModel::prepare(Constants constants) const {
  Prepared prepared;
  const auto modes = [&](const Ordinates& ordinates) {
    return modes_of(ordinates, constants.absorption, constants.scattering, constants.anisotropy);
  };
  if (even_) prepared.even = modes(*even_);
  if (beam_) prepared.beam = modes(*beam_);
  prepared.constants = std::move(constants);
  return prepared;
}

std::vector<double> ReadingModel::read(const Prepared& paste, std::size_t drawdown,
                                       double thickness_mm) const {
  const Setup& setup = setups_[drawdown];
  if (engine_ == Engine::transport) {
    const bool angled = setup.geometry == Geometry::angle_45_0;
    const ModesLayer layer{angled ? &*paste.beam : &*paste.even, thickness_mm};
    std::vector<double> factors =
        normal_factors(angled ? *beam_ : *even_, setup.backing, std::span(&layer, 1));
    if (setup.geometry == Geometry::diffuse_8_included) {
      for (double& factor : factors) factor += setup.instrument.surface.k1;
    }
    return factors;
  }
  std::vector<double> readings;
  for (std::size_t i = 0; i < setup.backing.size(); ++i) {
    const LayerOptics layer =
        layer_optics(paste.constants.absorption[i], paste.constants.scattering[i], thickness_mm);
    readings.push_back(detail::read(over(layer, setup.backing[i]), setup.instrument));
  }
  return readings;
}

}  // namespace mamelon::detail
