// Any layer: Kubelka–Munk equals its textbook form in long double where that form is sound, keeps
// energy, and does not change when the layer is cut in two.
#include <cmath>

#include "mamelon/stack.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Numbers numbers(data, size);
  const double k = numbers.between(0, 5);
  const double s = numbers.between(0, 10);
  const double d = numbers.between(0, 20);
  const double floor = numbers.between(0, 1);
  const auto layer = mamelon::layer_optics(k, s, d);
  if (!(layer.r0 >= 0 && layer.t >= 0 && layer.r0 + layer.t <= 1 + 1e-12)) __builtin_trap();

  const double cut = numbers.between(0, d);
  const auto lower = mamelon::layer_optics(k, s, cut);
  const auto upper = mamelon::layer_optics(k, s, d - cut);
  const double whole = mamelon::over(layer, floor);
  if (std::fabs(mamelon::over(upper, mamelon::over(lower, floor)) - whole) > 1e-11)
    __builtin_trap();

  if (k > 1e-3 && s > 1e-3 && d > 1e-3 && s * d < 50) {
    const long double a = (static_cast<long double>(s) + k) / s;
    const long double b = std::sqrt(a * a - 1);
    const long double coth = 1 / std::tanh(b * s * d);
    const long double textbook = (1 - floor * (a - b * coth)) / (a - floor + b * coth);
    if (std::fabs(static_cast<double>(textbook) - whole) > 1e-11) __builtin_trap();
  }
  return 0;
}
