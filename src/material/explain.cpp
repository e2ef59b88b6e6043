#include "material/explain.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include <Eigen/Dense>

#include "base/numbers.h"
#include "material/drawdown_check.h"
#include "material/instrument.h"
#include "material/map_fit.h"

namespace mamelon::detail {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// Circles lit and seen of common instruments (common practice), from nothing lost downwards, close
// enough for the size of the loss to bridge them.
struct Usual {
  std::optional<Aperture> aperture;
  double chance;
};
const std::array<Usual, 8>& usual_apertures() {
  static const std::array<Usual, 8> all{{{{}, 0.3},
                                         {Aperture{24, 14}, 0.1},
                                         {Aperture{17, 10}, 0.1},
                                         {Aperture{13, 8}, 0.1},
                                         {Aperture{10, 6}, 0.1},
                                         {Aperture{8, 4.5}, 0.1},
                                         {Aperture{6.5, 4}, 0.1},
                                         {Aperture{5, 3}, 0.1}}};
  return all;
}
constexpr double usual_loss_sd = 0.2;

// Most instruments keep their scale, some do not, and the readings say which: half are held to a
// third of the stated sd; of the others some have read the bare backings, too, and some take what
// is known of these from elsewhere. Chosen on 24 pastes of tests/bench/paste_study.cpp (seed 77).
struct Instruments {
  double scale;    // in stated sds
  double backing;  // in stated sds
  Bare bare;
  double chance;
};
constexpr double narrow_scale = 0.3;
constexpr double wide_scale = 2;
constexpr std::array instruments{Instruments{narrow_scale, narrow_scale, Bare::same_scale, 0.5},
                                 Instruments{wide_scale, 1, Bare::same_scale, 0.25},
                                 Instruments{3, 1, Bare::own_scale, 0.25}};

bool all_apertures_known(std::span<const Drawdown> drawdowns) {
  return std::none_of(drawdowns.begin(), drawdowns.end(), has_open_aperture);
}

// ln absorption, ln scattering, g and the index, thicknesses: what `PasteFit::covariance` is of.
VectorXd constants_of(const PasteFit& fit) {
  const auto bands = static_cast<Index>(fit.absorption.size());
  const auto specimens = static_cast<Index>(fit.thickness.size());
  VectorXd all(2 * bands + 2 + specimens);
  for (Index i = 0; i < bands; ++i) {
    all[i] = std::log(fit.absorption[static_cast<std::size_t>(i)]);
    all[bands + i] = std::log(fit.scattering[static_cast<std::size_t>(i)]);
  }
  all[2 * bands] = fit.anisotropy;
  all[2 * bands + 1] = fit.refractive_index;
  for (Index m = 0; m < specimens; ++m) {
    all[2 * bands + 2 + m] = fit.thickness[static_cast<std::size_t>(m)].thickness_mm;
  }
  return all;
}

void take_constants(PasteFit& fit, const VectorXd& all) {
  const Grid grid = fit.absorption.grid();
  const auto bands = static_cast<Index>(grid.count);
  std::vector<double> absorption;
  std::vector<double> scattering;
  for (Index i = 0; i < bands; ++i) {
    absorption.push_back(std::exp(all[i]));
    scattering.push_back(std::exp(all[bands + i]));
  }
  fit.absorption = PerMm(grid, std::move(absorption));
  fit.scattering = PerMm(grid, std::move(scattering));
  fit.anisotropy = all[2 * bands];
  fit.refractive_index = all[2 * bands + 1];
  for (std::size_t m = 0; m < fit.thickness.size(); ++m) {
    fit.thickness[m].thickness_mm = all[2 * bands + 2 + static_cast<Index>(m)];
  }
}

struct Candidate {
  PasteFit fit;
  double unlikeliness = 0;
  double chance = 0;
};

// What is taken of apertures and instruments is rough: those that explain the readings nearly as
// well as the likeliest (`alike`, of −2 ln of the probability) count as if they did so equally
// well, so that no near miss is left out, and what lies between them counts `spread` times, because
// the usual ones are few. Chosen on benches of tests/bench/paste_study.cpp with other pastes (seed
// 77) than those that are reported.
struct Choice {
  double alike = 0;
  double spread = 1;
};
constexpr Choice rough_choice{8, 2.5};

// The likeliest fit with the constants of all, each by its chance, and their spread.
PasteFit averaged(std::vector<Candidate> all, const Choice& choice) {
  const auto best = std::min_element(
      all.begin(), all.end(),
      [](const Candidate& a, const Candidate& b) { return a.unlikeliness < b.unlikeliness; });
  PasteFit fit = best->fit;
  // Where even the best leaves more than the noise, what parts it from the others counts less.
  const double noise = fit.widened * fit.widened;
  const double least = best->unlikeliness;
  double sum = 0;
  for (Candidate& one : all) {
    const double apart = std::max(0.0, one.unlikeliness - least - choice.alike);
    one.chance *= std::exp(-apart / (2 * noise));
    sum += one.chance;
  }
  VectorXd mean = VectorXd::Zero(constants_of(fit).size());
  for (const Candidate& one : all) mean += one.chance / sum * constants_of(one.fit);
  MatrixXd covariance = MatrixXd::Zero(mean.size(), mean.size());
  double scale = 0;
  for (const Candidate& one : all) {
    const VectorXd off = constants_of(one.fit) - mean;
    const Eigen::Map<const MatrixXd> own(one.fit.covariance.data(), mean.size(), mean.size());
    covariance += one.chance / sum * (own + choice.spread * off * off.transpose());
    scale += one.chance / sum * one.fit.scale;
  }
  take_constants(fit, mean);
  take_covariance(fit, covariance);
  fit.scale = scale;
  return fit;
}

std::vector<Drawdown> changed(std::span<const Drawdown> drawdowns, const auto& change) {
  std::vector<Drawdown> all(drawdowns.begin(), drawdowns.end());
  for (Drawdown& one : all) change(one);
  return all;
}

// A backing that is stated as seen from inside, as an instrument would read it.
Reflectance in_air(const Drawdown& one, double index) {
  if (one.contact != Backing::internal) return one.backing;
  std::vector<double> values = one.backing.values();
  const Interface surface = interface_of(index, false);
  for (double& value : values) value = to_measured(value, surface);
  return {one.backing.grid(), std::move(values)};
}

std::vector<std::string> specimens_of(std::span<const Drawdown> drawdowns) {
  std::vector<std::string> names;
  for (const Drawdown& one : drawdowns) {
    if (std::find(names.begin(), names.end(), one.specimen) == names.end()) {
      names.push_back(one.specimen);
    }
  }
  return names;
}

// Tries changes of the description and keeps the one that leaves least.
class Trials {
 public:
  Trials(const PasteFitOptions& options, double misfit) : options_(options), least_(misfit) {}

  void attempt(const std::string& text, const std::vector<Drawdown>& drawdowns,
               const PasteFitOptions& options, const std::optional<Aperture>& unknown = {}) {
    try {
      MapFit map(drawdowns, options, unknown);
      map.settle();
      if (map.misfit() < least_) {
        least_ = map.misfit();
        best_ = Cause{text, least_};
      }
    } catch (const Error&) {
      // What cannot be fitted at all explains nothing.
    }
  }
  void attempt(const std::string& text, const std::vector<Drawdown>& drawdowns) {
    attempt(text, drawdowns, options_);
  }
  [[nodiscard]] std::optional<Cause> best() const { return best_; }

 private:
  const PasteFitOptions& options_;
  double least_;
  std::optional<Cause> best_;
};

void try_contact(Trials& trials, std::span<const Drawdown> drawdowns, double index) {
  for (const Face face : {Face::smooth, Face::rough}) {
    trials.attempt(face == Face::smooth
                       ? "the specimens lie across an air gap with a smooth lower face"
                       : "the specimens lie across an air gap with a rough lower face",
                   changed(drawdowns, [&](Drawdown& one) {
                     if (one.geometry == Geometry::transmittance) return;
                     one.backing = in_air(one, index);
                     one.contact = Backing::air_gap;
                     one.lower_face = face;
                   }));
  }
  trials.attempt("the specimens lie in optical contact, not across an air gap",
                 changed(drawdowns, [](Drawdown& one) {
                   if (one.geometry == Geometry::transmittance) return;
                   if (one.contact == Backing::air_gap) one.contact = Backing::seen_in_air;
                 }));
}

void try_geometry(Trials& trials, std::span<const Drawdown> drawdowns) {
  trials.attempt("the specular part is described the wrong way round",
                 changed(drawdowns, [](Drawdown& one) {
                   if (one.geometry == Geometry::diffuse_8_included) {
                     one.geometry = Geometry::diffuse_8_excluded;
                   } else if (one.geometry == Geometry::diffuse_8_excluded) {
                     one.geometry = Geometry::diffuse_8_included;
                   }
                 }));
}

void try_specimens(Trials& trials, std::span<const Drawdown> drawdowns) {
  for (const std::string& name : specimens_of(drawdowns)) {
    constexpr double coarse_mm = 0.3;
    trials.attempt("the thickness of specimen '" + name + "' is wrong",
                   changed(drawdowns, [&](Drawdown& one) {
                     if (one.specimen == name) one.thickness_sd_mm = coarse_mm;
                   }));
    std::vector<Drawdown> swapped(drawdowns.begin(), drawdowns.end());
    Drawdown* first = nullptr;
    for (Drawdown& one : swapped) {
      if (one.specimen != name || one.geometry == Geometry::transmittance) continue;
      if (first == nullptr) {
        first = &one;
      } else if (one.backing != first->backing) {
        std::swap(one.backing, first->backing);
        trials.attempt("the backings of specimen '" + name + "' are swapped", swapped);
        break;
      }
    }
  }
}

std::string lost_at_an_edge(const Aperture& aperture) {
  return "light is lost at the edge of a smaller aperture than stated, as of " +
         format_short(aperture.lit_mm) + " mm lit and " + format_short(aperture.seen_mm) +
         " mm seen";
}

void try_apertures(Trials& trials, std::span<const Drawdown> drawdowns,
                   const PasteFitOptions& options) {
  PasteFitOptions free_loss = options;
  free_loss.loss_sd = std::max(options.loss_sd, usual_loss_sd);
  for (const Usual& usual : usual_apertures()) {
    if (!usual.aperture) continue;
    trials.attempt(lost_at_an_edge(*usual.aperture),
                   changed(drawdowns, [](Drawdown& one) { one.aperture.reset(); }), free_loss,
                   usual.aperture);
  }
}

}  // namespace

PasteFit fit_openly(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  if (options.engine == Engine::kubelka_munk) {
    MapFit map(drawdowns, options);
    map.settle();
    return map.result();
  }
  std::vector<Usual> apertures{{{}, 1}};
  PasteFitOptions open = options;
  if (!all_apertures_known(drawdowns)) {
    apertures.assign(usual_apertures().begin(), usual_apertures().end());
    open.loss_sd = std::max(options.loss_sd, usual_loss_sd);
  }
  std::vector<Candidate> all;
  std::optional<MapFit> last;
  for (const Instruments& kind : instruments) {
    open.scale_sd = kind.scale * options.scale_sd;
    open.backing_sd = kind.backing * options.backing_sd;
    for (const Usual& usual : apertures) {
      MapFit map(drawdowns, open, usual.aperture, kind.bare);
      if (last) map.start_from(*last);
      try {
        map.settle();
      } catch (const ModelError&) {
        continue;
      }
      all.push_back({map.result(), map.unlikeliness(), usual.chance * kind.chance});
      all.back().fit.aperture = usual.aperture;
      last.emplace(std::move(map));
    }
  }
  if (all.empty()) {
    MapFit map(drawdowns, options);
    map.settle();
    return map.result();
  }
  return averaged(std::move(all), apertures.size() > 1 ? rough_choice : Choice{});
}

double misfit_as_stated(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  PasteFitOptions open = options;
  open.scale_sd = wide_scale * options.scale_sd;
  open.backing_sd = wide_scale * options.backing_sd;
  MapFit map(drawdowns, open);
  map.settle();
  return map.misfit();
}

std::optional<Cause> likeliest_cause(std::span<const Drawdown> drawdowns,
                                     const PasteFitOptions& options, double misfit) {
  Trials trials(options, misfit);
  try_contact(trials, drawdowns, options.refractive_index);
  try_geometry(trials, drawdowns);
  try_specimens(trials, drawdowns);
  const std::vector<Drawdown> as_stated(drawdowns.begin(), drawdowns.end());
  PasteFitOptions free_scale = options;
  free_scale.scale_sd = 0.1;
  trials.attempt("the instrument's scale is off", as_stated, free_scale);
  try_apertures(trials, drawdowns, options);
  return trials.best();
}

std::optional<Cause> smaller_aperture(std::span<const Drawdown> drawdowns,
                                      const PasteFitOptions& options, double misfit) {
  Trials trials(options, misfit);
  try_apertures(trials, drawdowns, options);
  return trials.best();
}

std::optional<Cause> likelier_aperture(std::span<const Drawdown> drawdowns,
                                       const PasteFitOptions& options, double clearly) {
  PasteFitOptions keeps_scale = options;
  keeps_scale.scale_sd = narrow_scale * options.scale_sd;
  keeps_scale.backing_sd = narrow_scale * options.backing_sd;
  PasteFitOptions loses_scale = options;
  loses_scale.scale_sd = wide_scale * options.scale_sd;
  loses_scale.backing_sd = wide_scale * options.backing_sd;
  double stated = std::numeric_limits<double>::infinity();
  for (const PasteFitOptions& one : {keeps_scale, loses_scale}) {
    MapFit map(drawdowns, one);
    map.settle();
    stated = std::min(stated, map.unlikeliness());
  }
  keeps_scale.loss_sd = std::max(options.loss_sd, usual_loss_sd);
  const std::vector<Drawdown> unstated =
      changed(drawdowns, [](Drawdown& one) { one.aperture.reset(); });
  double least = stated - clearly;
  std::optional<Cause> found;
  for (const Usual& usual : usual_apertures()) {
    if (!usual.aperture) continue;
    try {
      MapFit map(unstated, keeps_scale, usual.aperture);
      map.settle();
      if (map.unlikeliness() >= least) continue;
      least = map.unlikeliness();
      found = Cause{lost_at_an_edge(*usual.aperture), map.misfit()};
    } catch (const ModelError&) {
      // What cannot be fitted at all explains nothing.
    }
  }
  return found;
}

}  // namespace mamelon::detail
