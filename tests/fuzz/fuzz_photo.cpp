// Any bytes: a photo of the size it states or one sentence. JPEG, PNG, TIFF, their ICC and EXIF.
#include <span>

#include "mamelon/error.h"
#include "mamelon/image.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const auto photo = mamelon::decode_photo(std::as_bytes(std::span(data, size)), "input");
    if (photo.rgb.size() + photo.codes.size() != 3 * photo.width * photo.height) __builtin_trap();
  } catch (const mamelon::Error&) {
  }
  return 0;
}
