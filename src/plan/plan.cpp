#include "mamelon/plan.h"

#include <algorithm>

#include "mamelon/appearance.h"

#include "base/find.h"
#include "base/numbers.h"
#include "plan/ranking.h"
#include "plan/words.h"

namespace mamelon {
namespace {

using detail::Candidate;
using detail::Problem;
using detail::Ranking;
using detail::Watch;

void throw_nothing_fits(const PlanRequest& request) {
  double thinnest = request.pastes.pastes.front().minimum_mm;
  double thickest = 0;
  for (const Paste& paste : request.pastes.pastes) {
    thinnest = std::min(thinnest, paste.minimum_mm);
    thickest = std::max(thickest, paste.maximum_mm);
  }
  throw ModelError("no allowed stack of up to " + std::to_string(request.max_layers) +
                   " pastes fills a depth of " + detail::format_short(request.depth_mm) +
                   " mm: the thinnest layer is " + detail::format_short(thinnest) +
                   " mm, the thickest " + detail::format_short(thickest) + " mm");
}

// The best plans of so many layers; where none of them is acceptable, also the one nearest to the
// target, which may be.
std::vector<Plan> plans_of(const Problem& problem, Ranking& ranking, std::size_t layers,
                           const Watch& watch) {
  const std::size_t wanted = std::max<std::size_t>(problem.request->alternatives, 1);
  std::vector<Plan> plans;
  for (const Candidate& candidate : ranking.best(layers, wanted, false, watch)) {
    plans.push_back(ranking.plan_of(candidate));
  }
  detail::stable_sort_by(plans, &Plan::de00_rms);
  const auto acceptable = [](const Plan& plan) { return plan.de00 <= threshold::acceptable_de00; };
  if (!plans.empty() && std::none_of(plans.begin(), plans.end(), acceptable)) {
    for (const Candidate& candidate : ranking.best(layers, 1, true, watch)) {
      plans.push_back(ranking.plan_of(candidate));
      if (!acceptable(plans.back())) plans.pop_back();
    }
  }
  return plans;
}

}  // namespace

PlanSet plan(const PlanRequest& request, const Progress& progress) {
  PlanSet set;
  const auto warn = [&](const std::vector<std::string>& more) {
    set.warnings.insert(set.warnings.end(), more.begin(), more.end());
  };
  Watch watch(progress);
  watch.at(0);
  const Problem problem = detail::make_problem(request, set.warnings);
  Ranking ranking(problem, {problem.depth_steps});
  // About how the time goes with the number of layers.
  constexpr double share_done[] = {0, 0.02, 0.1, 0.8};
  for (int layers = 1; layers <= request.max_layers; ++layers) {
    watch.at(share_done[layers - 1]);
    const std::vector<Plan> plans =
        plans_of(problem, ranking, static_cast<std::size_t>(layers), watch);
    set.plans.insert(set.plans.end(), plans.begin(), plans.end());
  }
  if (set.plans.empty()) {
    throw_nothing_fits(request);
  }
  watch.at(share_done[3]);
  set.recommended = detail::recommended_plan(set.plans);
  const Plan& chosen = set.plans[set.recommended];
  set.why = detail::reason(set.plans, set.recommended);
  set.gains = detail::gains_of(set.plans);
  for (const LayerGain& gain : set.gains) {
    if (gain.layers == 2) {
      set.second_layer_gain_de00 = gain.gain_de00;
    }
  }
  set.out_of_reach = detail::out_of_reach(problem, ranking, chosen, watch);
  if (set.out_of_reach) {
    warn(detail::in_words(*set.out_of_reach, chosen));
  }
  warn(detail::cautions_of(request, chosen));
  if (ranking.narrowed()) {
    set.warnings.emplace_back(
        "stacks of three are made of the 64 pastes that come nearest in stacks of two");
  }
  set.ties = detail::parting_ties(set.plans);
  for (const PartingTie& tie : set.ties) {
    set.warnings.push_back(detail::in_words(tie));
  }
  set.provenance = detail::provenance_of(request, "plan", "");
  watch.at(1);
  return set;
}

}  // namespace mamelon
