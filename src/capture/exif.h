#pragma once
// The facts of an EXIF block that change how pixels are read, and how the photo was taken.

#include <cstddef>
#include <optional>
#include <span>

#include "mamelon/image.h"

namespace mamelon::detail {

struct ExifFacts {
  int orientation = 1;         // 1–8
  bool declared_srgb = false;  // ColorSpace = 1
  CameraSettings settings;     // what is stated amiss is taken as not stated
};

// Reads a TIFF-structured EXIF block (from its byte-order mark on). Nothing when the block breaks
// its own rules: offsets outside it, an entry of the wrong type or count, an orientation outside
// 1–8.
std::optional<ExifFacts> read_exif(std::span<const std::byte> block);

}  // namespace mamelon::detail
