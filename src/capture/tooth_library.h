#pragma once
// Reflectances that teeth can have.

#include <Eigen/Dense>

#include "mamelon/viewing.h"

namespace mamelon::detail {

// Grid of everything that is learnt spectrally here: 400–700 nm in steps of 10 nm.
Grid response_grid();

// One reflectance a row on the response grid, evenly spread over a wide envelope of natural teeth
// and tooth-coloured restorations:
//   ln R = s0 + s1 x + s2 x² − y exp(−(λ − 400)/60) − ln(1 + h·H^0.45),  x = (λ − 560)/140,
// λ in nm, H the absorption of oxyhaemoglobin over its largest value. The part with h lets pulpal
// and gingival blood show through.
Eigen::MatrixXd tooth_library(std::size_t count);

}  // namespace mamelon::detail
