#include "plan/objective.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mamelon::detail {
namespace {

// Half of the way over which slopes in a thickness are taken.
constexpr double slope_mm = 0.02;

Lab lab_of(const std::vector<double>& reflectance, const View& view) {
  const Vec3 xyz = integrate(reflectance, *view.weights);
  return to_lab(Xyz{xyz[0], xyz[1], xyz[2]}, view.white);
}

std::vector<double> difference(const std::vector<double>& up, const std::vector<double>& down,
                               double across) {
  std::vector<double> slope(up.size());
  for (std::size_t i = 0; i < slope.size(); ++i) slope[i] = (up[i] - down[i]) / across;
  return slope;
}

std::vector<double> shifted_floor(const Problem& problem, const std::vector<double>& error,
                                  double sign) {
  std::vector<double> floor = problem.floor;
  for (std::size_t i = 0; i < floor.size(); ++i) {
    floor[i] = std::clamp(floor[i] + sign * error[i], 0.0, 1.0);
  }
  return floor;
}

}  // namespace

Optics::Optics(const Problem& problem) : problem_(problem) {
  std::vector<Paste> known;
  for (std::size_t i = 0; i < problem.materials.size(); ++i) {
    prepared_.push_back(known.size());
    if (problem.materials[i].transport) known.push_back(problem.request->pastes.pastes[i]);
  }
  if (!known.empty()) transport_.emplace(known);
}

std::vector<double> Optics::seen(const std::vector<double>& floor,
                                 const std::vector<std::size_t>& pastes,
                                 const std::vector<double>& thickness_mm) const {
  const PlanRequest& request = *problem_.request;
  if (engine_of(problem_, pastes) == Engine::transport) {
    std::vector<PreparedLayer> layers;
    for (std::size_t j = 0; j < pastes.size(); ++j) {
      layers.push_back({prepared_[pastes[j]], thickness_mm[j]});
    }
    return transport_
        ->predict(Reflectance(request.floor.grid(), floor), layers, request.specular_included)
        .values();
  }
  std::vector<double> r = floor;
  for (std::size_t j = 0; j < pastes.size(); ++j) {
    const Paste& paste = request.pastes.pastes[pastes[j]];
    for (std::size_t i = 0; i < r.size(); ++i) {
      r[i] = over(layer_optics(paste.absorption[i], paste.scattering[i], thickness_mm[j]), r[i]);
    }
  }
  for (double& value : r) value = to_measured(value, problem_.materials[pastes.back()].surface);
  return r;
}

ViewValue first_order(const Problem& problem, const View& view, const Vec3& sum,
                      const std::vector<Vec3>& slopes, std::size_t layers, double model_sd,
                      const Vec3& shift) {
  const PlanRequest& request = *problem.request;
  const Xyz xyz{sum[0], sum[1], sum[2]};
  const Mat3 jacobian = lab_jacobian(xyz, view.white);
  const Lab lab = to_lab(xyz, view.white);
  ViewValue value;
  value.lab = {lab.l + shift[0], lab.a + shift[1], lab.b + shift[2]};
  value.de00 = de00(view.target, value.lab, request.weights);
  for (const Vec3& slope : slopes) value.errors.push_back(multiply(jacobian, slope));
  const auto end_of_layers = value.errors.begin() + static_cast<std::ptrdiff_t>(layers);
  value.per_mm.assign(value.errors.begin(), end_of_layers);
  for (std::size_t j = 0; j < layers; ++j) {
    for (std::size_t k = 0; k < 3; ++k) {
      value.errors[j][k] -= request.total_held ? value.per_mm.back()[k] : 0;
      value.errors[j][k] *= request.thickness_sd_mm;
    }
  }
  if (request.total_held) value.errors.erase(end_of_layers - 1);
  value.spread_ms = view.target_ms + model_sd * model_sd * view.paste_ms;
  for (const Vec3& error : value.errors) {
    const double far = length(view.metric, error);
    value.spread_ms += far * far;
  }
  return value;
}

std::vector<Lab> colours(const Optics& optics, const std::vector<std::size_t>& pastes,
                         const std::vector<double>& thickness_mm) {
  const Problem& problem = optics.problem();
  const std::vector<double> seen = optics.seen(problem.floor, pastes, thickness_mm);
  std::vector<Lab> labs;
  for (const View& view : problem.views) labs.push_back(lab_of(seen, view));
  return labs;
}

double nominal_ms(const Problem& problem, const std::vector<Lab>& labs) {
  double sum = 0;
  for (std::size_t v = 0; v < labs.size(); ++v) {
    const View& view = problem.views[v];
    const double de = de00(view.target, labs[v], problem.request->weights);
    sum += view.weight * de * de;
  }
  return sum;
}

Weighing::Weighing(const Optics& optics, const std::vector<std::size_t>& pastes)
    : optics_(optics), pastes_(pastes) {
  const Problem& problem = optics.problem();
  if (engine_of(problem, pastes) != Engine::transport) return;
  std::vector<Paste> known;
  for (const std::size_t paste : pastes) known.push_back(problem.request->pastes.pastes[paste]);
  for (std::size_t j = 0; j < pastes.size(); ++j) {
    // A paste that stands in two layers errs in both at once.
    const auto here = pastes.begin() + static_cast<std::ptrdiff_t>(j);
    if (std::find(pastes.begin(), here, pastes[j]) != here) continue;
    const Paste paste = known[j];
    for (const ConstantsMode& mode : paste.transport->modes) {
      moves_.push_back({pastes[j], known.size()});
      known.push_back(moved(paste, mode, 1));
    }
  }
  if (moves_.empty()) return;
  for (std::size_t i = 0; i < known.size(); ++i) known[i].name = std::to_string(i);
  prepared_.emplace(known);
}

Evaluation Weighing::at(const std::vector<double>& thickness_mm) const {
  const Problem& problem = optics_.problem();
  const PlanRequest& request = *problem.request;
  const std::size_t layers = pastes_.size();
  Evaluation result;
  result.reflectance = optics_.seen(problem.floor, pastes_, thickness_mm);
  std::vector<std::vector<double>> slopes;
  for (std::size_t j = 0; j < layers; ++j) {
    std::vector<double> thicker = thickness_mm;
    std::vector<double> thinner = thickness_mm;
    const double down = std::min(slope_mm, thinner[j] / 2);
    thicker[j] += slope_mm;
    thinner[j] -= down;
    slopes.push_back(difference(optics_.seen(problem.floor, pastes_, thicker),
                                optics_.seen(problem.floor, pastes_, thinner), slope_mm + down));
  }
  for (const Move& move : moves_) {
    std::vector<PreparedLayer> stack;
    for (std::size_t j = 0; j < layers; ++j) {
      stack.push_back({pastes_[j] == move.paste ? move.moved : j, thickness_mm[j]});
    }
    const Reflectance floor(request.floor.grid(), problem.floor);
    slopes.push_back(
        difference(prepared_->predict(floor, stack, request.specular_included).values(),
                   result.reflectance, 1));
  }
  for (const std::vector<double>& error : problem.floor_errors) {
    slopes.push_back(
        difference(optics_.seen(shifted_floor(problem, error, 0.5), pastes_, thickness_mm),
                   optics_.seen(shifted_floor(problem, error, -0.5), pastes_, thickness_mm), 1));
  }
  const double sd = model_sd(problem, pastes_);
  double mean_square = 0;
  for (const View& view : problem.views) {
    const ViewValue value = first_order(problem, view, integrate(result.reflectance, *view.weights),
                                        integrate(slopes, *view.weights), layers, sd);
    mean_square += view.weight * (value.de00 * value.de00 + value.spread_ms);
    result.views.push_back(value);
  }
  result.expected = std::sqrt(mean_square);
  return result;
}

}  // namespace mamelon::detail
