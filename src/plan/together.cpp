// Given pastes: what a stack comes to, the same pastes in every zone, and at several depths.

#include <algorithm>
#include <cmath>
#include <utility>

#include "mamelon/appearance.h"
#include "mamelon/limits.h"

#include "base/find.h"
#include "base/numbers.h"
#include "plan/ranking.h"
#include "plan/words.h"

namespace mamelon {
namespace {

using detail::Candidate;
using detail::Problem;

// A request with nothing but the pastes named, which keeps the rest of it quick.
PlanRequest of_pastes(const PlanRequest& request, std::span<const std::string> names,
                      std::vector<std::size_t>& sequence) {
  if (names.empty() || names.size() > 3) {
    throw ArgumentError("a plan has 1, 2 or 3 layers; " + std::to_string(names.size()) +
                        " were given");
  }
  PlanRequest some = request;
  some.pastes.pastes.clear();
  for (const std::string& name : names) {
    const auto& all = request.pastes.pastes;
    const auto found = detail::find_by(all, name, &Paste::name);
    if (found == all.end()) {
      throw ArgumentError("paste '" + name + "' is not in set '" + request.pastes.name + "'");
    }
    auto& kept = some.pastes.pastes;
    const auto known = detail::find_by(kept, name, &Paste::name);
    sequence.push_back(static_cast<std::size_t>(known - kept.begin()));
    if (known == kept.end()) kept.push_back(*found);
  }
  return some;
}

}  // namespace

Plan predict_plan(const PlanRequest& request, std::span<const PlannedLayer> layers) {
  std::vector<std::string> names;
  std::vector<double> thickness_mm;
  for (const PlannedLayer& layer : layers) {
    if (!(layer.thickness_mm > 0 && layer.thickness_mm <= limits::plan_depth_mm)) {
      throw ArgumentError("layer of paste '" + layer.paste + "': thickness " +
                          detail::format_short(layer.thickness_mm) +
                          " mm must be above 0 and at most 20");
    }
    names.push_back(layer.paste);
    thickness_mm.push_back(layer.thickness_mm);
  }
  std::vector<std::size_t> sequence;
  const PlanRequest some = of_pastes(request, names, sequence);
  std::vector<std::string> warnings;
  const Problem problem = detail::make_problem(some, warnings);
  return detail::describe(detail::Optics(problem), sequence, thickness_mm);
}

std::vector<Plan> plan_zones(const PlanRequest& request, std::span<const std::string> pastes,
                             std::span<const Reading> readings, std::span<const double> depths_mm) {
  if (!depths_mm.empty() && depths_mm.size() != readings.size()) {
    throw ArgumentError("there are " + std::to_string(depths_mm.size()) + " depths for " +
                        std::to_string(readings.size()) + " readings; give one each");
  }
  std::vector<std::size_t> sequence;
  PlanRequest one = of_pastes(request, pastes, sequence);
  std::vector<Plan> plans;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    one.target = readings[i];
    one.depth_mm = depths_mm.empty() ? request.depth_mm : depths_mm[i];
    std::vector<std::string> warnings;
    const Problem problem = detail::make_problem(one, warnings);
    detail::Ranking ranking(problem, {problem.depth_steps});
    plans.push_back(ranking.plan_of(ranking.best_of(sequence)));
  }
  return plans;
}

DepthPlans plan_depths(const PlanRequest& request, std::span<const double> depths_mm,
                       const Progress& progress) {
  if (depths_mm.size() < 2 || depths_mm.size() > 3) {
    throw ArgumentError("there are " + std::to_string(depths_mm.size()) +
                        " depths; a cavity is planned at two or three of them together");
  }
  DepthPlans together;
  detail::Watch watch(progress);
  watch.at(0);
  PlanRequest deepest = request;
  deepest.depth_mm = *std::max_element(depths_mm.begin(), depths_mm.end());
  const Problem problem = detail::make_problem(deepest, together.warnings);
  std::vector<int> steps;
  std::string settings = " depths_mm=";
  for (const double mm : depths_mm) {
    steps.push_back(detail::steps_of_depth(request, mm));
    settings += detail::format_number(mm) + ",";
  }
  detail::Ranking ranking(problem, steps);
  std::vector<DepthPlans> found;  // fewest layers first
  std::vector<PlanFigures> figures;
  for (int layers = 1; layers <= request.max_layers; ++layers) {
    const auto count = static_cast<std::size_t>(layers);
    watch.at((layers - 1.0) / request.max_layers);
    // The best, and where it is not acceptable everywhere the one of the least ΔE00 alone.
    for (const bool nominal : {false, true}) {
      if (nominal && !figures.empty() && figures.back().layers == count &&
          figures.back().de00 <= threshold::acceptable_de00) {
        break;
      }
      for (const Candidate& candidate : ranking.best(count, 1, nominal, watch)) {
        DepthPlans of;
        double mean_square = 0;
        double worst = 0;
        for (std::size_t depth = 0; depth < candidate.steps.size(); ++depth) {
          of.plans.push_back(ranking.plan_of(candidate, depth));
          mean_square += of.plans.back().de00_rms * of.plans.back().de00_rms;
          worst = std::max(worst, of.plans.back().de00);
        }
        of.de00_rms = std::sqrt(mean_square / static_cast<double>(steps.size()));
        figures.push_back({count, worst, of.de00_rms});
        found.push_back(std::move(of));
      }
    }
  }
  if (found.empty()) {
    throw ModelError("no stack of up to " + std::to_string(request.max_layers) +
                     " pastes fills all these depths within the pastes' limits");
  }
  const std::size_t best = recommended(figures);
  together.plans = std::move(found[best].plans);
  together.de00_rms = found[best].de00_rms;
  const Plan& first = together.plans.front();
  for (const PlannedLayer& layer : first.layers) together.pastes.push_back(layer.paste);
  together.why = detail::layers_in_words(first) + " at " +
                 detail::format_fixed(depths_mm.front(), 1) + " mm: expected ΔE00 " +
                 detail::format_fixed(together.de00_rms, 2) + " over the depths, " +
                 (figures[best].de00 <= threshold::acceptable_de00 ? "acceptable at each."
                                                                   : "not acceptable at each.");
  for (std::size_t d = 1; d < together.plans.size(); ++d) {
    together.differences.push_back(
        "where it is " + detail::format_fixed(depths_mm[d], 1) +
        " mm deep: " + detail::difference_in_words(first, together.plans[d]));
  }
  for (const Plan& plan : together.plans) {
    for (std::string& words : detail::cautions_of(request, plan)) {
      const auto& all = together.warnings;
      if (std::find(all.begin(), all.end(), words) == all.end()) {
        together.warnings.push_back(std::move(words));
      }
    }
  }
  together.provenance = detail::provenance_of(request, "plan_depths", settings);
  watch.at(1);
  return together;
}

}  // namespace mamelon
