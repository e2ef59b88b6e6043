#include <array>
#include <bit>
#include <csetjmp>
#include <cstring>

#include <png.h>

#include "mamelon/error.h"

#include "capture/exif.h"
#include "capture/raster.h"

namespace mamelon::detail {
namespace {

// libpng leaves a fatal error by longjmp to the last setjmp on its own buffer. No object with a
// destructor lives between the two.
struct Source {
  std::span<const std::byte> bytes;
  std::size_t at = 0;
  std::array<char, 200> text{};
  std::array<char, 200> about_profile{};  // the first warning about the profile
};

void on_error(png_structp png, png_const_charp message) {
  auto* source = static_cast<Source*>(png_get_error_ptr(png));
  std::strncpy(source->text.data(), message, source->text.size() - 1);
  png_longjmp(png, 1);
}

// libpng passes over a profile that it finds malformed, and only warns.
void on_warning(png_structp png, png_const_charp message) {
  auto* source = static_cast<Source*>(png_get_error_ptr(png));
  if (std::strncmp(message, "iCCP", 4) == 0 && source->about_profile[0] == '\0') {
    std::strncpy(source->about_profile.data(), message, source->about_profile.size() - 1);
  }
}

void read_bytes(png_structp png, png_bytep out, std::size_t count) {
  auto* source = static_cast<Source*>(png_get_io_ptr(png));
  if (source->bytes.size() - source->at < count) png_error(png, "the file ends too early");
  std::memcpy(out, source->bytes.data() + source->at, count);
  source->at += count;
}

struct Png {
  png_structp png = nullptr;
  png_infop info = nullptr;
  explicit Png(Source& source)
      : png(png_create_read_struct(PNG_LIBPNG_VER_STRING, &source, on_error, on_warning)) {
    if (png != nullptr) info = png_create_info_struct(png);
    if (info == nullptr) throw IoError("libpng could not be started: out of memory");
  }
  Png(const Png&) = delete;
  Png& operator=(const Png&) = delete;
  ~Png() { png_destroy_read_struct(&png, &info, nullptr); }
};

bool read_header(Png& p, Source& source) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  png_set_read_fn(p.png, &source, read_bytes);
  png_set_user_limits(p.png, 1U << 17, 1U << 17);
  png_read_info(p.png, p.info);
  return true;
}

bool read_pixels(Png& p, png_bytepp rows) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  png_set_strip_alpha(p.png);
  if (std::endian::native == std::endian::little) png_set_swap(p.png);
  png_set_interlace_handling(p.png);
  png_read_update_info(p.png, p.info);
  png_read_image(p.png, rows);
  png_read_end(p.png, p.info);
  return true;
}

void take_metadata(const Png& p, Raster& raster) {
  png_charp name = nullptr;
  png_bytep profile = nullptr;
  png_uint_32 size = 0;
  int method = 0;
  if (png_get_iCCP(p.png, p.info, &name, &method, &profile, &size) == PNG_INFO_iCCP) {
    raster.icc.assign(profile, profile + size);
  }
  int intent = 0;
  raster.declared_srgb = png_get_sRGB(p.png, p.info, &intent) == PNG_INFO_sRGB;
  double gamma = 0;
  if (png_get_gAMA(p.png, p.info, &gamma) == PNG_INFO_gAMA && gamma > 0) raster.file_gamma = gamma;
  png_bytep exif = nullptr;
  png_uint_32 exif_size = 0;
  if (png_get_eXIf_1(p.png, p.info, &exif_size, &exif) == PNG_INFO_eXIf) {
    const auto facts = read_exif({reinterpret_cast<const std::byte*>(exif), exif_size});
    if (facts) {
      raster.orientation = facts->orientation;
    } else {
      raster.warnings.emplace_back("the EXIF block is malformed and was ignored");
    }
  }
}

}  // namespace

Raster decode_png(std::span<const std::byte> bytes, const std::string& name) {
  Source source{bytes};
  Png p(source);
  if (!read_header(p, source)) {
    throw DataError(name + ": not a usable PNG file: " + source.text.data());
  }
  const png_byte colour = png_get_color_type(p.png, p.info);
  if (colour == PNG_COLOR_TYPE_GRAY || colour == PNG_COLOR_TYPE_GRAY_ALPHA) {
    throw CaptureError(name + ": a greyscale PNG holds no colour; a colour photo is needed");
  }
  if (colour == PNG_COLOR_TYPE_PALETTE) {
    throw CaptureError(name +
                       ": a PNG with a palette has at most 256 colours, too few to measure; "
                       "export the photo in full colour");
  }
  Raster raster;
  raster.width = png_get_image_width(p.png, p.info);
  raster.height = png_get_image_height(p.png, p.info);
  check_photo_size(raster.width, raster.height, name);
  raster.bits = png_get_bit_depth(p.png, p.info) == 16 ? 16 : 8;
  const std::size_t samples = raster.width * 3;
  std::vector<png_bytep> rows(raster.height);
  if (raster.bits == 16) {
    raster.codes16.resize(samples * raster.height);
  } else {
    raster.codes8.resize(samples * raster.height);
  }
  for (std::size_t y = 0; y < raster.height; ++y) {
    rows[y] = raster.bits == 16 ? reinterpret_cast<png_bytep>(raster.codes16.data() + y * samples)
                                : raster.codes8.data() + y * samples;
  }
  if (!read_pixels(p, rows.data())) {
    throw DataError(name + ": the PNG file is truncated or damaged: " + source.text.data());
  }
  take_metadata(p, raster);
  if (raster.icc.empty() && source.about_profile[0] != '\0') {
    throw DataError(name +
                    ": the embedded ICC profile is malformed: " + source.about_profile.data());
  }
  return raster;
}

}  // namespace mamelon::detail
