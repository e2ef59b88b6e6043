#pragma once
// What the file decoders hand over: the file's own numbers, before any of them means light.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace mamelon::detail {

struct Raster {
  std::size_t width = 0;
  std::size_t height = 0;
  int bits = 8;                        // 8 or 16: which of the two vectors is filled
  std::vector<std::uint8_t> codes8;    // interleaved R, G, B
  std::vector<std::uint16_t> codes16;  // the same, native byte order
  std::vector<std::uint8_t> icc;       // empty without a profile
  int orientation = 1;                 // EXIF 1–8
  bool lossy = false;                  // JPEG: codes next to the top may have been clipped ones
  bool declared_srgb = false;
  std::optional<double> file_gamma;  // exponent of a PNG gAMA chunk, code = light^gamma
  std::vector<std::string> warnings;
};

// Smallest side and largest area of a photo that can be measured.
inline constexpr std::size_t min_side_px = 240;
inline constexpr std::size_t max_area_px = std::size_t{160} * 1000 * 1000;

// Throws CaptureError naming the limit when the size cannot be measured.
void check_photo_size(std::size_t width, std::size_t height, const std::string& source);

Raster decode_jpeg(std::span<const std::byte> bytes, const std::string& source);
Raster decode_png(std::span<const std::byte> bytes, const std::string& source);
Raster decode_tiff(std::span<const std::byte> bytes, const std::string& source);

}  // namespace mamelon::detail
