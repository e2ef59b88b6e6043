#pragma once
// The interval of a mean over a skewed sample.

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace mamelon::detail {

// 95 % interval of the mean of independent values by the studentised bootstrap (Efron and
// Tibshirani 1993, An Introduction to the Bootstrap, 12.5), which follows the skew of the values;
// below 10 values, of which resamples are too alike, by Student's t. One value gives itself.
// Every resample draws from a stream of its own, so that the bits are free of the thread count.
std::pair<double, double> interval_of_mean(const std::vector<double>& values, std::size_t resamples,
                                           std::uint64_t seed);

}  // namespace mamelon::detail
