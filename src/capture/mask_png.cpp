#include <algorithm>

#include <png.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"
#include "mamelon/region.h"

namespace mamelon {

Mask parse_mask(std::string_view png, const std::string& source) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  if (png_image_begin_read_from_memory(&image, png.data(), png.size()) == 0) {
    throw DataError(source + ": is not a PNG picture: " + image.message);
  }
  Mask mask{0, 0, image.width, image.height, {}};
  if (mask.width * mask.height > limits::photo_pixels) {
    png_image_free(&image);
    throw DataError(source + ": has more pixels than a photo that is read may have");
  }
  image.format = PNG_FORMAT_GRAY;
  mask.inside.resize(mask.width * mask.height);
  const png_color background{0, 0, 0};
  if (png_image_finish_read(&image, &background, mask.inside.data(),
                            static_cast<png_int_32>(mask.width), nullptr) == 0) {
    throw DataError(source + ": is a damaged PNG picture: " + image.message);
  }
  for (std::uint8_t& value : mask.inside) value = value >= 128 ? 1 : 0;
  if (std::none_of(mask.inside.begin(), mask.inside.end(), [](auto v) { return v != 0; })) {
    throw DataError(source + ": has no bright pixel; paint the tooth white on black");
  }
  return mask;
}

}  // namespace mamelon
