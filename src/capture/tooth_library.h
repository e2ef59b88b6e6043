#pragma once
// Reflectances that teeth can have.

#include <Eigen/Dense>

#include "mamelon/viewing.h"

namespace mamelon::detail {

// Grid of everything that is learnt spectrally here: 400–700 nm in steps of 10 nm.
Grid response_grid();

// Cervical, body, incisal and edge reflectances of eight modelled natural teeth, one a row
// (data/camera/tooth_reflectance.csv).
Eigen::MatrixXd natural_teeth();

// Reflectances that dentine and tabs can have, one a row on the response grid, evenly over a wide
// envelope:
//   ln R = s0 + s1 x + s2 x² − y exp(−(λ − 400)/60) − ln(1 + h·H^0.45),  x = (λ − 560)/140,
// λ in nm, H the absorption of oxyhaemoglobin over its largest value. The part with h lets pulpal
// and gingival blood show through.
Eigen::MatrixXd tooth_coloured_envelope(std::size_t count);

// What one expects of a tooth of any lightness, one reflectance a row: like the modelled ones,
// spread 1.3 times as wide and with less of a fall in the violet.
Eigen::MatrixXd tooth_library(std::size_t count);

}  // namespace mamelon::detail
