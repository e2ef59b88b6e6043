// HEIC and AVIF by libheif, which is linked dynamically (LGPL-3.0).

#include <algorithm>
#include <cstdint>
#include <memory>
#include <vector>

#include <libheif/heif.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "capture/exif.h"
#include "capture/phone_files.h"

namespace mamelon::detail {
namespace {

struct FreeContext {
  void operator()(heif_context* context) const { heif_context_free(context); }
};
struct FreeHandle {
  void operator()(heif_image_handle* handle) const { heif_image_handle_release(handle); }
};
struct FreeImage {
  void operator()(heif_image* image) const { heif_image_release(image); }
};
struct FreeColour {
  void operator()(heif_color_profile_nclx* colour) const { heif_nclx_color_profile_free(colour); }
};

void check(const heif_error& error, const std::string& source) {
  if (error.code == heif_error_Ok) return;
  throw DataError(source + ": the HEIC or AVIF file cannot be read: " + error.message);
}

// The profile, or what the file's code points say (ISO/IEC 23091-2).
void take_colour(heif_image_handle* handle, const std::string& source, RasterFacts& facts) {
  const auto kind = heif_image_handle_get_color_profile_type(handle);
  if (kind == heif_color_profile_type_prof || kind == heif_color_profile_type_rICC) {
    const std::size_t size = heif_image_handle_get_raw_color_profile_size(handle);
    if (size > limits::profile_bytes) {
      throw DataError(source + ": its colour profile is larger than " +
                      std::to_string(limits::profile_bytes >> 20U) + " MiB");
    }
    facts.icc.resize(size);
    check(heif_image_handle_get_raw_color_profile(handle, facts.icc.data()), source);
    return;
  }
  heif_color_profile_nclx* given = nullptr;
  if (heif_image_handle_get_nclx_color_profile(handle, &given).code != heif_error_Ok) return;
  const std::unique_ptr<heif_color_profile_nclx, FreeColour> colour(given);
  switch (colour->transfer_characteristics) {
    case heif_transfer_characteristic_IEC_61966_2_1:
      facts.declared_srgb = true;
      return;
    case heif_transfer_characteristic_unspecified:
      return;
    case heif_transfer_characteristic_linear:
      facts.file_gamma = 1;
      return;
    default:
      throw CaptureError(source +
                         ": its tones are those of video, not of a photo; export it as a JPEG or "
                         "TIFF in sRGB");
  }
}

// Its EXIF block begins with the offset of the block proper (ISO/IEC 23008-12, annex A).
void take_settings(heif_image_handle* handle, RasterFacts& facts) {
  heif_item_id id = 0;
  if (heif_image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) != 1) return;
  std::vector<std::byte> block(heif_image_handle_get_metadata_size(handle, id));
  constexpr std::size_t largest = std::size_t{1} << 20U;
  if (block.size() < 4 || block.size() > largest) return;
  if (heif_image_handle_get_metadata(handle, id, block.data()).code != heif_error_Ok) return;
  std::size_t offset = 0;
  for (std::size_t i = 0; i < 4; ++i)
    offset = offset << 8U | std::to_integer<std::size_t>(block[i]);
  if (offset > block.size() - 4) return;
  const auto exif = read_exif(std::span(block).subspan(4 + offset));
  if (exif) facts.settings = exif->settings;
}

}  // namespace

void decode_heic(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink) {
  const std::unique_ptr<heif_context, FreeContext> context(heif_context_alloc());
  check(heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(),
                                                   nullptr),
        source);
  heif_image_handle* found = nullptr;
  check(heif_context_get_primary_image_handle(context.get(), &found), source);
  const std::unique_ptr<heif_image_handle, FreeHandle> handle(found);
  const int width = heif_image_handle_get_width(handle.get());
  const int height = heif_image_handle_get_height(handle.get());
  if (width <= 0 || height <= 0) throw DataError(source + ": the HEIC or AVIF file has no size");
  RasterFacts facts;
  facts.width = static_cast<std::size_t>(width);
  facts.height = static_cast<std::size_t>(height);
  facts.lossy = true;
  const bool deep = heif_image_handle_get_luma_bits_per_pixel(handle.get()) > 8;
  facts.bits = deep ? 16 : 8;
  check_photo_size(facts.width, facts.height, source);
  const std::size_t sample = deep ? sizeof(std::uint16_t) : 1;
  // The planes as they are coded, and the picture made of them.
  check_photo_memory(facts.width, facts.height, 3 * sample,
                     bytes.size() + 6 * sample * facts.width * facts.height, source);
  take_colour(handle.get(), source, facts);
  take_settings(handle.get(), facts);
  heif_image* decoded = nullptr;
  // Turns and mirrorings that the file asks for are carried out by libheif.
  check(heif_decode_image(handle.get(), &decoded, heif_colorspace_RGB,
                          deep ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB,
                          nullptr),
        source);
  const std::unique_ptr<heif_image, FreeImage> image(decoded);
  int stride = 0;
  const std::uint8_t* plane =
      heif_image_get_plane_readonly(image.get(), heif_channel_interleaved, &stride);
  if (plane == nullptr || heif_image_get_width(image.get(), heif_channel_interleaved) != width ||
      heif_image_get_height(image.get(), heif_channel_interleaved) != height) {
    throw DataError(source + ": the HEIC or AVIF file is damaged");
  }
  sink.begin(facts);
  const int bits = heif_image_get_bits_per_pixel_range(image.get(), heif_channel_interleaved);
  const unsigned top = (1U << static_cast<unsigned>(bits)) - 1;
  std::vector<std::uint16_t> row(deep ? 3 * facts.width : 0);
  for (std::size_t y = 0; y < facts.height; ++y) {
    const std::uint8_t* line = plane + y * static_cast<std::size_t>(stride);
    if (!deep) {
      sink.put8(line, 1);
      continue;
    }
    for (std::size_t i = 0; i < row.size(); ++i) {
      const unsigned code = std::min(
          top, static_cast<unsigned>(line[2 * i]) | static_cast<unsigned>(line[2 * i + 1]) << 8U);
      row[i] = static_cast<std::uint16_t>((code * 65535U + top / 2) / top);
    }
    sink.put16(row.data(), 1);
  }
}

}  // namespace mamelon::detail
