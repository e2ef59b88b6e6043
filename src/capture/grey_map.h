#pragma once
// What a grey card alone allows.

#include <memory>

#include "mamelon/image.h"

#include "capture/colour_map.h"

namespace mamelon::detail {

// The neutral patches give exposure and white balance; the rest is the average camera. Files in
// linear light hold camera signals and take the average map of the measured population to teeth,
// that of members which see white in about the same ratios where the file was not balanced to grey;
// other files are taken at their word as sRGB. The covariance is the population's spread either
// way. Needs one neutral.
std::unique_ptr<ColourMap> fit_grey(const Training& training, Encoding encoding);

// The same from surfaces of tooth-like colour in place of neutrals: their mean sets the channels,
// and the average camera has to be right for differences from it only. Where only their Lab is
// known a tooth of that colour stands for them. Needs one surface.
std::unique_ptr<ColourMap> fit_tabs(const Training& training, Encoding encoding);

}  // namespace mamelon::detail
