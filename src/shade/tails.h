#pragma once
// How heavy the tails of readings are.

#include <span>
#include <vector>

namespace mamelon::detail {

// The mean of the farthest tenth of the values over what F leads to expect of it, at least 1. `dof`
// is that of the scale.
double tail_ratio(std::vector<double> t_squared, double dof);

// How far a reading lies from what is expected of it, squared, in units in which sound ones have a
// mean of 3.
struct Off {
  double weight = 0;   // the degrees of freedom that it brings; 0: it tells nothing
  double inside = 0;   // against the scale of all readings that were kept
  double outside = 0;  // against that of the others
};
struct Doubts {
  std::vector<double> chance_gross;  // of each reading
  double variance_ratio = 1;         // of all sound readings over those kept
};
// How likely each reading is to be a gross error, and the variance of the sound ones: over laws
// with tails of several weights and several shares of gross errors, each counting by its
// likelihood. `dof` are those of the scale.
Doubts doubts_of(std::span<const Off> readings, double dof);

}  // namespace mamelon::detail
