#pragma once
// What one expects a surface to reflect, by its kind.

#include <array>

#include <Eigen/Dense>

#include "mamelon/reading.h"

namespace mamelon::detail {

inline constexpr std::size_t surface_kinds = 6;

// Reflectances on the response grid, one a row, that a surface of a kind can have, and what the
// rows leave out.
struct Expectation {
  Eigen::MatrixXd rows;
  // What of the metamerism that the rows of one colour show counts, as a part of its square.
  double rows_part = 1;
  // Beside every row smooth noise, its correlation falling as a bell of 40 nm: no library holds
  // what it was not made of. Of the logarithm of reflectance this part of that logarithm, because
  // what differs from tooth to tooth is what absorbs.
  double noise_part = 0;
  // How far from a colour the rows that stand for it lie, in CIELAB; of lightness twice as far.
  double width = 12;
};

Expectation make_expectation(SurfaceKind kind, std::size_t count);

// Correlation of that noise between two bands of the response grid.
Eigen::MatrixXd noise_correlation();

}  // namespace mamelon::detail
