#include "plan/reach.h"

#include <algorithm>
#include <cmath>

#include "mamelon/appearance.h"

#include "base/numbers.h"
#include "plan/search.h"
#include "plan/words.h"

namespace mamelon::detail {
namespace {

// Whether some allowed plan comes within acceptability under the target's own light.
bool acceptable(const Problem& problem) {
  const SearchResult found = search(problem, 1, false);
  return std::any_of(found.best.begin(), found.best.end(), [&](const auto& candidates) {
    return !candidates.empty() &&
           evaluate(problem, candidates.front()).views.front().de00 <= threshold::acceptable_de00;
  });
}

// The smallest greater depth that does, with up to two pastes.
std::optional<double> enough_depth(const PlanRequest& request, Problem problem) {
  constexpr double step_mm = 0.2;
  constexpr double deepest_mm = 6;
  problem.max_layers = std::min(problem.max_layers, 2);
  problem.thickness_sd_mm = 0;
  for (int step = 1;; ++step) {
    problem.depth_mm = request.depth_mm + step * step_mm;
    if (problem.depth_mm > deepest_mm + 1e-9) return {};
    if (acceptable(problem)) return problem.depth_mm;
  }
}

// Whether a plan is acceptable over some other floor: a grey one, or one of the target's own colour
// or lighter than that by so much as a layer may darken it.
bool acceptable_over_another_floor(const PlanRequest& request, const Problem& problem) {
  Problem kind = problem;
  kind.max_layers = std::min(kind.max_layers, 2);
  kind.thickness_sd_mm = 0;
  kind.floor_errors.clear();
  for (const double grey : {0.2, 0.35, 0.5, 0.6, 0.7, 0.8}) {
    std::fill(kind.floor.begin(), kind.floor.end(), grey);
    if (acceptable(kind)) {
      return true;
    }
  }
  try {
    const Reflectance curve =
        request.target.curve && request.target.curve->grid() == request.floor.grid()
            ? *request.target.curve
            : estimate_reflectance(request.target.lab.value, request.target.viewing,
                                   request.floor.grid());
    for (const double lighter : {1.0, 1.15, 1.35}) {
      for (std::size_t i = 0; i < curve.size(); ++i) {
        kind.floor[i] = std::clamp(
            lighter * to_internal(curve[i], problem.materials.front().surface), 0.0, 0.95);
      }
      if (acceptable(kind)) {
        return true;
      }
    }
  } catch (const ModelError&) {
    return false;  // a target that no reflectance has
  }
  return false;
}

std::string remedy(const PlanRequest& request, const Problem& problem) {
  const bool has_opaque =
      std::any_of(request.pastes.pastes.begin(), request.pastes.pastes.end(),
                  [](const Paste& paste) { return paste.role == Role::opaque; });
  if (problem.max_layers < 3) {
    Problem more = problem;
    more.max_layers = problem.max_layers + 1;
    more.thickness_sd_mm = 0;
    if (acceptable(more)) {
      return "a further layer would hide it";
    }
  }
  return has_opaque ? "needs a paste more opaque than these, or more depth"
                    : "needs an opaque layer, which the set lacks";
}

std::string reason(const PlanRequest& request, const Problem& problem, const Plan& best) {
  const PredictedColour& own = best.predicted.front();
  const std::string depth = format_fixed(request.depth_mm, 1) + " mm";
  if (acceptable_over_another_floor(request, problem)) {
    const Lab floor = to_lab(request.floor, request.target.viewing);
    const double dl = floor.l - own.target.l;
    const double other = std::hypot(floor.a - own.target.a, floor.b - own.target.b);
    const char* const what =
        std::abs(dl) < other / 2 ? "strongly coloured" : (dl < 0 ? "dark" : "light");
    return std::string("floor too ") + what + " for " + depth + ": " + remedy(request, problem);
  }
  return "these pastes stay " + miss_in_words(own) + " than the target at " + depth +
         " whatever the floor";
}

}  // namespace

std::optional<OutOfReach> out_of_reach(const PlanRequest& request, const Problem& problem,
                                       const Plan& best) {
  if (best.de00 <= threshold::acceptable_de00) {
    return {};
  }
  return OutOfReach{best.de00, reason(request, problem, best), enough_depth(request, problem)};
}

}  // namespace mamelon::detail
