#pragma once
// Why no allowed plan is acceptable, and what would help.

#include <optional>

#include "plan/ranking.h"

namespace mamelon::detail {

// Nothing where `best`, the recommended plan, is within acceptability.
std::optional<OutOfReach> out_of_reach(const Problem& problem, Ranking& ranking, const Plan& best,
                                       const Watch& watch);

}  // namespace mamelon::detail
