#pragma once
// What a grey card alone allows.

#include <memory>

#include "mamelon/image.h"

#include "capture/colour_map.h"

namespace mamelon::detail {

// The neutral patches give exposure and white balance; the rest is the average camera. Files in
// linear light hold camera signals and take the average map of the measured population to teeth;
// other files are taken at their word as sRGB. The covariance is the population's spread either
// way. Needs one neutral.
std::unique_ptr<ColourMap> fit_grey(const Training& training, Encoding encoding);

}  // namespace mamelon::detail
