#pragma once
// What a plan was made from.

#include <string>

#include "mamelon/plan.h"

namespace mamelon::detail {

// Of `what` was planned, with all of the request and `more` settings.
Provenance provenance_of(const PlanRequest& request, const std::string& what,
                         const std::string& more);

}  // namespace mamelon::detail
