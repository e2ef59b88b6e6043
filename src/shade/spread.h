#pragma once
// Covariances as sizes of ΔE00.

#include "mamelon/measured.h"

namespace mamelon::detail {

// (Σλ)² / Σλ² of the eigenvalues of metric · covariance, 1–3: how many equal axes spread a mean
// square ΔE00 like this one. A mean square on ν degrees of freedom then counts as χ² on
// ν · effective_axes (Satterthwaite 1946).
double effective_axes(const Mat3& metric, const Mat3& covariance);

// The nearest positive semi-definite matrix: negative eigenvalues become 0.
Mat3 positive_part(const Mat3& symmetric);

// The inverse of a positive definite matrix, directions without variance held off by a floor of
// 1e-9 of the trace.
Mat3 inverse(const Mat3& covariance);

}  // namespace mamelon::detail
