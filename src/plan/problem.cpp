#include "plan/problem.h"

#include <algorithm>
#include <cmath>

#include "mamelon/limits.h"

#include "base/find.h"
#include "base/numbers.h"
#include "shade/pair_metric.h"

namespace mamelon::detail {
namespace {

// Model errors of neighbouring bands go together; their correlation falls to 1/√e over this
// distance. A judgement: fit residuals of two-flux constants vary over about this width.
constexpr double model_error_width_nm = 60;

void check_depth(double depth_mm) {
  if (!(depth_mm > 0) || !std::isfinite(depth_mm)) {
    throw ArgumentError("the depth is " + format_short(depth_mm) + " mm; give it in mm above 0");
  }
  if (depth_mm > limits::plan_depth_mm) {
    throw ModelError("the depth is " + format_short(depth_mm) + " mm; plans reach down to 20 mm");
  }
}

void check_request(const PlanRequest& request) {
  check_depth(request.depth_mm);
  check_paste_set(request.pastes);
  check(request, "the plan");
  if (!request.illuminant_weights.empty() &&
      request.illuminant_weights.size() != request.illuminants.size()) {
    throw ArgumentError("there are " + std::to_string(request.illuminant_weights.size()) +
                        " illuminant weights for " + std::to_string(request.illuminants.size()) +
                        " illuminants; give one each");
  }
  check_reflectance(request.floor, "floor");
  for (const Reflectance& error : request.floor_errors) {
    if (error.grid() != request.floor.grid()) {
      throw ArgumentError("an error of the floor stands on another wavelength grid than the floor");
    }
  }
  if (request.floor.grid() != request.pastes.pastes.front().absorption.grid()) {
    throw ArgumentError(
        "the floor and the pastes stand on different wavelength grids; resample the floor");
  }
  const Lab& lab = request.target.lab.value;
  if (!(lab.l > 0 && lab.l <= 100) || !std::isfinite(lab.a) || !std::isfinite(lab.b)) {
    throw ArgumentError("the target's L* is " + format_short(lab.l) +
                        "; a target colour has L* in 0 to 100 and finite a*, b*");
  }
  constexpr double farthest = 150;
  if (std::max(std::abs(lab.a), std::abs(lab.b)) > farthest) {
    throw ArgumentError("the target has a* " + format_short(lab.a) + " and b* " +
                        format_short(lab.b) + "; those of a surface lie from -150 to 150");
  }
  if (!is_covariance(request.target.lab.covariance())) {
    throw ArgumentError("the target's covariance is not positive semi-definite");
  }
}

// Reflectance of the floor as the first layer sees it.
std::vector<double> internal_floor(const PlanRequest& request, const Interface& surface) {
  std::vector<double> floor = request.floor.values();
  for (std::size_t i = 0; i < floor.size(); ++i) {
    const double internal = to_internal(floor[i], surface);
    if (!(internal >= 0 && internal <= 1)) {
      throw ModelError("the floor reads " + format_short(floor[i]) + " at " +
                       format_short(request.floor.grid().wavelength_nm(i)) +
                       " nm, which no floor under its surface can; check whether it was read with "
                       "the surface reflection included");
    }
    floor[i] = internal;
  }
  return floor;
}

// An error of the floor as the first layer sees it, by d(internal)/d(seen in air).
std::vector<double> internal_error(const Reflectance& seen, const PlanRequest& request,
                                   const Interface& surface) {
  std::vector<double> error = seen.values();
  for (std::size_t i = 0; i < error.size(); ++i) {
    const double outside = request.floor[i] - (surface.specular_included ? surface.k1 : 0);
    const double pass = (1 - surface.k1) * (1 - surface.k2);
    const double out = pass + surface.k2 * outside;
    error[i] *= pass / (out * out);
  }
  return error;
}

// The quadratic form of ΔE00² around `at`, by second differences averaged over both directions:
// first ones, as `local_metric` takes, do not exist at a grey.
Mat3 difference_metric(const Lab& at, const DifferenceWeights& weights) {
  constexpr double h = 1e-3;
  const auto square = [&](const Vec3& step) {
    const Lab up{at.l + step[0], at.a + step[1], at.b + step[2]};
    const Lab down{at.l - step[0], at.a - step[1], at.b - step[2]};
    const double forward = de00(at, up, weights);
    const double backward = de00(at, down, weights);
    return (forward * forward + backward * backward) / (2 * h * h);
  };
  Mat3 g{};
  for (std::size_t i = 0; i < 3; ++i) {
    Vec3 step{};
    step[i] = h;
    g[i][i] = square(step);
  }
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      Vec3 step{};
      step[i] = h;
      step[j] = h;
      g[i][j] = g[j][i] = (square(step) - g[i][i] - g[j][j]) / 2;
    }
  }
  return g;
}

// Covariance of XYZ for a reflectance error of sd 1 correlated over neighbouring bands.
Mat3 model_error_xyz(const Weights& w) {
  const std::vector<double>* rows[3] = {&w.x, &w.y, &w.z};
  Mat3 v{};
  for (std::size_t i = 0; i < w.grid.count; ++i) {
    for (std::size_t j = 0; j < w.grid.count; ++j) {
      const double away =
          (w.grid.wavelength_nm(i) - w.grid.wavelength_nm(j)) / model_error_width_nm;
      const double correlation = std::exp(-0.5 * away * away);
      for (std::size_t p = 0; p < 3; ++p) {
        for (std::size_t q = 0; q < 3; ++q) {
          v[p][q] += (*rows[p])[i] * correlation * (*rows[q])[j];
        }
      }
    }
  }
  return v;
}

View make_view(const PlanRequest& request, const Grid& grid, const Viewing& viewing,
               const Lab& target) {
  View view{viewing, mamelon::weights(grid, viewing), white_point(viewing), target};
  view.metric = difference_metric(target, request.weights);
  view.target_ms = mean_square(view.metric, request.target.lab.covariance());
  view.paste_lab = propagate(lab_jacobian(to_xyz(target, view.white), view.white),
                             model_error_xyz(*view.weights));
  view.paste_ms = mean_square(view.metric, view.paste_lab);
  return view;
}

// Lights to predict under: the target's own, then the request's or the usual three, each once.
std::vector<std::pair<Illuminant, double>> lights_of(const PlanRequest& request) {
  std::vector<std::pair<Illuminant, double>> lights{{request.target.viewing.illuminant, 1.0}};
  const auto add = [&](const Illuminant& light, double weight) {
    const auto same = detail::find_by(lights, light, &std::pair<Illuminant, double>::first);
    if (same == lights.end()) {
      lights.emplace_back(light, weight);
    } else {
      same->second += weight;
    }
  };
  for (std::size_t i = 0; i < request.illuminants.size(); ++i) {
    add(request.illuminants[i],
        request.illuminant_weights.empty() ? 0.0 : request.illuminant_weights[i]);
  }
  if (request.illuminants.empty()) {
    for (const char* name : {"D65", "A", "LED-B3"}) {
      add(standard_illuminant(name), 0);
    }
  }
  return lights;
}

std::vector<View> make_views(const PlanRequest& request, const Grid& grid,
                             std::vector<std::string>& warnings) {
  const auto lights = lights_of(request);
  const Reading& target = request.target;
  std::vector<View> views{make_view(request, grid, target.viewing, target.lab.value)};
  views.front().weight = lights.front().second;
  if (lights.size() > 1) {
    std::optional<Reflectance> curve = target.reflectance;
    if (!curve) {
      try {
        curve = estimate_reflectance(target.lab.value, target.viewing, grid);
        warnings.emplace_back(
            "the target has no reflectance curve: its colour under other lights is that of the "
            "smoothest reflectance of that colour");
      } catch (const ModelError& error) {
        warnings.emplace_back(std::string("colours under other lights are left out: ") +
                              error.what());
      }
    }
    for (std::size_t i = 1; curve && i < lights.size(); ++i) {
      const Viewing viewing{lights[i].first, target.viewing.observer};
      views.push_back(make_view(request, grid, viewing, to_lab(*curve, viewing)));
      views.back().weight = lights[i].second;
    }
  }
  double total = 0;
  for (const View& view : views) {
    total += view.weight;
  }
  for (View& view : views) {
    view.weight /= total;
  }
  return views;
}

}  // namespace

int steps_of_depth(const PlanRequest& request, double depth_mm) {
  check_depth(depth_mm);
  return static_cast<int>(std::lround(depth_mm / request.step_mm));
}

double mm_of(const Problem& problem, int steps) {
  constexpr double decimals = 1e6;
  return std::round(steps * problem.request->step_mm * decimals) / decimals;
}

bool may_follow(const Problem& problem, std::size_t lower, std::size_t upper) {
  return lower != upper && (!problem.request->role_order ||
                            problem.materials[lower].role <= problem.materials[upper].role);
}

Engine engine_of(const Problem& problem, const std::vector<std::size_t>& pastes) {
  return std::all_of(pastes.begin(), pastes.end(),
                     [&](std::size_t paste) { return problem.materials[paste].transport; })
             ? Engine::transport
             : Engine::kubelka_munk;
}

double model_sd(const Problem& problem, std::size_t paste, Engine engine) {
  const Paste& of = problem.request->pastes.pastes[paste];
  return engine == Engine::transport ? transport_reflectance_sd(of) : of.reflectance_sd;
}

double model_sd(const Problem& problem, const std::vector<std::size_t>& pastes) {
  const Engine engine = engine_of(problem, pastes);
  double sd = 0;
  for (const std::size_t paste : pastes) sd = std::max(sd, model_sd(problem, paste, engine));
  return sd;
}

double length(const Mat3& metric, const Vec3& g) {
  return std::sqrt(std::max(0.0, quadratic(metric, g)));
}

Problem make_problem(const PlanRequest& request, std::vector<std::string>& warnings) {
  check_request(request);
  Problem problem;
  problem.request = &request;
  problem.depth_steps = steps_of_depth(request, request.depth_mm);
  const Interface surface = interface_of(request.floor_refractive_index, request.specular_included);
  problem.floor = internal_floor(request, surface);
  for (const Reflectance& error : request.floor_errors) {
    problem.floor_errors.push_back(internal_error(error, request, surface));
  }
  constexpr double rounding = 1e-6;
  for (const Paste& paste : request.pastes.pastes) {
    const auto least = static_cast<int>(std::ceil(paste.minimum_mm / request.step_mm - rounding));
    const double most = std::min(paste.maximum_mm, limits::plan_depth_mm) / request.step_mm;
    problem.materials.push_back({std::max(1, least), static_cast<int>(std::floor(most + rounding)),
                                 static_cast<int>(paste.role),
                                 request.rank_by_transport && paste.transport.has_value(),
                                 interface_of(paste.refractive_index, request.specular_included)});
  }
  problem.views = make_views(request, request.floor.grid(), warnings);
  problem.target_covariance = request.target.lab.covariance();
  const double planned_mm = mm_of(problem, problem.depth_steps);
  if (std::abs(planned_mm - request.depth_mm) > rounding) {
    warnings.push_back("the depth of " + format_short(request.depth_mm) + " mm is planned as " +
                       format_short(planned_mm) + " mm, a whole number of steps of " +
                       format_short(request.step_mm) + " mm");
  }
  return problem;
}

}  // namespace mamelon::detail
