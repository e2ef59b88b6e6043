// Which patches would let a card tell more.

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "base/parallel.h"
#include "capture/design.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

using Curve = Eigen::ArrayXd;

struct Candidate {
  std::string made_of;
  Curve reflectance;
};

Curve wavelengths() {
  const Grid grid = detail::response_grid();
  return Curve::LinSpaced(static_cast<Eigen::Index>(grid.count), grid.first_nm, grid.last_nm());
}

// A thick layer of absorption over scattering `ratio` (Kubelka and Munk 1931, Z Tech Phys 12:593),
// out of a matt binder whose surface takes 4 % (from memory).
Curve paint_of(const Curve& ratio) {
  constexpr double surface = 0.04;
  const Curve inside = 1 + ratio - (ratio.square() + 2 * ratio).sqrt();
  return surface + (1 - surface) * inside;
}

// White takes 2 % of the light. Inorganic pigments absorb up to an edge (oxides of iron,
// sulphides, titanates), organic ones and ions in bands; 60 of them stand for those of the trade.
std::vector<Candidate> candidates() {
  constexpr double white = 0.0002;
  const Curve nm = wavelengths();
  std::vector<Candidate> out;
  const auto add = [&](const std::string& what, const Curve& shape) {
    for (const auto& [how, strength] : {std::pair{"weakly", 0.05}, std::pair{"strongly", 1.0}}) {
      out.push_back({what + ", " + how, paint_of(white + strength * shape)});
      out.push_back({what + ", " + how + ", with black", paint_of(0.15 + strength * shape)});
    }
  };
  for (const int at : {430, 460, 490, 520, 550, 580, 610}) {
    add("absorbs below " + std::to_string(at) + " nm", 1 / (1 + ((nm - at) / 10).exp()));
  }
  for (const int at : {440, 480, 520, 560, 600, 640, 670}) {
    add("absorbs around " + std::to_string(at) + " nm", (-0.5 * ((nm - at) / 22).square()).exp());
  }
  for (const double ratio : {0.02, 0.1, 0.4, 1.5}) {
    out.push_back(
        {"grey of L* " +
             detail::format_fixed(116 * std::cbrt(paint_of(Curve::Constant(1, ratio))[0]) - 16, 0),
         paint_of(Curve::Constant(nm.size(), ratio))});
  }
  return out;
}

Patch patch_of(const Candidate& candidate) {
  Patch patch;
  patch.name = candidate.made_of;
  const Curve& r = candidate.reflectance;
  patch.reflectance = Reflectance(detail::response_grid(), {r.begin(), r.end()});
  return patch;
}

// What a card is tried with: cameras, each before a model that has not seen it, and lights.
struct Trial {
  std::vector<Eigen::MatrixXd> cameras;
  std::vector<std::shared_ptr<const detail::ResponseModel>> models;
  std::vector<detail::DesignLight> lights;
  std::vector<double> light_weights;  // classes of light weigh alike
  std::vector<detail::DesignSurfaces> surfaces;
};

Trial trial_of(const Viewing& viewing) {
  Trial trial{.cameras = {},
              .models = {},
              .lights = detail::design_lights(),
              .light_weights = {},
              .surfaces = detail::design_surfaces()};
  // A third of the surfaces tells candidates apart as well as all do.
  constexpr Eigen::Index every = 3;
  for (detail::DesignSurfaces& surfaces : trial.surfaces) {
    for (Eigen::Index i = 0; every * i < surfaces.rows.rows(); ++i) {
      surfaces.rows.row(i) = surfaces.rows.row(every * i).eval();
    }
    const Eigen::Index some = (surfaces.rows.rows() + every - 1) / every;
    surfaces.rows.conservativeResize(some, Eigen::NoChange);
  }
  for (int i = 0; i < detail::measured_cameras; ++i) {
    trial.cameras.push_back(detail::cameras_like(i, 0).front());
    trial.models.push_back(detail::make_response_model(viewing, i));
  }
  for (const detail::DesignLight& light : trial.lights) {
    const auto alike = std::count_if(
        trial.lights.begin(), trial.lights.end(),
        [&](const detail::DesignLight& other) { return other.class_name == light.class_name; });
    trial.light_weights.push_back(1 / static_cast<double>(alike));
  }
  return trial;
}

// Root mean square ΔE00.
double error_of(const Card& card, const Viewing& viewing, const Trial& trial) {
  double sum = 0;
  double weights = 0;
  for (std::size_t c = 0; c < trial.cameras.size(); ++c) {
    for (std::size_t l = 0; l < trial.lights.size(); ++l) {
      const Eigen::MatrixXd response = detail::response_of(trial.cameras[c], trial.lights[l]);
      const auto map = detail::fit_response(
          detail::training_of(card, viewing, response, c * trial.lights.size() + l),
          trial.models[c]);
      for (const detail::DesignSurfaces& surfaces : trial.surfaces) {
        const auto readings = detail::read_all(*map, 1, response, surfaces, viewing);
        for (const detail::DesignReading& reading : readings) {
          const double weight = trial.light_weights[l] / static_cast<double>(readings.size());
          sum += weight * reading.de00 * reading.de00;
          weights += weight;
        }
      }
    }
  }
  return std::sqrt(sum / weights);
}

}  // namespace

std::vector<SuggestedPatch> suggest_patches(const Card& card, const Viewing& viewing,
                                            std::size_t count) {
  constexpr std::size_t most = 10;
  if (count < 1 || count > most) {
    throw ArgumentError("1 to 10 patches can be suggested, not " + std::to_string(count));
  }
  detail::check_designable(card);
  const Trial trial = trial_of(viewing);
  std::vector<Candidate> left = candidates();
  Card grown = card;
  double error = error_of(grown, viewing, trial);
  std::vector<SuggestedPatch> out;
  for (std::size_t round = 0; round < count; ++round) {
    std::vector<double> errors(left.size());
    detail::parallel_for(left.size(), 1, [&](std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) {
        Card with = grown;
        with.patches.push_back(patch_of(left[i]));
        errors[i] = error_of(with, viewing, trial);
      }
    });
    const auto best = std::min_element(errors.begin(), errors.end()) - errors.begin();
    const auto at = static_cast<std::size_t>(best);
    const Patch patch = patch_of(left[at]);
    grown.patches.push_back(patch);
    out.push_back({.made_of = left[at].made_of,
                   .lab = to_lab(*patch.reflectance, viewing),
                   .reflectance = *patch.reflectance,
                   .error_before = error,
                   .error_after = errors[at]});
    error = errors[at];
    left.erase(left.begin() + best);
  }
  return out;
}

}  // namespace mamelon
