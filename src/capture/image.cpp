#include "mamelon/image.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <optional>

#include "mamelon/error.h"

#include "base/parallel.h"
#include "capture/icc.h"
#include "capture/raster.h"

namespace mamelon {
namespace detail {

void check_photo_size(std::size_t width, std::size_t height, const std::string& source) {
  const std::string size = std::to_string(width) + "×" + std::to_string(height);
  if (std::min(width, height) < min_side_px) {
    throw CaptureError(source + ": " + size + " pixels are too few to measure; the shorter side " +
                       "needs at least " + std::to_string(min_side_px));
  }
  if (width > max_area_px / height) {
    throw CaptureError(source + ": " + size + " pixels are more than the limit of " +
                       std::to_string(max_area_px / 1000000) + " megapixels; scale the photo down");
  }
}

namespace {

using Curves = std::array<std::vector<std::uint16_t>, 3>;

// IEC 61966-2-1, code to light.
double srgb_to_light(double code) {
  return code <= 0.04045 ? code / 12.92 : std::pow((code + 0.055) / 1.055, 2.4);
}

std::uint16_t to_16_bit(double light) {
  return static_cast<std::uint16_t>(std::lround(std::clamp(light, 0.0, 1.0) * 65535.0));
}

// How codes become light: three curves, or a profile's tables.
struct Lineariser {
  Encoding encoding = Encoding::srgb_assumed;
  Curves curves;
  std::optional<IccProfile> profile;  // filled for a profile with tables only
  std::string description;
  std::vector<std::string> warnings;
};

template <class Curve>
void fill_same_curves(Lineariser& l, std::size_t levels, const Curve& curve) {
  for (auto& table : l.curves) {
    table.resize(levels);
    for (std::size_t i = 0; i < levels; ++i) {
      table[i] = to_16_bit(curve(static_cast<double>(i) / static_cast<double>(levels - 1)));
    }
  }
}

void use_profile(Lineariser& l, const Raster& raster, std::size_t levels,
                 const std::string& source) {
  l.profile.emplace(raster.icc, source);
  l.description = l.profile->description();
  l.encoding = l.profile->is_linear() ? Encoding::linear : Encoding::profile;
  if (!l.profile->is_matrix()) return;
  const auto curves = l.profile->curves(levels);
  for (std::size_t c = 0; c < 3; ++c) {
    l.curves[c].resize(levels);
    std::transform(curves[c].begin(), curves[c].end(), l.curves[c].begin(), to_16_bit);
  }
  l.profile.reset();
}

void choose_lineariser(Lineariser& l, const Raster& raster, const PhotoOptions& options,
                       const std::string& source) {
  const std::size_t levels = raster.bits == 16 ? 65536 : 256;
  if (!raster.icc.empty()) {
    use_profile(l, raster, levels, source);
  } else if (raster.file_gamma && !raster.declared_srgb) {
    const double exponent = 1.0 / *raster.file_gamma;
    l.encoding = std::abs(exponent - 1.0) < 1e-3 ? Encoding::linear : Encoding::profile;
    fill_same_curves(l, levels, [&](double code) { return std::pow(code, exponent); });
  } else {
    fill_same_curves(l, levels, srgb_to_light);
    if (!raster.declared_srgb) {
      l.warnings.emplace_back("the photo carries no colour profile: sRGB is assumed");
    }
  }
  if (options.camera_rendering && l.encoding != Encoding::linear) {
    l.encoding = Encoding::camera_rendering;
  }
}

// Where the pixel at (x, y) of the file goes in the upright photo (EXIF 2.32, Orientation):
// first + x·step_x + y·step_y.
struct Placement {
  std::size_t width = 0;
  std::size_t height = 0;
  std::ptrdiff_t first = 0;
  std::ptrdiff_t step_x = 1;
  std::ptrdiff_t step_y = 0;
};

Placement placement(std::size_t file_width, std::size_t file_height, int orientation) {
  const bool transposed = orientation >= 5;
  Placement p;
  p.width = transposed ? file_height : file_width;
  p.height = transposed ? file_width : file_height;
  const auto w = static_cast<std::ptrdiff_t>(p.width);
  const auto h = static_cast<std::ptrdiff_t>(p.height);
  const bool from_right =
      orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
  const bool from_bottom =
      orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
  const std::ptrdiff_t along_x = from_right ? -1 : 1;
  const std::ptrdiff_t along_y = from_bottom ? -w : w;
  p.first = (from_right ? w - 1 : 0) + (from_bottom ? (h - 1) * w : 0);
  p.step_x = transposed ? along_y : along_x;
  p.step_y = transposed ? along_x : along_y;
  return p;
}

template <class Code>
void place_row(const Code* codes, std::size_t y, std::size_t width, const Lineariser& l,
               const Placement& p, std::uint16_t* out, std::vector<std::uint16_t>& scratch) {
  const std::ptrdiff_t row = p.first + static_cast<std::ptrdiff_t>(y) * p.step_y;
  if (!l.profile) {
    for (std::size_t x = 0; x < width; ++x) {
      std::uint16_t* to = out + 3 * (row + static_cast<std::ptrdiff_t>(x) * p.step_x);
      for (std::size_t c = 0; c < 3; ++c) to[c] = l.curves[c][codes[3 * x + c]];
    }
    return;
  }
  constexpr unsigned to_full = sizeof(Code) == 1 ? 257 : 1;
  constexpr Code top = static_cast<Code>(~Code{0});
  scratch.resize(6 * width);
  for (std::size_t i = 0; i < 3 * width; ++i) {
    scratch[i] = static_cast<std::uint16_t>(codes[i] * to_full);
  }
  std::uint16_t* light = scratch.data() + 3 * width;
  l.profile->to_wide_linear(scratch.data(), light, width);
  for (std::size_t x = 0; x < width; ++x) {
    std::uint16_t* to = out + 3 * (row + static_cast<std::ptrdiff_t>(x) * p.step_x);
    const Code* from = codes + 3 * x;
    // A clipped code spoils all three channels of the wide space: keep it recognisable.
    const bool clipped = std::max({from[0], from[1], from[2]}) == top;
    for (std::size_t c = 0; c < 3; ++c) {
      to[c] = clipped ? std::uint16_t{65535} : std::min(light[3 * x + c], std::uint16_t{65534});
    }
  }
}

void linearise(const Raster& raster, const Lineariser& l, Photo& photo) {
  const Placement p = placement(raster.width, raster.height, raster.orientation);
  photo.width = p.width;
  photo.height = p.height;
  photo.rgb.resize(3 * p.width * p.height);
  parallel_for(raster.height, 64, [&](std::size_t begin, std::size_t end) {
    std::vector<std::uint16_t> scratch;
    for (std::size_t y = begin; y < end; ++y) {
      const std::size_t at = 3 * raster.width * y;
      if (raster.bits == 16) {
        place_row(raster.codes16.data() + at, y, raster.width, l, p, photo.rgb.data(), scratch);
      } else {
        place_row(raster.codes8.data() + at, y, raster.width, l, p, photo.rgb.data(), scratch);
      }
    }
  });
  if (l.profile) return;
  // Lossy coding scatters clipped codes a little below the top; converters of raw files leave a
  // clipped channel within a fraction of a percent of it.
  const std::size_t top = l.curves[0].size() - 1;
  const std::size_t clipped_from = raster.bits == 16 ? top - 65 : (raster.lossy ? top - 1 : top);
  for (std::size_t c = 0; c < 3; ++c) photo.clip_level[c] = l.curves[c][clipped_from];
}

template <class Code>
bool is_grey(const std::vector<Code>& codes) {
  // Every 97th pixel: enough to tell, cheap on any size.
  for (std::size_t i = 0; i + 2 < codes.size(); i += std::size_t{3} * 97) {
    const auto [low, high] = std::minmax({codes[i], codes[i + 1], codes[i + 2]});
    if (high - low > 2) return false;
  }
  return true;
}

Raster decode(std::span<const std::byte> bytes, const std::string& source) {
  const auto starts_with = [&](std::initializer_list<int> magic) {
    return bytes.size() >= magic.size() &&
           std::equal(magic.begin(), magic.end(), bytes.begin(),
                      [](int m, std::byte b) { return std::to_integer<int>(b) == m; });
  };
  if (starts_with({0xFF, 0xD8, 0xFF})) return decode_jpeg(bytes, source);
  if (starts_with({0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A})) return decode_png(bytes, source);
  if (starts_with({'I', 'I', 42, 0}) || starts_with({'M', 'M', 0, 42}) ||
      starts_with({'I', 'I', 43, 0}) || starts_with({'M', 'M', 0, 43})) {
    return decode_tiff(bytes, source);
  }
  throw DataError(source + ": not a JPEG, PNG or TIFF file");
}

}  // namespace
}  // namespace detail

std::string_view to_string(Encoding encoding) {
  switch (encoding) {
    case Encoding::linear:
      return "linear";
    case Encoding::profile:
      return "profile";
    case Encoding::srgb_assumed:
      return "sRGB assumed";
    case Encoding::camera_rendering:
      return "camera rendering";
  }
  throw ArgumentError("unknown photo encoding");
}

Photo decode_photo(std::span<const std::byte> bytes, std::string_view source,
                   const PhotoOptions& options) {
  const std::string name(source);
  detail::Raster raster = detail::decode(bytes, name);
  if (raster.bits == 16 ? detail::is_grey(raster.codes16) : detail::is_grey(raster.codes8)) {
    throw CaptureError(name + ": the photo is black and white; a colour photo is needed");
  }
  detail::Lineariser lineariser;
  detail::choose_lineariser(lineariser, raster, options, name);
  Photo photo;
  photo.bits = raster.bits;
  photo.encoding = lineariser.encoding;
  photo.profile_description = lineariser.description;
  photo.warnings = std::move(raster.warnings);
  photo.warnings.insert(photo.warnings.end(), lineariser.warnings.begin(),
                        lineariser.warnings.end());
  detail::linearise(raster, lineariser, photo);
  photo.provenance = make_provenance(
      "read_photo", options.camera_rendering ? "camera_rendering=1" : "camera_rendering=0",
      {sha256_hex(bytes)});
  return photo;
}

Photo read_photo(const std::filesystem::path& file, const PhotoOptions& options) {
  std::ifstream in(file, std::ios::binary | std::ios::ate);
  if (!in) throw IoError(file.string() + ": cannot be opened for reading");
  const std::streamoff size = in.tellg();
  constexpr std::streamoff limit = std::streamoff{1} << 31;
  if (size < 0 || size > limit) throw IoError(file.string() + ": not a file of at most 2 GiB");
  std::vector<std::byte> bytes(static_cast<std::size_t>(size));
  in.seekg(0);
  if (!in.read(reinterpret_cast<char*>(bytes.data()), size)) {
    throw IoError(file.string() + ": cannot be read");
  }
  return decode_photo(bytes, file.filename().string(), options);
}

}  // namespace mamelon
