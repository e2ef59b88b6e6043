#pragma once
// The search over ordered stacks of pastes whose thicknesses add up to the depth.

#include <cstddef>
#include <vector>

#include "plan/objective.h"

namespace mamelon::detail {

struct SearchResult {
  // Best of each sequence of pastes, by number of layers (index 0: one layer), nearest first.
  std::vector<std::vector<Candidate>> best;
  double bound = 0;
};

// `keep` sequences per number of layers. Thicknesses are searched on a grid of about 0.05 mm and
// polished between its points.
SearchResult search(const Problem& problem, std::size_t keep);

}  // namespace mamelon::detail
