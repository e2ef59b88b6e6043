#pragma once
// CIEDE2000 near one pair of colours, as a quadratic form.

#include "mamelon/difference.h"
#include "mamelon/measured.h"

namespace mamelon::detail {

// With w = (dl, dc, dh) of `de00_parts(tab, reading)`: the value at the pair, its derivatives with
// respect to both colours, and the rotation term of ΔE00² = |w|² + rotation · dc · dh. To first
// order in small errors ρ of the reading and τ of the tab, w = w0 + by_reading ρ + by_tab τ.
struct PairMetric {
  Vec3 w0{};
  Mat3 by_reading{};
  Mat3 by_tab{};
  double rotation = 0;
};
PairMetric pair_metric(const Lab& tab, const Lab& reading, const DifferenceWeights& weights);

// G with ΔE00² ≈ δᵀ G δ for a small difference δ from `at`.
Mat3 local_metric(const Lab& at, const DifferenceWeights& weights);

// δᵀ G δ and the trace of G C: the mean square ΔE00 of an error with covariance C.
double quadratic(const Mat3& metric, const Vec3& delta);
double mean_square(const Mat3& metric, const Mat3& covariance);

}  // namespace mamelon::detail
