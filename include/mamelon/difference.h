#pragma once
/// @file
/// Colour differences.

#include "mamelon/colour.h"

namespace mamelon {

/// Parametric factors of CIEDE2000; 1:1:1 and 2:1:1 are in use in dentistry.
struct DifferenceWeights {
  double kl = 1;
  double kc = 1;
  double kh = 1;
  friend bool operator==(const DifferenceWeights&, const DifferenceWeights&) = default;
};

/// CIEDE2000 (ISO/CIE 11664-6; Sharma, Wu, Dalal 2005). The mean-hue tie at 180° is decided by the
/// sign of a1'b2 − a2'b1. NaN in, NaN out. Symmetric to the bit; exactly 0 for equal colours.
[[nodiscard]] double de00(const Lab& reference, const Lab& sample,
                          const DifferenceWeights& weights = {});

/// CIEDE2000 with its signed weighted parts, sample minus reference:
/// de² = dl² + dc² + dh² + R_T·dc·dh.
struct SignedDifference {
  double de = 0;
  double dl = 0;
  double dc = 0;
  double dh = 0;
};
[[nodiscard]] SignedDifference de00_parts(const Lab& reference, const Lab& sample,
                                          const DifferenceWeights& weights = {});

/// CIELAB difference ΔE*ab (ISO/CIE 11664-4).
[[nodiscard]] double de76(const Lab& reference, const Lab& sample);

}  // namespace mamelon
