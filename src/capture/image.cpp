#include "mamelon/image.h"

#include <algorithm>
#include <array>
#include <future>
#include <optional>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/input_file.h"
#include "base/parallel.h"
#include "capture/belongs.h"
#include "capture/lineariser.h"
#include "capture/phone_files.h"
#include "capture/photo_writer.h"
#include "capture/raw.h"

namespace mamelon {
namespace detail {

void check_photo_size(std::size_t width, std::size_t height, const std::string& source) {
  const std::string size = std::to_string(width) + "×" + std::to_string(height);
  if (std::min(width, height) < limits::photo_side_least_px) {
    throw CaptureError(source + ": " + size + " pixels are too few to measure; the shorter side " +
                       "needs at least " + std::to_string(limits::photo_side_least_px));
  }
  if (width > limits::photo_pixels / height) {
    throw CaptureError(source + ": " + size + " pixels are more than the limit of " +
                       std::to_string(limits::photo_pixels / 1000000) +
                       " megapixels; scale the photo down");
  }
}

void check_photo_memory(std::size_t width, std::size_t height, std::size_t bytes_a_pixel,
                        std::size_t beside_bytes, const std::string& source) {
  constexpr std::size_t mib = std::size_t{1} << 20U;
  const std::size_t picture = width * height * bytes_a_pixel;
  if (picture <= limits::memory_bytes && beside_bytes <= limits::memory_bytes) return;
  const bool itself = picture > limits::memory_bytes;
  throw CaptureError(source + ": " + std::to_string(width) + "×" + std::to_string(height) +
                     " pixels of this kind of file need " +
                     std::to_string((itself ? picture : beside_bytes) / mib) + " MiB " +
                     (itself ? "of memory" : "of memory while they are read") + ", more than the " +
                     std::to_string(limits::memory_bytes / mib) +
                     " MiB that a photo may; scale it down or crop it");
}

namespace {

// In bands that stay in the cache. Where the pixels need more than storing, decoding is one
// thread's work and what follows another's, a band later.
void put_decoded(JpegReader& reader, PhotoWriter& writer) {
  constexpr std::size_t band = 64;
  const RasterFacts& facts = reader.facts();
  std::array<std::vector<std::uint8_t>, 2> codes;
  std::future<void> writing;
  for (std::size_t y = 0; y < facts.height; y += band) {
    const std::size_t rows = std::min(band, facts.height - y);
    if (std::uint8_t* const place = writer.next_rows(rows)) {
      reader.read_rows(place, rows);
      writer.filled(rows);
      continue;
    }
    std::vector<std::uint8_t>& half = codes[y / band % 2];
    half.resize(3 * facts.width * band);
    reader.read_rows(half.data(), rows);
    if (writing.valid()) writing.get();
    writing = std::async(beside, [&writer, &half, rows] { writer.put(half.data(), rows); });
  }
  if (writing.valid()) writing.get();
}

bool starts_with(std::span<const std::byte> bytes, std::initializer_list<int> magic) {
  return bytes.size() >= magic.size() &&
         std::equal(magic.begin(), magic.end(), bytes.begin(),
                    [](int m, std::byte b) { return std::to_integer<int>(b) == m; });
}

bool is_jpeg(std::span<const std::byte> bytes) {
  return starts_with(bytes, {0xFF, 0xD8, 0xFF});
}

void check_coloured(const PhotoWriter& writer, const std::string& source) {
  if (writer.is_grey()) {
    throw CaptureError(source + ": the photo is black and white; a colour photo is needed");
  }
}

// Every format but JPEG.
void decode_rows(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink) {
  if (starts_with(bytes, {0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A})) {
    return decode_png(bytes, source, sink);
  }
  if (is_camera_raw(bytes)) return decode_raw(bytes, source, sink);
  if (is_heic(bytes)) return decode_heic(bytes, source, sink);
  if (is_webp(bytes)) return decode_webp(bytes, source, sink);
  if (starts_with(bytes, {'I', 'I', 42, 0}) || starts_with(bytes, {'M', 'M', 0, 42}) ||
      starts_with(bytes, {'I', 'I', 43, 0}) || starts_with(bytes, {'M', 'M', 0, 43})) {
    return decode_tiff(bytes, source, sink);
  }
  throw DataError(source + ": not a JPEG, PNG, TIFF, HEIC, WebP or camera raw file");
}

Photo decode(std::span<const std::byte> bytes, const PhotoOptions& options,
             const std::string& source) {
  Photo photo;
  if (is_jpeg(bytes)) {
    JpegReader reader(bytes, source);
    PhotoWriter writer(reader.facts(), options, source, photo);
    put_decoded(reader, writer);
    check_coloured(writer, source);
    return photo;
  }
  std::optional<PhotoWriter> writer;
  decode_rows(
      bytes, source,
      {.begin = [&](const RasterFacts& facts) { writer.emplace(facts, options, source, photo); },
       .put8 = [&](const std::uint8_t* codes, std::size_t rows) { writer->put(codes, rows); },
       .put16 = [&](const std::uint16_t* codes, std::size_t rows) { writer->put(codes, rows); }});
  check_coloured(*writer, source);
  return photo;
}

}  // namespace

Raster decode_raster(std::span<const std::byte> bytes, const std::string& source) {
  if (is_jpeg(bytes)) return decode_jpeg(bytes, source);
  Raster raster;
  const auto append = [&raster](auto& to, const auto* codes, std::size_t rows) {
    to.insert(to.end(), codes, codes + 3 * raster.width * rows);
  };
  decode_rows(bytes, source,
              {.begin =
                   [&](const RasterFacts& facts) {
                     static_cast<RasterFacts&>(raster) = facts;
                     const std::size_t count = 3 * facts.width * facts.height;
                     if (facts.bits == 16) {
                       raster.codes16.reserve(count);
                     } else {
                       raster.codes8.reserve(count);
                     }
                   },
               .put8 = [&](const std::uint8_t* codes,
                           std::size_t rows) { append(raster.codes8, codes, rows); },
               .put16 = [&](const std::uint16_t* codes,
                            std::size_t rows) { append(raster.codes16, codes, rows); }});
  return raster;
}

}  // namespace detail

Photo expanded(Photo photo) {
  if (photo.codes.empty()) return photo;
  photo.rgb.resize(photo.codes.size());
  for (std::size_t i = 0; i < photo.codes.size(); ++i) {
    photo.rgb[i] = photo.light_of_code[i % 3][photo.codes[i]];
  }
  photo.codes = {};
  return photo;
}

Photo decode_photo(std::span<const std::byte> bytes, std::string_view source,
                   const PhotoOptions& options) {
  auto digest = std::async(detail::beside, [bytes] { return sha256_hex(bytes); });
  Photo photo = detail::decode(bytes, options, std::string(source));
  photo.provenance = detail::read_photo_provenance(digest.get(), options);
  return photo;
}

Photo read_photo(const std::filesystem::path& file, const PhotoOptions& options) {
  const std::string content = detail::InputFile(file, limits::photo_bytes).rest();
  const auto bytes = std::as_bytes(std::span(content));
  return decode_photo(bytes, file.filename().string(), options);
}

}  // namespace mamelon
