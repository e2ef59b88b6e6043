#pragma once
// What the search reads millions of times: layer constants of every paste at every thickness of a
// grid, and the lights' weights, in single precision and padded to whole vectors.

#include <cstddef>
#include <vector>

#include "plan/problem.h"

namespace mamelon::detail {

inline constexpr std::size_t lanes = 8;

// One light that counts in the objective, with vectors in the coordinates y = root (Lab − target),
// in which the length of a small y is ΔE00.
struct ViewTable {
  std::vector<float> weights;  // rows of X, Y, Z
  std::vector<float> reach;    // rows of |dy| for a unit of reflectance in a band at the target
};

struct Tables {
  std::size_t steps = 0;  // of the depth
  double step_mm = 0;
  std::size_t bands = 0;  // padded
  std::vector<float> layers;
  std::vector<float> firsts;
  std::vector<float> constants;
  std::vector<float> floor_errors;  // as many rows as the kernel has room for, or none
  std::vector<ViewTable> views;

  // R0, then T, of a paste `index` steps thick.
  [[nodiscard]] const float* layer(std::size_t paste, std::size_t index) const {
    return layers.data() + (paste * (steps + 1) + index) * 2 * bands;
  }
  // Reflectance of a paste on the floor, then its slope in the floor's reflectance.
  [[nodiscard]] const float* first(std::size_t paste, std::size_t index) const {
    return firsts.data() + (paste * (steps + 1) + index) * 2 * bands;
  }
  // K, then S, of a paste.
  [[nodiscard]] const float* material(std::size_t paste) const {
    return constants.data() + paste * 2 * bands;
  }
};

Tables make_tables(const Problem& problem, std::vector<ViewTable> views);

// Bands of a problem rounded up to whole vectors.
std::size_t padded_bands(const Problem& problem);

}  // namespace mamelon::detail
