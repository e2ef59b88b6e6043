#pragma once
// From what the search found to a plan.

#include "plan/objective.h"

namespace mamelon::detail {

// By the transport engine where the request wants it and the pastes allow; that may move the
// thicknesses.
Plan describe(const PlanRequest& request, const Problem& problem, Candidate candidate);

}  // namespace mamelon::detail
