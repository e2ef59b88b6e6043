#pragma once
// Pictures for the sheet: a part of the photo as it would look on an sRGB display.

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/image.h"
#include "mamelon/zones.h"

namespace mamelon::detail {

// A rectangle of the photo shrunk by a whole factor.
struct Crop {
  std::size_t x = 0;  // of its upper left corner in the photo
  std::size_t y = 0;
  std::size_t shrink = 1;  // photo pixels a picture pixel, each way
  std::size_t width = 0;   // of the picture
  std::size_t height = 0;
};

// The tooth with some of what is around it, at most `longest` pixels a side.
Crop crop_around(const Mask& tooth, const Photo& photo, std::size_t longest);

// The crop, colour-corrected by the card's fit, as 8-bit interleaved sRGB.
std::vector<std::uint8_t> render(const Photo& photo, const CardFit& fit, const Crop& crop);

// Whether the photo pixel under a picture pixel's centre is inside the mask.
bool is_inside(const Mask& mask, const Crop& crop, std::size_t x, std::size_t y);

// PNG without any metadata, as a `data:` address.
std::string png_data_uri(const std::vector<std::uint8_t>& rgb, std::size_t width,
                         std::size_t height);

}  // namespace mamelon::detail
