// How exact a card can be, by simulation.

#include "capture/design.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <memory>
#include <string_view>
#include <utility>
#include <vector>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/low_discrepancy.h"
#include "base/parallel.h"
#include "capture/card_map.h"
#include "capture/expectation.h"
#include "capture/patches.h"
#include "capture/tooth_library.h"
#include "colour/vectors.h"

namespace mamelon {
namespace detail {
namespace {

// What a patch's mean is off by in a photo, noise and unevenness together, as a part of it.
constexpr double signal_sd = 0.0015;

Eigen::RowVectorXd seen(const Illuminant& light) {
  const Power power =
      resample(light.power(), response_grid(), Interpolation::linear, Extrapolation::error);
  return Eigen::Map<const Eigen::RowVectorXd>(power.values().data(),
                                              static_cast<Eigen::Index>(power.size()));
}

// The same of a light with lines, which may fall between the bands: each band is the mean over a
// triangle of 20 nm.
Eigen::RowVectorXd seen_lines(const Illuminant& light) {
  constexpr int reach = 9;
  const Grid grid = response_grid();
  const Grid fine{grid.first_nm - 10, 1, 10 * (grid.count + 1) + 1};
  const Power power = resample(light.power(), fine, Interpolation::linear, Extrapolation::hold);
  Eigen::RowVectorXd out = Eigen::RowVectorXd::Zero(static_cast<Eigen::Index>(grid.count));
  for (Eigen::Index k = 0; k < out.size(); ++k) {
    for (int off = -reach; off <= reach; ++off) {
      const auto at = static_cast<std::size_t>(10 * (k + 1) + off);
      out[k] += (10 - std::abs(off)) * power[at] / 100;
    }
  }
  return out;
}

}  // namespace

std::vector<DesignLight> design_lights() {
  std::vector<DesignLight> lights;
  for (const char* name : {"D50", "D65"}) {
    lights.push_back({name, seen(standard_illuminant(name)), LightKind::daylight, "daylight"});
  }
  lights.push_back({"6000 K", seen(daylight(6000)), LightKind::daylight, "daylight"});
  for (const PopulationLight& light : light_population()) {
    if (light.kind == LightKind::incandescent) {
      lights.push_back({"glowing", light.power, LightKind::incandescent, "tungsten"});
    }
  }
  // CIE 015:2018, table 12: 4103, 2851, 2724 and 4070 K.
  for (const auto& [name, class_name] :
       {std::pair{"LED-B3", "cool LED"}, std::pair{"LED-BH1", "warm LED"},
        std::pair{"LED-V1", "warm LED"}, std::pair{"LED-V2", "cool LED"}}) {
    lights.push_back({name, seen(standard_illuminant(name)), LightKind::diode, class_name});
  }
  for (const char* name : {"F4", "F7", "F11", "LED-RGB1"}) {
    lights.push_back({name, seen_lines(standard_illuminant(name)), LightKind::diode, lines_class});
  }
  return lights;
}

std::vector<DesignSurfaces> design_surfaces() {
  constexpr std::size_t made = 320;
  constexpr Eigen::Index every = 10;
  std::vector<DesignSurfaces> out = {{SurfaceKind::tooth, natural_teeth()}};
  for (const SurfaceKind kind :
       {SurfaceKind::restoration, SurfaceKind::tab, SurfaceKind::prepared_floor}) {
    const Eigen::MatrixXd rows = make_expectation(kind, made).rows;
    Eigen::MatrixXd some(rows.rows() / every, rows.cols());
    for (Eigen::Index i = 0; i < some.rows(); ++i) some.row(i) = rows.row(every * i);
    out.push_back({kind, std::move(some)});
  }
  return out;
}

Eigen::MatrixXd response_of(const Eigen::MatrixXd& camera, const DesignLight& light) {
  Eigen::MatrixXd response = camera.array().rowwise() * light.power.array();
  response /= response.rowwise().sum().maxCoeff();
  return response;
}

Training training_of(const Card& card, const Viewing& viewing, const Eigen::MatrixXd& response,
                     std::size_t run) {
  Training training{.patches = {}, .viewing = viewing, .white = white_point(viewing)};
  QuasiRandom draw(3 * (card.patches.size() + 1));
  for (std::size_t i = 0; i < run; ++i) draw.next();
  const auto add = [&](const Reflectance& r, bool neutral, std::size_t place) {
    TrainingPatch p;
    p.reflectance = on_response_grid(r);
    p.lab = to_lab(r, viewing);
    p.xyz = to_eigen(to_xyz(r, viewing));
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

std::vector<DesignReading> read_all(const ColourMap& map, double variance_factor,
                                    const Eigen::MatrixXd& response, const DesignSurfaces& surfaces,
                                    const Viewing& viewing) {
  const Xyz white = white_point(viewing);
  std::vector<DesignReading> out;
  for (Eigen::Index i = 0; i < surfaces.rows.rows(); ++i) {
    const Eigen::VectorXd r = surfaces.rows.row(i).transpose();
    const Reflectance surface(response_grid(), std::vector<double>(r.begin(), r.end()));
    const Eigen::Vector3d xyz = to_eigen(to_xyz(surface, viewing));
    const MapEstimate estimate = map({response * r, surfaces.kind});
    const Lab read = to_lab(to_xyz(estimate.xyz), white);
    const double error = de00(to_lab(to_xyz(xyz), white), read);
    const Eigen::Matrix3d slope = to_eigen(lab_jacobian(to_xyz(estimate.xyz), white));
    const Eigen::Matrix3d stated =
        variance_factor * slope * estimate.covariance * slope.transpose();
    out.push_back({error, error * error / squared_u95(read, stated)});
  }
  return out;
}

void check_designable(const Card& card) {
  for (const Patch& patch : card.patches) {
    if (!patch.reflectance) {
      throw ArgumentError("a design needs the reflectance of every patch; patch '" + patch.name +
                          "' of card '" + card.name + "' has a Lab only");
    }
  }
}

}  // namespace detail

namespace {

using detail::DesignLight;
using detail::DesignReading;
using detail::DesignSurfaces;
using detail::LightKind;

constexpr int deformations = 1;

struct Outcome {
  LightKind kind;
  std::string_view class_name;
  double weight;
  double de00;
  double share_of_u95;
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

DesignedError error_of(SurfaceKind kind, std::string_view light, const Simulation& simulation) {
  return {.light = std::string(light),
          .de00_median = quantile_of(simulation, &Outcome::de00, 0.5),
          .de00_p95 = quantile_of(simulation, &Outcome::de00, 0.95),
          .kind = kind};
}

// Of each list of surfaces.
using ByKind = std::vector<std::vector<Outcome>>;

ByKind simulate(const Card& card, const Viewing& viewing, int camera,
                const std::shared_ptr<const detail::ResponseModel>& model,
                const std::vector<DesignSurfaces>& surfaces) {
  ByKind outcomes(surfaces.size());
  std::size_t run = 0;
  const auto lights = detail::design_lights();
  const auto broad = static_cast<std::size_t>(std::count_if(
      lights.begin(), lights.end(),
      [](const DesignLight& light) { return light.class_name != detail::lines_class; }));
  std::size_t sensors = 0;
  for (const Eigen::MatrixXd& sensor : detail::cameras_like(camera, deformations)) {
    run = broad * sensors++;
    for (const DesignLight& light : lights) {
      const Eigen::MatrixXd response = detail::response_of(sensor, light);
      const detail::Training training = detail::training_of(card, viewing, response, run++);
      const auto fit = [&](const detail::Training& t) { return detail::fit_response(t, model); };
      // Photos whose patches disagree get a wider interval as it is.
      const double factor = detail::disagreement_factor(
          detail::typical_standardised(detail::leave_one_out(training, fit, false)));
      const auto map = fit(training);
      for (std::size_t k = 0; k < surfaces.size(); ++k) {
        for (const DesignReading& read :
             detail::read_all(*map, factor, response, surfaces[k], viewing)) {
          outcomes[k].push_back({light.kind, light.class_name, 1, read.de00, read.share_of_u95});
        }
      }
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

template <class Is>
Simulation those(const Simulation& simulation, const Is& is) {
  Simulation mine;
  std::copy_if(simulation.left_out.begin(), simulation.left_out.end(),
               std::back_inserter(mine.left_out), is);
  std::copy_if(simulation.known.begin(), simulation.known.end(), std::back_inserter(mine.known),
               is);
  return mine;
}

}  // namespace

CardDesign design_card(const Card& card, const Viewing& viewing) {
  detail::check_designable(card);
  const auto surfaces = detail::design_surfaces();
  const auto whole_model = detail::make_response_model(viewing);
  std::array<std::array<ByKind, 2>, detail::measured_cameras> by_camera;
  detail::parallel_for(by_camera.size(), 1, [&](std::size_t i, std::size_t) {
    const int camera = static_cast<int>(i);
    const auto model = detail::make_response_model(viewing, camera);
    by_camera[i] = {simulate(card, viewing, camera, model, surfaces),
                    simulate(card, viewing, camera, whole_model, surfaces)};
  });
  CardDesign design;
  for (std::size_t k = 0; k < surfaces.size(); ++k) {
    Simulation all;
    for (const auto& [left_out, known] : by_camera) {
      all.left_out.insert(all.left_out.end(), left_out[k].begin(), left_out[k].end());
      all.known.insert(all.known.end(), known[k].begin(), known[k].end());
    }
    for (const std::string_view name : {"daylight", "cool LED", "warm LED", "tungsten", "lines"}) {
      design.errors.push_back(error_of(surfaces[k].kind, name, those(all, [name](const Outcome& o) {
                                         return o.class_name == name;
                                       })));
    }
    Simulation broad =
        those(all, [](const Outcome& o) { return o.class_name != detail::lines_class; });
    balance(broad.left_out);
    balance(broad.known);
    design.errors.push_back(error_of(surfaces[k].kind, "all", broad));
    if (surfaces[k].kind != SurfaceKind::tooth) continue;
    // Cameras in use differ more from each other than from those that this simulation knows: it may
    // widen the interval alone.
    design.variance_factor = std::max(detail::usual_variance_factor,
                                      in_use * quantile_of(broad, &Outcome::share_of_u95, 0.95));
  }
  return design;
}

}  // namespace mamelon
