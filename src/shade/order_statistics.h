#pragma once
// The ends of a central interval of a sample.

#include <span>
#include <utility>

namespace mamelon::detail {

// The order statistics of rank ⌊tail · n⌋ from either end, without sorting: values are counted in
// even bins, and only the two bins that hold the ranks are looked into. `values` is not empty.
std::pair<double, double> central_interval(std::span<const double> values, double tail);

}  // namespace mamelon::detail
