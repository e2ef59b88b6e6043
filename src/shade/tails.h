#pragma once
// How heavy the tails of readings are.

#include <vector>

namespace mamelon::detail {

// The mean of the farthest tenth of the values over what F leads to expect of it, at least 1. `dof`
// is that of the scale.
double tail_ratio(std::vector<double> t_squared, double dof);

// Multivariate Student's t of T² = scale · 3 F(3, dof); with infinite dof the normal distribution.
struct TailLaw {
  double dof;
  double scale;
};
// The law whose farthest tenth within `cut` is that much farther out, in units in which T² within
// the cut has a mean of 3.
TailLaw tail_law(double cut, double ratio);

}  // namespace mamelon::detail
