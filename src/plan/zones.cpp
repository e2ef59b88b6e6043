// The same pastes in every zone of a tooth.

#include <algorithm>
#include <limits>

#include "mamelon/plan.h"

#include "base/numbers.h"
#include "plan/describe.h"
#include "plan/polish.h"
#include "plan/transport_rank.h"

namespace mamelon {
namespace {

using detail::Candidate;
using detail::Problem;

// Every split of the depth on a grid, for the start of a descent.
void try_splits(const Problem& problem, Candidate& trial, std::size_t layer, double left_mm,
                Candidate& best) {
  constexpr int steps = 40;
  const detail::Material& m = problem.materials[trial.pastes[layer]];
  if (layer + 1 == trial.pastes.size()) {
    if (left_mm >= m.minimum_mm - 1e-9 && left_mm <= m.maximum_mm + 1e-9) {
      trial.thickness_mm[layer] = left_mm;
      trial.expected = detail::expected_of(problem, trial);
      if (trial.expected < best.expected) {
        best = trial;
      }
    }
    return;
  }
  const double most = std::min(m.maximum_mm, left_mm);
  for (int i = 0; i <= steps && m.minimum_mm <= most; ++i) {
    trial.thickness_mm[layer] = m.minimum_mm + (most - m.minimum_mm) * i / steps;
    try_splits(problem, trial, layer + 1, left_mm - trial.thickness_mm[layer], best);
  }
}

Plan zone_plan(const PlanRequest& request, const std::vector<std::size_t>& pastes) {
  std::vector<std::string> warnings;
  const Problem problem = detail::make_problem(request, warnings);
  Candidate best{pastes, std::vector<double>(pastes.size(), 0),
                 std::numeric_limits<double>::infinity()};
  Candidate trial = best;
  try_splits(problem, trial, 0, request.depth_mm, best);
  if (best.expected == std::numeric_limits<double>::infinity()) {
    throw ModelError("the limits of these pastes do not fill a depth of " +
                     detail::format_short(request.depth_mm) + " mm");
  }
  constexpr double reach_mm = 0.1;
  detail::polish(problem, best, reach_mm);
  return detail::describe(request, problem, best);
}

}  // namespace

std::vector<Plan> plan_zones(const PlanRequest& request, std::span<const std::string> pastes,
                             std::span<const Reading> readings, std::span<const double> depths_mm) {
  if (!depths_mm.empty() && depths_mm.size() != readings.size()) {
    throw ArgumentError("there are " + std::to_string(depths_mm.size()) + " depths for " +
                        std::to_string(readings.size()) + " readings; give one each");
  }
  if (pastes.empty() || pastes.size() > 3) {
    throw ArgumentError("a plan has 1, 2 or 3 layers; " + std::to_string(pastes.size()) +
                        " pastes were named");
  }
  std::vector<std::size_t> sequence;
  for (const std::string& name : pastes) {
    const auto& all = request.pastes.pastes;
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const Paste& p) { return p.name == name; });
    if (found == all.end()) {
      throw ArgumentError("paste '" + name + "' is not in set '" + request.pastes.name + "'");
    }
    sequence.push_back(static_cast<std::size_t>(found - all.begin()));
  }
  std::vector<Plan> plans;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    PlanRequest one = request;
    one.target = readings[i];
    one.depth_mm = depths_mm.empty() ? request.depth_mm : depths_mm[i];
    plans.push_back(zone_plan(one, sequence));
  }
  return plans;
}

}  // namespace mamelon
