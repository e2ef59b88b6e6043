#pragma once
/// @file
/// Regions of a photo that are no teeth, and masks drawn by other programs.

#include <string>
#include <string_view>

#include "mamelon/zones.h"

namespace mamelon {

/// A picture as a mask, from PNG: inside where it is bright. Throws DataError, naming `source`, for
/// what is no PNG or has no bright pixel.
[[nodiscard]] Mask parse_mask(std::string_view png, const std::string& source);

/// Mean CIELAB of a region that is no tooth, such as a prepared floor: of any colour and darkness,
/// read as it is but for over-exposed pixels. Its own change of colour is no error of the mean.
/// `kind` is what it is made of. The reading has no zone. Throws ArgumentError for a region that is
/// empty or leaves the photo and CaptureError where all of it is over-exposed.
[[nodiscard]] Reading read_region(const Photo& photo, const CardFit& fit, const Mask& region,
                                  SurfaceKind kind, const std::string& label);
/// The same of a box.
[[nodiscard]] Reading read_region(const Photo& photo, const CardFit& fit, const BoxPx& region,
                                  SurfaceKind kind, const std::string& label);

}  // namespace mamelon
