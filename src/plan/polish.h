#pragma once
// From a grid point to the nearest least value of the objective, in double precision.

#include "plan/objective.h"

namespace mamelon::detail {

// Brings thicknesses within the limits of their pastes, keeping the sum.
void settle(const Problem& problem, Candidate& candidate);

// Moves thickness between layers, within the limits of the pastes, until no exchange of 0.1 µm
// improves. `reach_mm` is the first step.
void polish(const Problem& problem, Candidate& candidate, double reach_mm);

}  // namespace mamelon::detail
