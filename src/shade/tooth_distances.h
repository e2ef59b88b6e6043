#pragma once
// ΔE00 of many colours to many teeth.

#include <vector>

#include "mamelon/difference.h"

namespace mamelon::detail {

// One row a colour: `de[c * teeth.size() + i]`.
std::vector<double> tooth_distances(const std::vector<Lab>& colours, const std::vector<Lab>& teeth,
                                    const DifferenceWeights& weights);

}  // namespace mamelon::detail
