#pragma once
// How near the tabs of a set come to the teeth of a population.

#include <vector>

#include "mamelon/audit.h"

namespace mamelon::detail {

// ΔE00 from each tooth to the nearest tab, without a table of all of them.
std::vector<double> nearest_distances(const TabSet& tabs, const std::vector<Lab>& teeth,
                                      const DifferenceWeights& weights);

// `least` are the nearest distances of the population's teeth.
Coverage coverage(const TabSet& tabs, const Population& population,
                  const std::vector<double>& least, const AuditOptions& options);

}  // namespace mamelon::detail
