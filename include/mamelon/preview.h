#pragma once
/// @file
/// What a screen shows of a photo and of the masks found in it.

#include <cstddef>
#include <string>
#include <vector>

#include "mamelon/zones.h"

namespace mamelon {

/// A small copy of a photo for a screen.
struct Preview {
  std::size_t width = 0;   ///< in pixels
  std::size_t height = 0;  ///< in pixels
  std::string rgba;        ///< row-major R, G, B, A of 8 bits, sRGB
};

/// The photo shrunk by averaging light over whole squares of pixels until no side is longer than
/// `longest_px` (at least 16). The file's own primaries are taken for those of sRGB. Throws
/// ArgumentError for a smaller `longest_px`.
[[nodiscard]] Preview preview_of(const Photo& photo, std::size_t longest_px);

/// The outer edge of a mask's largest part as a closed polygon of `corners` points evenly spaced
/// along it, in pixels of the photo; empty for a mask with nothing inside. Throws ArgumentError for
/// fewer than 3 corners.
[[nodiscard]] std::vector<PointPx> outline_of(const Mask& mask, std::size_t corners);

}  // namespace mamelon
