#include "plan/transport_rank.h"

#include <algorithm>

#include "plan/polish.h"

namespace mamelon::detail {
namespace {

std::vector<double> transported(const PlanRequest& request, const Problem& problem,
                                const Candidate& candidate,
                                const std::vector<double>& thickness_mm) {
  Stack stack{Reflectance(request.floor.grid(), problem.floor), {}, request.specular_included};
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    stack.layers.push_back({request.pastes.pastes[candidate.pastes[j]], thickness_mm[j]});
  }
  return predict(stack, Engine::transport).values();
}

}  // namespace

bool carries_transport(const PlanRequest& request, const Candidate& candidate) {
  return std::all_of(candidate.pastes.begin(), candidate.pastes.end(), [&](std::size_t paste) {
    return request.pastes.pastes[paste].transport.has_value();
  });
}

Evaluation evaluate_by_transport(const PlanRequest& request, const Problem& problem,
                                 const Candidate& candidate) {
  // The floor's errors are small and few: what the search's engine makes of them is enough.
  Light light = propagate_light(problem, candidate);
  light.reflectance = transported(request, problem, candidate, candidate.thickness_mm);
  constexpr double h_mm = 0.01;
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    std::vector<double> thicker = candidate.thickness_mm;
    std::vector<double> thinner = candidate.thickness_mm;
    const double down = std::min(h_mm, thinner[j] / 2);
    thicker[j] += h_mm;
    thinner[j] -= down;
    const std::vector<double> above = transported(request, problem, candidate, thicker);
    const std::vector<double> below = transported(request, problem, candidate, thinner);
    for (std::size_t i = 0; i < above.size(); ++i) {
      light.slope[j][i] = (above[i] - below[i]) / (h_mm + down);
    }
  }
  return evaluate(problem, candidate, std::move(light));
}

void polish_by_transport(const PlanRequest& request, const Problem& problem, Candidate& candidate) {
  constexpr int rounds = 4;
  constexpr double reach_mm = 0.1;
  candidate.expected = evaluate_by_transport(request, problem, candidate).expected;
  Candidate moved = candidate;
  for (int n = 0; n < rounds; ++n) {
    const Evaluation quick = evaluate(problem, moved);
    const Evaluation accurate = evaluate_by_transport(request, problem, moved);
    Problem shifted = problem;
    for (std::size_t v = 0; v < problem.views.size(); ++v) {
      Lab& target = shifted.views[v].target;
      const Lab& a = quick.views[v].lab;
      const Lab& b = accurate.views[v].lab;
      target = {target.l + a.l - b.l, target.a + a.a - b.a, target.b + a.b - b.b};
    }
    polish(shifted, moved, reach_mm);
    moved.expected = evaluate_by_transport(request, problem, moved).expected;
    if (!(moved.expected < candidate.expected - 1e-6)) {
      return;
    }
    candidate = moved;
  }
}

}  // namespace mamelon::detail
