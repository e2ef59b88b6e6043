// Any bytes: a curve of finite values or one sentence.
#include <cmath>

#include "mamelon/files.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const auto curve = mamelon::parse_reflectance(fuzz::text(data, size), "input");
    for (const double value : curve.values())
      if (!std::isfinite(value)) __builtin_trap();
  } catch (const mamelon::Error&) {
  }
  return 0;
}
