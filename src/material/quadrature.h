#pragma once
// Directions of the discrete ordinates.

#include <cstddef>
#include <vector>

namespace mamelon::detail {

// Cosines in rising order, the last of them 1, and weights that add up to 1 over a hemisphere. Half
// of the points lie below the critical angle's cosine, so that no stream straddles it.
struct Directions {
  std::vector<double> mu;
  std::vector<double> weight;
};

// `streams` even, `refractive_index` 1 or more.
Directions directions(std::size_t streams, double refractive_index);

}  // namespace mamelon::detail
