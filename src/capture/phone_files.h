#pragma once
// HEIC and WebP, as phones and web sites write them.

#include <cstddef>
#include <span>
#include <string>

#include "capture/raster.h"

namespace mamelon::detail {

// By the first bytes: an ISO media file with a still-picture brand (ISO/IEC 23008-12: HEIC, HEIF
// and, with the same container, AVIF), and RIFF with the form WEBP.
bool is_heic(std::span<const std::byte> bytes);
bool is_webp(std::span<const std::byte> bytes);

// By libheif and libwebp; a build without them says so, and what to export. Throw DataError for a
// damaged file and CaptureError for one that cannot be measured.
void decode_heic(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink);
void decode_webp(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink);

}  // namespace mamelon::detail
