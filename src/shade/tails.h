#pragma once
// How heavy the tails of readings are.

#include <vector>

namespace mamelon::detail {

// By how much a cut on T² is to be raised, at least 1: the square of the ratio between the mean of
// the farthest tenth of the values and what F leads to expect of it. `dof` is that of the scale.
double tail_widening(std::vector<double> t_squared, double dof);

// The share of a variance that is left within `cut` (on T², in units of what is left), by the
// multivariate Student's t whose farthest tenth gives that widening.
double variance_within(double cut, double widening);

}  // namespace mamelon::detail
