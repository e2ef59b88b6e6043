#pragma once
// The search over ordered stacks of pastes whose thicknesses add up to the depth.

#include <cstddef>
#include <vector>

#include "plan/objective.h"

namespace mamelon::detail {

struct SearchResult {
  // Best of each sequence of pastes, by number of layers (index 0: one layer), nearest first.
  std::vector<std::vector<Candidate>> best;
  // No allowed plan has a lower objective; 0 when none was asked for.
  double bound = 0;
};

// `keep` sequences per number of layers, by branch and bound over boxes of thicknesses (Land and
// Doig 1960), depth first from the most promising sequence on. With `certify` the boxes' bounds are
// rigorous; without, they are shrunk.
SearchResult search(const Problem& problem, std::size_t keep, bool certify);

}  // namespace mamelon::detail
