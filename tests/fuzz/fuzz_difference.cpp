// Any two colours: CIEDE2000 is symmetric and zero on itself to the bit, and never negative.
#include "mamelon/difference.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Numbers numbers(data, size);
  const auto colour = [&numbers] {
    return mamelon::Lab{numbers.between(0, 100), numbers.between(-128, 128),
                        numbers.between(-128, 128)};
  };
  const mamelon::Lab p = colour();
  const mamelon::Lab q = colour();
  if (mamelon::de00(p, q) != mamelon::de00(q, p)) __builtin_trap();
  if (mamelon::de00(p, p) != 0 || !(mamelon::de00(p, q) >= 0)) __builtin_trap();
  return 0;
}
