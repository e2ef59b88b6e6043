#include <algorithm>
#include <array>
#include <bit>
#include <csetjmp>
#include <cstring>
#include <optional>
#include <string_view>

#include <png.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"

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

// What a photo is not read for. Texts may be compressed a thousand times and come by the thousand.
constexpr char passed_over[] =
    "bKGD\0cHRM\0eXIf\0hIST\0iTXt\0oFFs\0pCAL\0pHYs\0sBIT\0sCAL\0sPLT\0tEXt\0tIME\0tRNS\0zTXt";

bool read_header(Png& p, Source& source) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  png_set_keep_unknown_chunks(p.png, PNG_HANDLE_CHUNK_NEVER,
                              reinterpret_cast<png_const_bytep>(passed_over),
                              sizeof(passed_over) / 5);
  png_set_keep_unknown_chunks(p.png, PNG_HANDLE_CHUNK_NEVER, nullptr, 0);
  png_set_chunk_malloc_max(p.png, limits::profile_bytes);
  png_set_read_fn(p.png, &source, read_bytes);
  png_set_user_limits(p.png, 1U << 17, 1U << 17);
  png_read_info(p.png, p.info);
  return true;
}

bool start(Png& p) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  png_set_strip_alpha(p.png);
  if (std::endian::native == std::endian::little) png_set_swap(p.png);
  png_set_interlace_handling(p.png);
  png_read_update_info(p.png, p.info);
  return true;
}

bool read_rows(Png& p, png_bytepp rows, std::size_t count, bool whole) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  if (whole) {
    png_read_image(p.png, rows);
  } else {
    png_read_rows(p.png, rows, nullptr, static_cast<png_uint_32>(count));
  }
  return true;
}

bool finish(Png& p) {
  if (setjmp(png_jmpbuf(p.png)) != 0) return false;  // NOLINT(cert-err52-cpp): libpng's only way
  png_read_end(p.png, nullptr);
  return true;
}

// The content of the first chunk of a type, wherever it stands: EXIF may follow the pixels, which
// are turned as they come.
std::optional<std::span<const std::byte>> chunk_of(std::span<const std::byte> bytes,
                                                   std::string_view type) {
  constexpr std::size_t signature = 8;
  constexpr std::size_t around = 12;  // length, type and sum of a chunk
  for (std::size_t at = signature; at + around <= bytes.size();) {
    std::size_t length = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      length = length << 8U | std::to_integer<std::size_t>(bytes[at + i]);
    }
    if (length > bytes.size() - at - around) return {};
    if (std::memcmp(bytes.data() + at + 4, type.data(), type.size()) == 0) {
      return bytes.subspan(at + 8, length);
    }
    at += around + length;
  }
  return {};
}

void take_metadata(const Png& p, std::span<const std::byte> bytes, RasterFacts& raster) {
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
  if (const auto exif = chunk_of(bytes, "eXIf")) {
    const auto facts = read_exif(*exif);
    if (facts) {
      raster.orientation = facts->orientation;
      raster.settings = facts->settings;
    } else {
      raster.warnings.emplace_back("the EXIF block is malformed and was ignored");
    }
  }
}

}  // namespace

void decode_png(std::span<const std::byte> bytes, const std::string& name, const RasterSink& sink) {
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
  RasterFacts facts;
  facts.width = png_get_image_width(p.png, p.info);
  facts.height = png_get_image_height(p.png, p.info);
  check_photo_size(facts.width, facts.height, name);
  facts.bits = png_get_bit_depth(p.png, p.info) == 16 ? 16 : 8;
  const std::size_t row_bytes = facts.width * 3 * static_cast<std::size_t>(facts.bits / 8);
  // An interlaced picture is whole only at its end.
  const bool whole = png_get_interlace_type(p.png, p.info) != PNG_INTERLACE_NONE;
  const std::size_t band = whole ? facts.height : std::min<std::size_t>(facts.height, 64);
  check_photo_memory(facts.width, facts.height, 3 * static_cast<std::size_t>(facts.bits / 8),
                     bytes.size() + row_bytes * band, name);
  take_metadata(p, bytes, facts);
  if (facts.icc.empty() && source.about_profile[0] != '\0') {
    throw DataError(name +
                    ": the embedded ICC profile is malformed: " + source.about_profile.data());
  }
  sink.begin(facts);
  const auto damaged = [&] {
    return DataError(name + ": the PNG file is truncated or damaged: " + source.text.data());
  };
  if (!start(p)) throw damaged();
  // Of 16 bits, so that either kind of code is aligned in it.
  std::vector<std::uint16_t> codes((row_bytes * band + 1) / 2);
  std::vector<png_bytep> rows(band);
  for (std::size_t y = 0; y < band; ++y) {
    rows[y] = reinterpret_cast<png_bytep>(codes.data()) + y * row_bytes;
  }
  for (std::size_t y = 0; y < facts.height; y += band) {
    const std::size_t count = std::min(band, facts.height - y);
    if (!read_rows(p, rows.data(), count, whole)) throw damaged();
    if (facts.bits == 16) {
      sink.put16(codes.data(), count);
    } else {
      sink.put8(reinterpret_cast<const std::uint8_t*>(codes.data()), count);
    }
  }
  if (!finish(p)) throw damaged();
}

}  // namespace mamelon::detail
