// Stands in for webp.cpp where mamelon is built without libwebp.

#include "mamelon/error.h"

#include "capture/phone_files.h"

namespace mamelon::detail {

void decode_webp(std::span<const std::byte>, const std::string& source, const RasterSink&) {
  throw CaptureError(source +
                     ": is a WebP file, and this mamelon was built without libwebp; export the "
                     "photo as a JPEG of best quality or a TIFF");
}

}  // namespace mamelon::detail
