#pragma once
// ΔE00 of many colours to many teeth.

#include <vector>

#include "mamelon/difference.h"

namespace mamelon::detail {

// One row a colour: `de[c * teeth.size() + i]`.
std::vector<double> tooth_distances(const std::vector<Lab>& colours, const std::vector<Lab>& teeth,
                                    const DifferenceWeights& weights);

// Places of at most `most` of `count` items, evenly taken.
std::vector<std::size_t> evenly_taken(std::size_t count, std::size_t most);

}  // namespace mamelon::detail
