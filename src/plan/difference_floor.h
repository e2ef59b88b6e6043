#pragma once
// Lower bounds of ΔE00 over whole regions of colour, proven term by term.

#include <array>
#include <cstddef>

#include "mamelon/colour.h"
#include "mamelon/difference.h"

namespace mamelon::detail {

// All colours within `half` of `centre`, coordinate by coordinate.
struct ColourBox {
  Lab centre;
  Vec3 half{};
};

// A matrix m with ΔE00(target, c) ≥ |m (c − target)| for every colour c in the box.
//
// With g = 1 + G of CIEDE2000, Δ = (g Δa*, Δb*), and m̂ the direction of the mean hue,
// ΔC' cos(Δh'/2) = Δ·m̂ and ΔH' = (Δ·m̂⊥) √(C1'C2') / C̄' hold exactly. So ΔE00² is a quadratic form
// of the plain difference whose coefficients vary slowly; the matrix takes the least that they can
// be within the box: S_L, S_C, S_H at their greatest, the turn of m̂, the change of g and the term
// in R_T as factors. Where hue is too wide for that, ΔC'² + ΔH'² = |Δ|² under the greater of S_C
// and S_H.
Mat3 least_difference(const Lab& target, const ColourBox& box, const DifferenceWeights& weights);

// The least ΔE00 at a distance |root (c − target)| or more, from `least_difference` over growing
// boxes.
class DistanceFloor {
 public:
  DistanceFloor() = default;
  DistanceFloor(const Lab& target, const Mat3& inverse_root, const DifferenceWeights& weights);

  [[nodiscard]] double operator()(double distance) const;
  // A distance from which on ΔE00 is at least `de`; infinite where none is known.
  [[nodiscard]] double reach(double de) const;

 private:
  static constexpr std::size_t shells = 40;
  std::array<double, shells> stretch_{};  // ΔE00 over distance is at least this within the shell
  std::array<double, shells> beyond_{};   // least ΔE00 outside the shell
};

}  // namespace mamelon::detail
