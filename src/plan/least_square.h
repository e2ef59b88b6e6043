#pragma once
// The least of a sum of squares that is linear in up to two unknowns.

#include <array>
#include <cstddef>
#include <limits>

#include "mamelon/measured.h"

namespace mamelon::detail {

// Where the unknowns x may lie: low ≤ x ≤ high, and their sum within bounds.
struct Region {
  std::size_t unknowns = 0;  // 0 to 2
  std::array<double, 2> low{};
  std::array<double, 2> high{};
  double least_sum = -std::numeric_limits<double>::infinity();
  double greatest_sum = std::numeric_limits<double>::infinity();
};

// Σ w |v + c₀ x₀ + c₁ x₁|² over what was added.
class SumOfSquares {
 public:
  void add(double weight, const Vec3& value, const std::array<Vec3, 2>& columns);
  // The least within the region (or more closely around it than its rectangle), not below 0.
  [[nodiscard]] double least(const Region& region) const;

 private:
  [[nodiscard]] double at(double x0, double x1) const;
  // The least between two points.
  [[nodiscard]] double least_between(const std::array<double, 2>& from,
                                     const std::array<double, 2>& to) const;
  double constant_ = 0;
  std::array<double, 2> slope_{};
  std::array<double, 2> square_{};
  double product_ = 0;
};

}  // namespace mamelon::detail
