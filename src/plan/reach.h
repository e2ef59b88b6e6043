#pragma once
// Why no allowed plan is acceptable, and what would help.

#include <optional>

#include "plan/problem.h"

namespace mamelon::detail {

// Nothing where `best`, the recommended plan, is within acceptability.
std::optional<OutOfReach> out_of_reach(const PlanRequest& request, const Problem& problem,
                                       const Plan& best);

}  // namespace mamelon::detail
