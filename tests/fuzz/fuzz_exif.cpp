// Any bytes as an EXIF block: an orientation of the eight, or nothing.
#include <span>

#include "capture/exif.h"
#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto facts = mamelon::detail::read_exif(std::as_bytes(std::span(data, size)));
  if (facts && (facts->orientation < 1 || facts->orientation > 8)) __builtin_trap();
  return 0;
}
