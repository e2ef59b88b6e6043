#pragma once
// What a small aperture does not see of a tooth.

#include "mamelon/drawdown.h"
#include "mamelon/reading.h"

namespace mamelon::detail {

// The reading as a wide aperture would have it: light that leaves the tooth beside the circle lit
// is added back, as teeth of usual scattering lose it, with what these differ by as a shared error.
// Throws ModelError where a colour without a curve is that of no reflectance.
Reading seen_widely(const Reading& reading, const Aperture& aperture, bool specular_included);

}  // namespace mamelon::detail
