#include "plan/least_square.h"

#include <algorithm>

#include "plan/small_algebra.h"

namespace mamelon::detail {

void SumOfSquares::add(double weight, const Vec3& value, const std::array<Vec3, 2>& columns) {
  constant_ += weight * dot(value, value);
  for (std::size_t i = 0; i < 2; ++i) {
    slope_[i] += weight * dot(value, columns[i]);
    square_[i] += weight * dot(columns[i], columns[i]);
  }
  product_ += weight * dot(columns[0], columns[1]);
}

double SumOfSquares::at(double x0, double x1) const {
  return constant_ + x0 * (2 * slope_[0] + square_[0] * x0 + 2 * product_ * x1) +
         x1 * (2 * slope_[1] + square_[1] * x1);
}

double SumOfSquares::least_between(const std::array<double, 2>& from,
                                   const std::array<double, 2>& to) const {
  const double d0 = to[0] - from[0];
  const double d1 = to[1] - from[1];
  const double bend = square_[0] * d0 * d0 + 2 * product_ * d0 * d1 + square_[1] * d1 * d1;
  const double tilt = d0 * (slope_[0] + square_[0] * from[0] + product_ * from[1]) +
                      d1 * (slope_[1] + product_ * from[0] + square_[1] * from[1]);
  const double share = bend > 0 ? std::clamp(-tilt / bend, 0.0, 1.0) : (tilt < 0 ? 1.0 : 0.0);
  return at(from[0] + share * d0, from[1] + share * d1);
}

double SumOfSquares::least(const Region& region) const {
  const auto& low = region.low;
  const auto& high = region.high;
  if (region.unknowns == 0) {
    return std::max(0.0, constant_);
  }
  if (region.unknowns == 1) {
    const double from = std::max(low[0], region.least_sum);
    const double to = std::max(from, std::min(high[0], region.greatest_sum));
    return std::max(0.0, least_between({from, 0}, {to, 0}));
  }
  const auto allowed = [&](double x0, double x1) {
    return x0 >= low[0] && x0 <= high[0] && x1 >= low[1] && x1 <= high[1] &&
           x0 + x1 >= region.least_sum && x0 + x1 <= region.greatest_sum;
  };
  const double determinant = square_[0] * square_[1] - product_ * product_;
  if (determinant > 1e-12 * square_[0] * square_[1]) {
    const double x0 = (product_ * slope_[1] - slope_[0] * square_[1]) / determinant;
    const double x1 = (product_ * slope_[0] - slope_[1] * square_[0]) / determinant;
    if (allowed(x0, x1)) {
      return std::max(0.0, at(x0, x1));
    }
  }
  // Else on an edge. The edges of the rectangle are shortened to the allowed sums; the two lines of
  // the sums to the rectangle.
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t axis = 0; axis < 2; ++axis) {
    const std::size_t other = 1 - axis;
    for (const double edge : {low[axis], high[axis]}) {
      const double from = std::max(low[other], region.least_sum - edge);
      const double to = std::min(high[other], region.greatest_sum - edge);
      if (from <= to) {
        least = std::min(least, axis == 0 ? least_between({edge, from}, {edge, to})
                                          : least_between({from, edge}, {to, edge}));
      }
    }
  }
  for (const double sum : {region.least_sum, region.greatest_sum}) {
    const double from = std::max(low[0], sum - high[1]);
    const double to = std::min(high[0], sum - low[1]);
    if (from <= to) {
      least = std::min(least, least_between({from, sum - from}, {to, sum - to}));
    }
  }
  return std::max(0.0, least);
}

}  // namespace mamelon::detail
