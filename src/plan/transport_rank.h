#pragma once
// The accurate engine on what the search found.

#include "plan/objective.h"

namespace mamelon::detail {

// Whether every paste of a candidate carries transport constants.
bool carries_transport(const PlanRequest& request, const Candidate& candidate);

// The value of a candidate by transport, its slopes by central differences.
Evaluation evaluate_by_transport(const PlanRequest& request, const Problem& problem,
                                 const Candidate& candidate);

// Moves the thicknesses to where the objective by transport is least: the search's own descent
// towards targets shifted by what the two engines differ by, until they agree (a defect correction,
// Stetter 1978, Numer Math 29:425). Keeps the candidate where that gains nothing.
void polish_by_transport(const PlanRequest& request, const Problem& problem, Candidate& candidate);

}  // namespace mamelon::detail
