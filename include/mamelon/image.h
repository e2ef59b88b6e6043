#pragma once
/// @file
/// A decoded photo in linear light.

#include <array>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/provenance.h"

namespace mamelon {

/// How the file's numbers relate to light.
enum class Encoding {
  linear,            ///< the profile says that values are proportional to light
  profile,           ///< curves of the embedded ICC profile were undone
  srgb_assumed,      ///< no profile: sRGB assumed
  camera_rendering,  ///< a camera's own tone curve, known only through the card's neutrals
};
template <>
struct Words<Encoding> {
  static constexpr const char* name = "Encoding";
  static constexpr auto words = words_of("linear", "profile", "srgb_assumed", "camera_rendering");
};

/// Who sets the camera's balance of white.
enum class WhiteBalance { automatic, fixed };
template <>
struct Words<WhiteBalance> {
  static constexpr const char* name = "WhiteBalance";
  static constexpr auto words = words_of("automatic", "fixed");
};

/// How a photo was taken, as its file says (EXIF 2.32); absent where it does not.
struct CameraSettings {
  std::string camera;
  std::optional<double> exposure_s;
  std::optional<double> f_number;
  std::optional<double> iso;
  std::optional<WhiteBalance> white_balance;
  std::string taken;
};
template <>
struct Fields<CameraSettings> {
  static constexpr const char* name = "CameraSettings";
  static constexpr auto all() {
    using T = CameraSettings;
    return FieldList{
        field("camera", &T::camera,
              "digest of maker and model, which tells cameras apart; empty where not stated")
            .items(0, 200),
        field("exposure_s", &T::exposure_s, "exposure time").in("s").above(0, 1e6),
        field("f_number", &T::f_number, "of the aperture").above(0, 1e4),
        field("iso", &T::iso, "sensitivity").above(0, 1e9),
        field("white_balance", &T::white_balance, "whether the camera chose it anew"),
        field("taken", &T::taken, "YYYY-MM-DD hh:mm:ss by the camera's clock; empty: not stated")
            .items(0, 40)};
  }
};

/// Pixels in linear light, upright, with what is known of the exposure.
struct Photo {
  std::size_t width = 0;   ///< in pixels
  std::size_t height = 0;  ///< in pixels
  /// Interleaved R, G, B in the file's own primaries, 0…65535 proportional to light. Empty where
  /// `codes` is filled.
  std::vector<std::uint16_t> rgb;
  /// The same of an 8-bit file in half the memory: its codes, and the light of each code of R, G
  /// and B. Empty where `rgb` is filled; `expanded` makes the one from the other.
  std::vector<std::uint8_t> codes;
  std::array<std::array<std::uint16_t, 256>, 3> light_of_code{};  ///< of R, G, B
  /// Light at or above `clip_level[c]` was at the top of the file's range.
  std::uint16_t clip_level[3] = {65535, 65535, 65535};
  int bits = 8;                                ///< of the file
  Encoding encoding = Encoding::srgb_assumed;  ///< how the file held light
  std::string profile_description;             ///< of the embedded profile; empty without one
  CameraSettings settings;                     ///< as the file says
  std::vector<std::string> warnings;           ///< what to know before using it
  Provenance provenance;                       ///< how it was made

  /// Light of a pixel, 0…65535.
  [[nodiscard]] std::array<std::uint16_t, 3> pixel(std::size_t x, std::size_t y) const {
    const std::size_t i = 3 * (y * width + x);
    if (codes.empty()) return {rgb[i], rgb[i + 1], rgb[i + 2]};
    return {light_of_code[0][codes[i]], light_of_code[1][codes[i + 1]],
            light_of_code[2][codes[i + 2]]};
  }
  /// Whether a pixel of this light was at the top of the file's range in some channel.
  [[nodiscard]] bool is_clipped(const std::array<std::uint16_t, 3>& light) const {
    return light[0] >= clip_level[0] || light[1] >= clip_level[1] || light[2] >= clip_level[2];
  }
};

/// The photo with the light of every pixel in `rgb`.
[[nodiscard]] Photo expanded(Photo photo);

/// How a photo is read.
struct PhotoOptions {
  /// Treat an sRGB or untagged file as a camera's own rendering (see Encoding).
  bool camera_rendering = false;
  /// The photo was taken in a mirror: it is flipped, left for right.
  bool mirrored = false;
};

/// Decodes JPEG, PNG (8/16 bit) or TIFF (8/16 bit) with its ICC profile and EXIF orientation; HEIC
/// and WebP where mamelon was built with libheif and libwebp; or, by LibRaw where mamelon was built
/// with it, camera raw and DNG: linear, in the camera's own
/// primaries and balance, with no brightness of LibRaw's own. Throws IoError (cannot read),
/// DataError (not such a file, truncated, corrupt) or CaptureError (readable, but grey, CMYK, too
/// small or too large).
[[nodiscard]] Photo read_photo(const std::filesystem::path& file, const PhotoOptions& options = {});
[[nodiscard]] Photo decode_photo(std::span<const std::byte> bytes, std::string_view source,
                                 const PhotoOptions& options = {});

}  // namespace mamelon
