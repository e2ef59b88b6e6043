#pragma once
// A 3×3 with what it leaves at the patches interpolated in CIELAB.

#include <memory>

#include "capture/colour_map.h"

namespace mamelon::detail {

// `fit_matrix`, and its residuals at the patches as a Gaussian process over the CIELAB it gives
// (Rasmussen and Williams 2006, chapter 2): squared-exponential, 22 units wide, with noise of 0.3
// of its standard deviation. Needs what `fit_matrix` needs.
std::unique_ptr<ColourMap> fit_matrix_with_residual(const Training& training);

}  // namespace mamelon::detail
