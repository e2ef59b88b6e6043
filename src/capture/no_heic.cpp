// Stands in for heic.cpp where mamelon is built without libheif.

#include "mamelon/error.h"

#include "capture/phone_files.h"

namespace mamelon::detail {

void decode_heic(std::span<const std::byte>, const std::string& source, const RasterSink&) {
  throw CaptureError(source +
                     ": is a HEIC or AVIF file, and this mamelon was built without libheif; export "
                     "the photo as a JPEG of best quality or a TIFF");
}

}  // namespace mamelon::detail
