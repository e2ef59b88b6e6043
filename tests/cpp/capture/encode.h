#pragma once
// Photos made in memory: the encoders of the same libraries that the decoders use.

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace encode {

using Bytes = std::vector<std::byte>;

struct Image8 {
  std::size_t width = 0;
  std::size_t height = 0;
  std::vector<std::uint8_t> rgb;
};
struct Image16 {
  std::size_t width = 0;
  std::size_t height = 0;
  std::vector<std::uint16_t> rgb;
};

struct JpegOptions {
  int quality = 95;
  int orientation = 0;  // 0: no EXIF block
  Bytes icc;
  bool grey = false;
  bool cmyk = false;
};

Bytes jpeg(const Image8& image, const JpegOptions& options = {});
Bytes png8(const Image8& image, const Bytes& icc = {});
Bytes png16(const Image16& image, double gamma = 0);
Bytes tiff16(const Image16& image, const Bytes& icc = {}, int orientation = 1, bool tiled = false);

// An RGB matrix profile of sRGB primaries whose curves are pure powers.
Bytes gamma_profile(double gamma);
// The sRGB profile, and one made of tables that stands for the same colours.
Bytes srgb_profile();
Bytes srgb_table_profile();

}  // namespace encode
