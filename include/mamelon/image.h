#pragma once
/// @file
/// A decoded photo in linear light.

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/provenance.h"

namespace mamelon {

/// How the file's numbers relate to light.
enum class Encoding {
  linear,            ///< the profile says that values are proportional to light
  profile,           ///< curves of the embedded ICC profile were undone
  srgb_assumed,      ///< no profile: sRGB assumed
  camera_rendering,  ///< a camera's own tone curve, known only through the card's neutrals
};
[[nodiscard]] std::string_view to_string(Encoding encoding);

/// Pixels in linear light, upright, with what is known of the exposure.
struct Photo {
  std::size_t width = 0;
  std::size_t height = 0;
  /// Interleaved R, G, B in the file's own primaries, 0…65535 proportional to light.
  std::vector<std::uint16_t> rgb;
  /// Values in `rgb` at or above `clip_level[c]` were at the top of the file's range.
  std::uint16_t clip_level[3] = {65535, 65535, 65535};
  int bits = 8;  ///< of the file
  Encoding encoding = Encoding::srgb_assumed;
  std::string profile_description;  ///< of the embedded profile; empty without one
  std::vector<std::string> warnings;
  Provenance provenance;

  [[nodiscard]] const std::uint16_t* pixel(std::size_t x, std::size_t y) const {
    return rgb.data() + 3 * (y * width + x);
  }
};

struct PhotoOptions {
  /// Treat an sRGB or untagged file as a camera's own rendering (see Encoding).
  bool camera_rendering = false;
};

/// Decodes JPEG, PNG (8/16 bit) or TIFF (8/16 bit) with its ICC profile and EXIF orientation; or,
/// by LibRaw where mamelon was built with it, camera raw and DNG: linear, in the camera's own
/// primaries and balance, with no brightness of LibRaw's own. Throws IoError (cannot read),
/// DataError (not such a file, truncated, corrupt) or CaptureError (readable, but grey, CMYK, too
/// small or too large).
[[nodiscard]] Photo read_photo(const std::filesystem::path& file, const PhotoOptions& options = {});
[[nodiscard]] Photo decode_photo(std::span<const std::byte> bytes, std::string_view source,
                                 const PhotoOptions& options = {});

}  // namespace mamelon
