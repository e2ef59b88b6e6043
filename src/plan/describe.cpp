#include "plan/describe.h"

#include <algorithm>

#include "plan/interval.h"
#include "plan/transport_rank.h"

namespace mamelon::detail {
namespace {

std::vector<Increment> increments_of_layers(const PlanRequest& request,
                                            const Candidate& candidate) {
  std::vector<Layer> layers;
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    layers.push_back({request.pastes.pastes[candidate.pastes[j]], candidate.thickness_mm[j]});
  }
  return increments_of(layers, request.placing);
}

}  // namespace

Plan describe(const PlanRequest& request, const Problem& problem, Candidate candidate) {
  Plan plan;
  plan.de00_searched = candidate.expected;
  const bool transport = request.rank_by_transport && carries_transport(request, candidate);
  if (transport) {
    polish_by_transport(request, problem, candidate);
    plan.engine = Engine::transport;
  }
  const Evaluation found =
      transport ? evaluate_by_transport(request, problem, candidate) : evaluate(problem, candidate);
  for (std::size_t j = 0; j < candidate.pastes.size(); ++j) {
    const Paste& paste = request.pastes.pastes[candidate.pastes[j]];
    plan.layers.push_back(
        {paste.name, paste.role, candidate.thickness_mm[j],
         0.1 * length(problem.views.front().metric, found.views.front().gradient[j]),
         candidate.thickness_mm[j] < paste.fitted_from_mm ||
             candidate.thickness_mm[j] > paste.fitted_to_mm});
  }
  plan.increments = increments_of_layers(request, candidate);
  for (std::size_t v = 0; v < problem.views.size(); ++v) {
    const View& view = problem.views[v];
    plan.predicted.push_back({view.viewing, found.views[v].lab, view.target, found.views[v].de00});
    plan.metamerism = std::max(plan.metamerism, found.views[v].de00 - found.views.front().de00);
  }
  plan.reflectance = Reflectance(request.floor.grid(), found.reflectance);
  plan.de00 = found.views.front().de00;
  plan.de00_expected = found.expected;
  plan.de00_p95 = de00_p95(
      problem.views.front().target, found.views.front().lab,
      difference_covariance(problem, candidate, found.views.front(), problem.views.front()),
      request.weights);
  return plan;
}

}  // namespace mamelon::detail
