#include "capture/raw.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <memory>

#include <libraw/libraw.h>

#include "mamelon/error.h"

#include "base/parallel.h"
#include "capture/exif.h"

namespace mamelon::detail {
namespace {

constexpr std::uint16_t full_scale = 65535;

void check(int code, const std::string& source) {
  if (code == LIBRAW_SUCCESS) return;
  throw DataError(source + ": the raw file cannot be read: " + libraw_strerror(code));
}

// Bilinear interpolation makes every value a mean of photosites of its own colour: linear in light,
// and no channel's error reaches another. Multipliers of one leave the camera's own balance.
void set_parameters(libraw_output_params_t& p) {
  p.output_color = 0;
  p.output_bps = 16;
  p.gamm[0] = p.gamm[1] = 1;
  p.no_auto_bright = 1;
  p.adjust_maximum_thr = 0;
  p.use_camera_wb = p.use_auto_wb = 0;
  std::fill_n(p.user_mul, 4, 1.0F);
  p.highlight = 0;
  p.user_qual = 0;
  p.user_flip = 0;
}

void check_sensor(const libraw_data_t& d, const std::string& source) {
  if (d.idata.colors == 3) return;
  throw CaptureError(source + ": the sensor sees " + std::to_string(d.idata.colors) +
                     (d.idata.colors == 1 ? " colour" : " colours") +
                     "; one that sees red, green and blue is needed");
}

// The raw value at which a channel is full: what the file says of the channel, else of all.
std::array<unsigned, 4> saturation_levels(const libraw_data_t& d) {
  std::array<unsigned, 4> levels{};
  for (std::size_t c = 0; c < 4; ++c) {
    const unsigned stated = d.color.dng_levels.dng_whitelevel[c];
    levels.at(c) = d.idata.dng_version != 0 && stated != 0 ? stated : d.color.maximum;
    const long linear = d.color.linear_max[c];
    // A statement far below the top is none: some makers leave the field to other uses.
    if (2 * linear > static_cast<long>(d.color.maximum)) {
      levels.at(c) = std::min(levels.at(c), static_cast<unsigned>(linear));
    }
  }
  return levels;
}

// One byte a pixel of the visible area: 1 where a photosite of the pixel is full.
std::vector<std::uint8_t> full_photosites(LibRaw& reader) {
  const libraw_data_t& d = reader.imgdata;
  const auto levels = saturation_levels(d);
  const std::size_t width = d.sizes.width;
  const std::size_t height = d.sizes.height;
  std::vector<std::uint8_t> full(width * height);
  const libraw_rawdata_t& raw = d.rawdata;
  const auto look = [&](const std::uint16_t* pixels, std::size_t channels, bool mosaic) {
    const std::size_t pitch = raw.sizes.raw_pitch / sizeof(std::uint16_t);
    for (std::size_t y = 0; y < height; ++y) {
      const std::uint16_t* line = pixels + (y + d.sizes.top_margin) * pitch +
                                  static_cast<std::size_t>(d.sizes.left_margin) * channels;
      for (std::size_t x = 0; x < width; ++x) {
        for (std::size_t c = 0; c < std::min<std::size_t>(channels, 3); ++c) {
          const std::size_t colour =
              mosaic
                  ? static_cast<std::size_t>(reader.COLOR(static_cast<int>(y), static_cast<int>(x)))
                  : c;
          if (line[x * channels + c] >= levels.at(colour)) full[y * width + x] = 1;
        }
      }
    }
  };
  if (raw.raw_image != nullptr) look(raw.raw_image, 1, true);
  if (raw.color3_image != nullptr) look(&raw.color3_image[0][0], 3, false);
  if (raw.color4_image != nullptr) look(&raw.color4_image[0][0], 4, false);
  return full;
}

// What the file says where it is built as EXIF blocks are, as most are; the rest by LibRaw.
CameraSettings settings_of(const libraw_data_t& d, std::span<const std::byte> bytes) {
  CameraSettings settings;
  if (const auto facts = read_exif(bytes)) settings = facts->settings;
  const auto fill = [](std::optional<double>& value, float told) {
    if (!value && told > 0 && told < 1e6F) value = told;
  };
  fill(settings.exposure_s, d.other.shutter);
  fill(settings.f_number, d.other.aperture);
  fill(settings.iso, d.other.iso_speed);
  return settings;
}

// EXIF's number for the turn that LibRaw states.
int orientation_of(int flip) {
  switch (flip) {
    case 3:
      return 3;
    case 5:
      return 8;
    case 6:
      return 6;
    default:
      return 1;
  }
}

// Camera RGB of the processed picture in bands, with every pixel at the top whose neighbourhood
// (that of the interpolation) has a full photosite.
void put_codes(const libraw_data_t& d, const std::vector<std::uint8_t>& full, int reach,
               const RasterFacts& facts, const RasterSink& sink) {
  const auto width = static_cast<std::ptrdiff_t>(facts.width);
  const auto height = static_cast<std::ptrdiff_t>(facts.height);
  constexpr std::size_t band = 256;
  std::vector<std::uint16_t> codes(3 * facts.width * std::min(band, facts.height));
  for (std::size_t first = 0; first < facts.height; first += band) {
    const std::size_t rows = std::min(band, facts.height - first);
    parallel_for(rows, 64, [&](std::size_t begin, std::size_t end) {
      for (auto y = static_cast<std::ptrdiff_t>(first + begin);
           y < static_cast<std::ptrdiff_t>(first + end); ++y) {
        for (std::ptrdiff_t x = 0; x < width; ++x) {
          bool clipped = false;
          for (std::ptrdiff_t v = std::max<std::ptrdiff_t>(0, y - reach);
               v <= std::min(height - 1, y + reach); ++v) {
            for (std::ptrdiff_t u = std::max<std::ptrdiff_t>(0, x - reach);
                 u <= std::min(width - 1, x + reach); ++u) {
              clipped = clipped || full[static_cast<std::size_t>(v * width + u)] != 0;
            }
          }
          const auto at = static_cast<std::size_t>(y * width + x);
          for (std::size_t c = 0; c < 3; ++c) {
            codes[3 * (at - first * facts.width) + c] =
                clipped ? full_scale
                        : std::min(d.image[at][c], static_cast<std::uint16_t>(full_scale - 1));
          }
        }
      }
    });
    sink.put16(codes.data(), rows);
  }
}

}  // namespace

void decode_raw(std::span<const std::byte> bytes, const std::string& source,
                const RasterSink& sink) {
  const auto reader = std::make_unique<LibRaw>();
  libraw_data_t& d = reader->imgdata;
  set_parameters(d.params);
  bool damaged = false;
  // LibRaw goes on past data that it misses or cannot decode, after telling of it here. The type of
  // the offset depends on its version.
  reader->set_dataerror_handler(
      [](void* told, const char*, auto) { *static_cast<bool*>(told) = true; }, &damaged);
  // LibRaw's interface takes the buffer as not const and only reads it.
  check(reader->open_buffer(
            const_cast<std::byte*>(bytes.data()),  // NOLINT(cppcoreguidelines-pro-type-const-cast)
            bytes.size()),
        source);
  check_photo_size(d.sizes.width, d.sizes.height, source);
  // The sensor's codes with their margins, four channels of the picture and the full photosites.
  constexpr std::size_t sensor = sizeof(std::uint16_t);
  constexpr std::size_t processed = 4 * sizeof(std::uint16_t) + 1;
  check_photo_memory(d.sizes.width, d.sizes.height, 3 * sizeof(std::uint16_t),
                     bytes.size() + sensor * d.sizes.raw_width * d.sizes.raw_height +
                         processed * d.sizes.width * d.sizes.height,
                     source);
  check(reader->unpack(), source);
  if (damaged) throw DataError(source + ": the raw file is truncated or damaged");
  check_sensor(d, source);
  const std::vector<std::uint8_t> full = full_photosites(*reader);
  const int flip = d.sizes.flip;
  const bool mosaic = d.rawdata.raw_image != nullptr;
  RasterFacts raster;
  raster.bits = 16;
  raster.width = d.sizes.width;
  raster.height = d.sizes.height;
  check(reader->dcraw_process(), source);
  if (d.sizes.iwidth != raster.width || d.sizes.iheight != raster.height || d.image == nullptr) {
    throw CaptureError(source +
                       ": photosites on a turned or stretched grid cannot be read; export "
                       "the photo as a linear 16-bit TIFF");
  }
  raster.orientation = orientation_of(flip);
  raster.file_gamma = 1;
  raster.settings = settings_of(d, bytes);
  sink.begin(raster);
  put_codes(d, full, mosaic ? 1 : 0, raster, sink);
}

}  // namespace mamelon::detail
