#pragma once
// Quantiles of ΔE00 under an uncertain colour.

#include "mamelon/difference.h"

namespace mamelon::detail {

// The 95 % quantile of ΔE00 between `target` and a normal colour of mean `lab` and covariance
// `covariance`, from a fixed low-discrepancy sample.
double de00_p95(const Lab& target, const Lab& lab, const Mat3& covariance,
                const DifferenceWeights& weights);

}  // namespace mamelon::detail
