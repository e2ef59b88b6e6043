#pragma once
// How a file's codes become light.

#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "mamelon/image.h"

#include "capture/icc.h"
#include "capture/raster.h"

namespace mamelon::detail {

// Three curves, or a profile's tables.
struct Lineariser {
  Encoding encoding = Encoding::srgb_assumed;
  // Light, 0…65535, of every code of the file, for R, G, B; empty where a profile has tables.
  std::array<std::vector<std::uint16_t>, 3> curves;
  std::unique_ptr<IccProfile> profile;  // only one with tables
  std::string description;
  std::vector<std::string> warnings;
};

// By the embedded profile, else by what the file declares, else as sRGB with a warning. Throws as
// IccProfile does.
Lineariser choose_lineariser(const RasterFacts& facts, const PhotoOptions& options,
                             const std::string& source);

// The decoded file, by what its first bytes are. Throws as `decode_photo` does.
Raster decode_raster(std::span<const std::byte> bytes, const std::string& source);

}  // namespace mamelon::detail
