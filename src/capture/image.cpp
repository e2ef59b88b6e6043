#include "mamelon/image.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <future>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "capture/lineariser.h"
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
    writing =
        std::async(std::launch::async, [&writer, &half, rows] { writer.put(half.data(), rows); });
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
  const Raster raster = decode_raster(bytes, source);
  PhotoWriter writer(raster, options, source, photo);
  if (raster.bits == 16) {
    writer.put(raster.codes16.data(), raster.height);
  } else {
    writer.put(raster.codes8.data(), raster.height);
  }
  check_coloured(writer, source);
  return photo;
}

}  // namespace

Raster decode_raster(std::span<const std::byte> bytes, const std::string& source) {
  if (is_jpeg(bytes)) return decode_jpeg(bytes, source);
  if (starts_with(bytes, {0x89, 'P', 'N', 'G', 0x0D, 0x0A, 0x1A, 0x0A})) {
    return decode_png(bytes, source);
  }
  if (is_camera_raw(bytes)) return decode_raw(bytes, source);
  if (starts_with(bytes, {'I', 'I', 42, 0}) || starts_with(bytes, {'M', 'M', 0, 42}) ||
      starts_with(bytes, {'I', 'I', 43, 0}) || starts_with(bytes, {'M', 'M', 0, 43})) {
    return decode_tiff(bytes, source);
  }
  throw DataError(source + ": not a JPEG, PNG, TIFF or camera raw file");
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
  auto digest = std::async(std::launch::async, [bytes] { return sha256_hex(bytes); });
  Photo photo = detail::decode(bytes, options, std::string(source));
  photo.provenance = make_provenance(
      "read_photo", options.camera_rendering ? "camera_rendering=1" : "camera_rendering=0",
      {digest.get()});
  return photo;
}

Photo read_photo(const std::filesystem::path& file, const PhotoOptions& options) {
  std::ifstream in(file, std::ios::binary | std::ios::ate);
  if (!in) throw IoError(file.string() + ": cannot be opened for reading");
  const std::streamoff size = in.tellg();
  if (size < 0 || static_cast<std::size_t>(size) > limits::photo_bytes)
    throw IoError(file.string() + ": not a file of at most 2 GiB");
  std::vector<std::byte> bytes(static_cast<std::size_t>(size));
  in.seekg(0);
  if (!in.read(reinterpret_cast<char*>(bytes.data()), size)) {
    throw IoError(file.string() + ": cannot be read");
  }
  return decode_photo(bytes, file.filename().string(), options);
}

}  // namespace mamelon
