// Any bytes as an ICC profile: curves that end within 0–1, pixels, or one sentence.
#include <array>
#include <span>

#include "mamelon/error.h"

#include "capture/icc.h"
#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const mamelon::detail::IccProfile profile(std::span(data, size), "input");
    if (profile.is_matrix()) {
      for (const auto& curve : profile.curves(256))
        for (const double light : curve)
          if (!(light >= 0 && light <= 1)) __builtin_trap();
    } else {
      constexpr std::array<std::uint16_t, 6> codes{0, 32768, 65535, 65535, 0, 12345};
      std::array<std::uint16_t, 6> light{};
      profile.to_wide_linear(codes.data(), light.data(), 2);
    }
  } catch (const mamelon::Error&) {
  }
  return 0;
}
