// How exact a card can be, by simulation.

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <memory>
#include <utility>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/low_discrepancy.h"
#include "base/parallel.h"
#include "capture/card_map.h"
#include "capture/patches.h"
#include "capture/response_map.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

using detail::LightKind;
using detail::MapEstimate;

// What a patch's mean is off by in a photo, noise and unevenness together, as a part of it.
constexpr double signal_sd = 0.0015;
constexpr int deformations = 1;

struct Outcome {
  LightKind kind;
  double weight;
  double de00;
  double share_of_u95;  // squared error over the square of the U95 that the map states
};

double weighted_quantile(std::vector<std::array<double, 2>> values, double share) {
  std::sort(values.begin(), values.end());
  double total = 0;
  for (const auto& [value, weight] : values) total += weight;
  double sum = 0;
  for (const auto& [value, weight] : values) {
    sum += weight;
    if (sum >= share * total) return value;
  }
  return values.back()[0];
}

// Published lights (CIE 015:2018, CIE 224:2017) and Planckian ones; those of the prior are spread
// wider than lights in use are.
std::vector<detail::PopulationLight> design_lights() {
  const auto seen = [](const Illuminant& light) -> Eigen::RowVectorXd {
    const Power power = resample(light.power(), detail::response_grid(), Interpolation::linear,
                                 Extrapolation::error);
    return Eigen::Map<const Eigen::RowVectorXd>(power.values().data(),
                                                static_cast<Eigen::Index>(power.size()));
  };
  std::vector<detail::PopulationLight> lights;
  for (const char* name : {"D50", "D65"}) {
    lights.push_back({seen(standard_illuminant(name)), LightKind::daylight});
  }
  lights.push_back({seen(daylight(6000)), LightKind::daylight});
  for (const detail::PopulationLight& light : detail::light_population()) {
    if (light.kind == LightKind::incandescent) lights.push_back(light);
  }
  for (const char* name : {"LED-B3", "LED-BH1", "LED-V1", "LED-V2"}) {
    lights.push_back({seen(standard_illuminant(name)), LightKind::diode});
  }
  return lights;
}

// The card's patches as a camera and light show them.
detail::Training training_of(const Card& card, const Viewing& viewing,
                             const Eigen::MatrixXd& response, std::size_t run) {
  detail::Training training{.patches = {}, .viewing = viewing, .white = white_point(viewing)};
  detail::QuasiRandom draw(3 * (card.patches.size() + 1));
  for (std::size_t i = 0; i < run; ++i) draw.next();
  const auto add = [&](const Reflectance& r, bool neutral, std::size_t place) {
    detail::TrainingPatch p;
    p.reflectance = detail::on_response_grid(r);
    p.lab = to_lab(r, viewing);
    p.xyz = detail::to_eigen(to_xyz(r, viewing));
    p.neutral = neutral;
    p.rgb = response * p.reflectance;
    for (Eigen::Index c = 0; c < 3; ++c) {
      const double sd = signal_sd * p.rgb[c];
      p.rgb_cov(c, c) = sd * sd;
      p.rgb[c] += draw.spread(3 * place + static_cast<std::size_t>(c), sd);
    }
    p.raw = p.rgb;
    p.raw_cov = p.rgb_cov;
    training.patches.push_back(std::move(p));
  };
  for (std::size_t i = 0; i < card.patches.size(); ++i) {
    add(*card.patches[i].reflectance, card.patches[i].neutral, i);
  }
  if (card.white_reflectance) add(*card.white_reflectance, true, card.patches.size());
  return training;
}

std::vector<Outcome> outcomes_of(const detail::ColourMap& map, double variance_factor,
                                 const Eigen::MatrixXd& response, const Eigen::MatrixXd& teeth,
                                 const Viewing& viewing, LightKind kind) {
  const Xyz white = white_point(viewing);
  std::vector<Outcome> outcomes;
  for (Eigen::Index i = 0; i < teeth.rows(); ++i) {
    const Eigen::VectorXd r = teeth.row(i).transpose();
    const Reflectance tooth(detail::response_grid(), std::vector<double>(r.begin(), r.end()));
    const Eigen::Vector3d xyz = detail::to_eigen(to_xyz(tooth, viewing));
    const MapEstimate estimate = map({response * r});
    const Lab read = to_lab(detail::to_xyz(estimate.xyz), white);
    const double error = de00(to_lab(detail::to_xyz(xyz), white), read);
    const Eigen::Matrix3d slope =
        detail::to_eigen(lab_jacobian(detail::to_xyz(estimate.xyz), white));
    const Eigen::Matrix3d stated =
        variance_factor * slope * estimate.covariance * slope.transpose();
    outcomes.push_back({kind, 1, error, error * error / detail::squared_u95(read, stated)});
  }
  return outcomes;
}

// A camera of the prior is read too well, one left out of it too badly, because the prior is then
// poorer than the one in use: the .632 estimate lies between (Efron 1983, J Am Stat Assoc 78:316).
constexpr double left_out_share = 0.632;

// Squared errors before lights in use over those of this simulation, whose diodes are the most
// uneven ones published and whose teeth include bare edges. Found with three cards, cameras and
// lights that no part of the prior has seen, when teeth were expected all over the wide envelope.
constexpr double in_use = 0.9;

struct Simulation {
  std::vector<Outcome> left_out;
  std::vector<Outcome> known;
};

double quantile_of(const Simulation& simulation, double Outcome::*what, double share) {
  const auto quantile = [&](const std::vector<Outcome>& outcomes) {
    std::vector<std::array<double, 2>> values;
    for (const Outcome& o : outcomes) values.push_back({o.*what, o.weight});
    return weighted_quantile(std::move(values), share);
  };
  return left_out_share * quantile(simulation.left_out) +
         (1 - left_out_share) * quantile(simulation.known);
}

DesignedError error_of(const std::string& name, const Simulation& simulation) {
  return {name, quantile_of(simulation, &Outcome::de00, 0.5),
          quantile_of(simulation, &Outcome::de00, 0.95)};
}

std::vector<Outcome> simulate(const Card& card, const Viewing& viewing, int camera,
                              const std::shared_ptr<const detail::ResponseModel>& model,
                              const Eigen::MatrixXd& teeth) {
  std::vector<Outcome> outcomes;
  std::size_t run = 0;
  const auto lights = design_lights();
  for (const Eigen::MatrixXd& sensor : detail::cameras_like(camera, deformations)) {
    for (const detail::PopulationLight& light : lights) {
      Eigen::MatrixXd response = sensor.array().rowwise() * light.power.array();
      response /= response.rowwise().sum().maxCoeff();
      const detail::Training training = training_of(card, viewing, response, run++);
      const auto fit = [&](const detail::Training& t) { return detail::fit_response(t, model); };
      // Photos whose patches disagree get a wider interval as it is.
      const double factor = detail::disagreement_factor(
          detail::typical_standardised(detail::leave_one_out(training, fit, false)));
      const auto more = outcomes_of(*fit(training), factor, response, teeth, viewing, light.kind);
      outcomes.insert(outcomes.end(), more.begin(), more.end());
    }
  }
  return outcomes;
}

// Classes of light weigh alike, however many lights stand for one.
void balance(std::vector<Outcome>& outcomes) {
  std::array<double, 3> total{};
  for (const Outcome& o : outcomes) total.at(static_cast<std::size_t>(o.kind)) += o.weight;
  for (Outcome& o : outcomes) o.weight /= total.at(static_cast<std::size_t>(o.kind));
}

std::vector<Outcome> of_kind(const std::vector<Outcome>& outcomes, LightKind kind) {
  std::vector<Outcome> mine;
  std::copy_if(outcomes.begin(), outcomes.end(), std::back_inserter(mine),
               [kind](const Outcome& o) { return o.kind == kind; });
  return mine;
}

}  // namespace

CardDesign design_card(const Card& card, const Viewing& viewing) {
  for (const Patch& patch : card.patches) {
    if (!patch.reflectance) {
      throw ArgumentError("a design needs the reflectance of every patch; patch '" + patch.name +
                          "' of card '" + card.name + "' has a Lab only");
    }
  }
  const Eigen::MatrixXd teeth = detail::natural_teeth();
  const auto whole_model = detail::make_response_model(viewing);
  std::array<Simulation, detail::measured_cameras> by_camera;
  detail::parallel_for(by_camera.size(), 1, [&](std::size_t i, std::size_t) {
    const int camera = static_cast<int>(i);
    const auto model = detail::make_response_model(viewing, camera);
    by_camera[i] = {simulate(card, viewing, camera, model, teeth),
                    simulate(card, viewing, camera, whole_model, teeth)};
  });
  Simulation all;
  for (const Simulation& s : by_camera) {
    all.left_out.insert(all.left_out.end(), s.left_out.begin(), s.left_out.end());
    all.known.insert(all.known.end(), s.known.begin(), s.known.end());
  }
  balance(all.left_out);
  balance(all.known);
  CardDesign design;
  for (const auto& [kind, name] :
       {std::pair{LightKind::daylight, "daylight"},
        std::pair{LightKind::incandescent, "incandescent"}, std::pair{LightKind::diode, "LED"}}) {
    design.errors.push_back(
        error_of(name, {of_kind(all.left_out, kind), of_kind(all.known, kind)}));
  }
  design.errors.push_back(error_of("all", all));
  // Cameras in use differ more from each other than from those that this simulation knows: it may
  // widen the interval alone.
  design.variance_factor = std::max(detail::usual_variance_factor,
                                    in_use * quantile_of(all, &Outcome::share_of_u95, 0.95));
  return design;
}

}  // namespace mamelon
