#include "shade/nested_levels.h"

#include <algorithm>
#include <cmath>

#include "base/algebra.h"

namespace mamelon::detail {
namespace {

constexpr double weight_of_repeats = 3;

// The number of equal axes, 1–3, that the coordinates of a covariance on `dof` degrees of freedom
// amount to: 3² / Σ correlation², those by chance (1/dof each) taken off.
double independent_axes(const Mat3& covariance, double dof) {
  double squares = 3;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t k = 0; k < i; ++k) {
      const double seen =
          covariance[i][k] * covariance[i][k] / (covariance[i][i] * covariance[k][k]);
      squares += 2 * std::max(0.0, (dof * seen - 1) / (dof - 1));
    }
  return std::clamp(9 / squares, 1.0, 3.0);
}

}  // namespace

MeanSquare pooled_over_coordinates(const MeanSquare& outer, const MeanSquare& nested,
                                   const Mat3& repeat) {
  double repeats_to_nested = 0;
  for (std::size_t k = 0; k < 3; ++k) {
    if (!(repeat[k][k] > 0 && nested.matrix[k][k] > 0)) return outer;
    repeats_to_nested += nested.matrix[k][k] / repeat[k][k] / 3;
  }
  const double dof = nested.dof + weight_of_repeats;
  const Mat3 shape = scale(
      add(scale(nested.matrix, nested.dof), scale(repeat, weight_of_repeats * repeats_to_nested)),
      1 / dof);
  double size = 0;
  for (std::size_t k = 0; k < 3; ++k) size += outer.matrix[k][k] / shape[k][k] / 3;
  // The ratio of two coordinates of the shape expects dof / (dof − 2), of one to itself 1.
  size /= 1.0 / 3 + 2.0 / 3 * dof / (dof - 2);
  const double axes = independent_axes(shape, dof);
  const double drawn = 1 / outer.dof;
  const double kept = 1 - drawn;
  const double of_outer = (kept * kept + (2 * kept + drawn) * drawn / axes) / outer.dof;
  const double of_shape = drawn * drawn * 2 / (3 * dof);
  return {add(scale(outer.matrix, kept), scale(shape, drawn * size)), 1 / (of_outer + of_shape)};
}

}  // namespace mamelon::detail
