#include "material/reading_model.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace mamelon::detail {

struct ReadingModel::Optics {
  std::vector<Instrument> instruments;        // one a drawdown
  std::vector<std::vector<double>> backings;  // from inside, or in air under a smooth face
  std::optional<Ordinates> even;
  std::optional<Ordinates> beam;
};

ReadingModel::ReadingModel(std::span<const Drawdown> drawdowns, const PasteFitOptions& options,
                           const std::optional<Aperture>& unknown)
    : engine_(options.engine), streams_(options.streams) {
  std::map<std::tuple<double, double, double, bool>, std::shared_ptr<const EdgeLoss>> losses;
  for (const Drawdown& drawdown : drawdowns) {
    const bool smooth_gap =
        drawdown.contact == Backing::air_gap && drawdown.lower_face == Face::smooth;
    // Of a transmittance all is caught.
    const bool part = drawdown.geometry != Geometry::transmittance;
    const std::optional<Aperture> aperture =
        drawdown.aperture || !part ? drawdown.aperture : unknown;
    std::shared_ptr<const EdgeLoss> loss;
    if (aperture && part) {
      auto& known =
          losses[{aperture->lit_mm, aperture->seen_mm, drawdown.thickness_mm, smooth_gap}];
      if (!known) {
        known = std::make_shared<EdgeLoss>(*aperture, drawdown.thickness_mm, smooth_gap);
      }
      loss = known;
    }
    setups_.push_back({drawdown.geometry, drawdown.contact,
                       smooth_gap && engine_ == Engine::transport, drawdown.lower_face,
                       drawdown.backing.values(), std::move(loss)});
    (drawdown.geometry == Geometry::angle_45_0 ? beam_ : even_) = true;
    // Between two mirroring faces four streams are too few.
    if (setups_.back().smooth_gap) streams_ = std::max(streams_, 8);
  }
}

bool ReadingModel::has_loss() const {
  return std::any_of(setups_.begin(), setups_.end(),
                     [](const Setup& setup) { return setup.loss && !setup.loss->none(); });
}

bool ReadingModel::has_backing_in_air() const {
  return std::any_of(setups_.begin(), setups_.end(), [](const Setup& setup) {
    return setup.contact != Backing::internal && setup.geometry != Geometry::transmittance;
  });
}

bool ReadingModel::has_transmittance() const {
  return std::any_of(setups_.begin(), setups_.end(),
                     [](const Setup& setup) { return setup.geometry == Geometry::transmittance; });
}

ReadingModel::Prepared ReadingModel::prepare(Constants constants) const {
  auto optics = std::make_shared<Optics>();
  const double n = constants.refractive_index;
  for (const Setup& setup : setups_) {
    optics->instruments.push_back(instrument_of(setup.geometry, n));
    std::vector<double>& backing = optics->backings.emplace_back();
    // What is read of the bare backing is off by the same scale.
    const double level =
        setup.contact == Backing::internal ? 1 : constants.backing / constants.scale;
    const Contact inside(setup.contact, setup.geometry, n);
    for (const double value : setup.backing) {
      backing.push_back(std::min(setup.smooth_gap ? level * value : inside(level * value), 1.0));
    }
  }
  Prepared prepared;
  if (engine_ == Engine::transport) {
    const auto modes = [&](const Ordinates& ordinates) {
      return modes_of(ordinates, constants.absorption, constants.scattering, constants.anisotropy);
    };
    if (even_) prepared.even = modes(optics->even.emplace(streams_, n));
    if (beam_) prepared.beam = modes(optics->beam.emplace(streams_, n, Light::beam_45));
  }
  prepared.optics = std::move(optics);
  prepared.constants = std::move(constants);
  return prepared;
}

// Of two fluxes: both faces send k2 of the light inside back.
std::vector<double> ReadingModel::transmitted(const Prepared& paste, std::size_t drawdown,
                                              double thickness_mm) const {
  const Constants& constants = paste.constants;
  std::vector<double> readings;
  if (engine_ == Engine::transport) {
    readings = normal_transmittances(*paste.optics->even, {&*paste.even, thickness_mm},
                                     setups_[drawdown].lower_face);
  } else {
    const Interface& surface = paste.optics->instruments[drawdown].surface;
    for (std::size_t i = 0; i < constants.absorption.size(); ++i) {
      const LayerOptics layer =
          layer_optics(constants.absorption[i], constants.scattering[i], thickness_mm);
      const double returned = 1 - surface.k2 * layer.r0;
      const double again = surface.k2 * layer.t;
      readings.push_back((1 - surface.k1) * (1 - surface.k2) * layer.t /
                         (returned * returned - again * again));
    }
  }
  for (double& reading : readings) reading *= constants.transmitted;
  return readings;
}

std::vector<double> ReadingModel::read(const Prepared& paste, std::size_t drawdown,
                                       double thickness_mm) const {
  const Setup& setup = setups_[drawdown];
  if (setup.geometry == Geometry::transmittance) return transmitted(paste, drawdown, thickness_mm);
  const Constants& constants = paste.constants;
  const Instrument& instrument = paste.optics->instruments[drawdown];
  const std::vector<double>& backing = paste.optics->backings[drawdown];
  std::vector<double> readings;
  if (engine_ == Engine::transport) {
    const bool angled = setup.geometry == Geometry::angle_45_0;
    const ModesLayer layer{angled ? &*paste.beam : &*paste.even, thickness_mm};
    const Ordinates& ordinates = angled ? *paste.optics->beam : *paste.optics->even;
    readings = normal_factors(ordinates, backing, std::span(&layer, 1),
                              setup.smooth_gap ? Under::air : Under::contact);
  } else {
    Instrument without_gloss = instrument;
    without_gloss.surface.specular_included = false;
    for (std::size_t i = 0; i < backing.size(); ++i) {
      const LayerOptics layer =
          layer_optics(constants.absorption[i], constants.scattering[i], thickness_mm);
      readings.push_back(detail::read(over(layer, backing[i]), without_gloss));
    }
  }
  if (setup.loss && !setup.loss->none()) {
    // Of two fluxes: K = 2 µa and S = ¾ µs′ are near enough for what is lost.
    const bool two_fluxes = engine_ == Engine::kubelka_munk;
    const double of_absorption = two_fluxes ? 0.5 : 1;
    const double of_scattering = two_fluxes ? 4.0 / 3 : 1;
    for (std::size_t i = 0; i < backing.size(); ++i) {
      const double lost =
          (*setup.loss)(thickness_mm, of_absorption * constants.absorption[i],
                        of_scattering * constants.scattering[i], constants.anisotropy,
                        constants.refractive_index, backing[i]);
      readings[i] *= std::max(0.0, 1 - constants.loss * lost);
    }
  }
  const double gloss = instrument.surface.specular_included ? instrument.surface.k1 : 0;
  for (double& reading : readings) reading = constants.scale * (reading + gloss);
  return readings;
}

}  // namespace mamelon::detail
