#include <cmath>

#include "mamelon/stack.h"

namespace mamelon {

LayerOptics layer_optics(double k_per_mm, double s_per_mm, double thickness_mm) {
  const double x = thickness_mm * std::sqrt(k_per_mm * (k_per_mm + 2 * s_per_mm));
  // tanh(x)/x by its series where the quotient would be 0/0; the next term is below 1e-19.
  const double ratio = x < 1e-3 ? 1 - x * x / 3 + 2 * x * x * x * x / 15 : std::tanh(x) / x;
  const double u = thickness_mm * ratio;
  const double e = std::exp(-x);
  const double denominator = 1 + (k_per_mm + s_per_mm) * u;
  return {s_per_mm * u / denominator, 2 * e / (1 + e * e) / denominator};
}

double over(const LayerOptics& layer, double floor) {
  return layer.r0 + layer.t * layer.t * floor / (1 - layer.r0 * floor);
}

TwoSidedOptics stacked(const TwoSidedOptics& upper, const TwoSidedOptics& lower) {
  const double escape = 1 / (1 - upper.r_bottom * lower.r_top);
  return {upper.r_top + upper.t * upper.t * lower.r_top * escape,
          lower.r_bottom + lower.t * lower.t * upper.r_bottom * escape, upper.t * lower.t * escape};
}

}  // namespace mamelon
