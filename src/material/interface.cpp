#include <cmath>

#include "mamelon/stack.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

// Diffuse external reflectance of a smooth surface, the Fresnel integral in closed form
// (Walsh 1926; printed in Judd 1942, J Res Natl Bur Stand 29:329). Long double, because its terms
// cancel as n approaches 1.
double diffuse_external(double refractive_index) {
  const long double n = refractive_index;
  const long double n2 = n * n;
  const long double n4 = n2 * n2;
  const long double r =
      0.5L + (n - 1) * (3 * n + 1) / (6 * (n + 1) * (n + 1)) +
      n2 * (n2 - 1) * (n2 - 1) / ((n2 + 1) * (n2 + 1) * (n2 + 1)) * std::log((n - 1) / (n + 1)) -
      2 * n * n2 * (n2 + 2 * n - 1) / ((n2 + 1) * (n4 - 1)) +
      8 * n4 * (n4 + 1) / ((n2 + 1) * (n4 - 1) * (n4 - 1)) * std::log(n);
  return static_cast<double>(r);
}

}  // namespace

Interface interface_of(double refractive_index, bool specular_included) {
  if (!(refractive_index >= 1.01 && refractive_index <= 2)) {
    throw ArgumentError("refractive index " + detail::format_short(refractive_index) +
                        " is outside 1.01 to 2");
  }
  const double n = refractive_index;
  const double r = (n - 1) / (n + 1);
  return {r * r, 1 - (1 - diffuse_external(n)) / (n * n), specular_included};
}

double to_measured(double internal, const Interface& surface) {
  const double through =
      (1 - surface.k1) * (1 - surface.k2) * internal / (1 - surface.k2 * internal);
  return surface.specular_included ? surface.k1 + through : through;
}

double to_internal(double measured, const Interface& surface) {
  const double y = surface.specular_included ? measured - surface.k1 : measured;
  return y / ((1 - surface.k1) * (1 - surface.k2) + surface.k2 * y);
}

}  // namespace mamelon
