// Why nothing is acceptable, where nothing is.

#include <algorithm>
#include <cmath>

#include "mamelon/appearance.h"

#include "base/numbers.h"
#include "plan/ranking.h"
#include "plan/words.h"

namespace mamelon::detail {
namespace {

// Whether a plan of up to two layers is acceptable over some other floor: a grey one, or one of the
// target's own colour or lighter than that by so much as a layer may darken it.
bool acceptable_over_another_floor(const Problem& problem, Ranking& ranking, const Watch& watch) {
  const PlanRequest& request = *problem.request;
  const auto layers = static_cast<std::size_t>(std::min(request.max_layers, 2));
  std::vector<double> floor(problem.floor.size());
  for (const double grey : {0.2, 0.35, 0.5, 0.6, 0.7, 0.8}) {
    std::fill(floor.begin(), floor.end(), grey);
    if (ranking.is_feasible(layers, &floor, watch)) return true;
  }
  try {
    const Reflectance curve =
        request.target.reflectance && request.target.reflectance->grid() == request.floor.grid()
            ? *request.target.reflectance
            : estimate_reflectance(request.target.lab.value, request.target.viewing,
                                   request.floor.grid());
    for (const double lighter : {1.0, 1.15, 1.35}) {
      for (std::size_t i = 0; i < curve.size(); ++i) {
        floor[i] = std::clamp(lighter * to_internal(curve[i], problem.materials.front().surface),
                              0.0, 0.95);
      }
      if (ranking.is_feasible(layers, &floor, watch)) return true;
    }
  } catch (const ModelError&) {
    return false;  // a target that no reflectance has
  }
  return false;
}

std::string remedy(const Problem& problem, Ranking& ranking, const Watch& watch) {
  const PlanRequest& request = *problem.request;
  if (request.max_layers < 3 &&
      ranking.is_feasible(static_cast<std::size_t>(request.max_layers) + 1, nullptr, watch)) {
    return "a further layer would hide it";
  }
  const bool has_opaque =
      std::any_of(request.pastes.pastes.begin(), request.pastes.pastes.end(),
                  [](const Paste& paste) { return paste.role == Role::opaque; });
  return has_opaque ? "needs a paste more opaque than these"
                    : "needs an opaque layer, which the set lacks";
}

std::string reason(const Problem& problem, Ranking& ranking, const Plan& best, const Watch& watch) {
  const PlanRequest& request = *problem.request;
  const PredictedColour& own = best.predicted.front();
  const std::string depth = format_fixed(request.depth_mm, 1) + " mm";
  if (acceptable_over_another_floor(problem, ranking, watch)) {
    const Lab floor = to_lab(request.floor, request.target.viewing);
    const double dl = floor.l - own.target.l;
    const double other = std::hypot(floor.a - own.target.a, floor.b - own.target.b);
    const char* const what =
        std::abs(dl) < other / 2 ? "strongly coloured" : (dl < 0 ? "dark" : "light");
    return std::string("floor too ") + what + " for " + depth + ": " +
           remedy(problem, ranking, watch);
  }
  return "these pastes stay " + miss_in_words(own) + " than the target at " + depth +
         " whatever the floor: another paste is needed";
}

}  // namespace

std::optional<OutOfReach> out_of_reach(const Problem& problem, Ranking& ranking, const Plan& best,
                                       const Watch& watch) {
  if (best.de00 <= threshold::acceptable_de00) {
    return {};
  }
  return OutOfReach{best.de00, reason(problem, ranking, best, watch)};
}

}  // namespace mamelon::detail
