// Stands in for raw.cpp where mamelon is built without LibRaw.

#include "mamelon/error.h"

#include "capture/raw.h"

namespace mamelon::detail {

void decode_raw(std::span<const std::byte>, const std::string& source, const RasterSink&) {
  throw CaptureError(source +
                     ": is a camera raw file, and this mamelon was built without LibRaw; build it "
                     "with LibRaw, or export the photo as a linear 16-bit TIFF");
}

}  // namespace mamelon::detail
