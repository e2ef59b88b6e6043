#include <algorithm>
#include <cmath>

#include "mamelon/plan.h"

#include "base/numbers.h"

namespace mamelon {

std::vector<Increment> increments_of(const Paste& paste, double thickness_mm,
                                     double lamp_irradiance_mw_cm2, int first_order) {
  if (!(thickness_mm > 0) || !std::isfinite(thickness_mm)) {
    throw ArgumentError("layer of paste '" + paste.name + "': thickness " +
                        detail::format_short(thickness_mm) + " mm must be above 0");
  }
  if (!(paste.increment_limit_mm > 0) || !(paste.radiant_exposure_j_cm2 > 0)) {
    throw ArgumentError("paste '" + paste.name +
                        "': increment limit and radiant exposure must be above 0");
  }
  // A thickness that is a whole number of limits but for rounding needs no extra increment.
  const int count =
      std::max(1, static_cast<int>(std::ceil(thickness_mm / paste.increment_limit_mm - 1e-9)));
  std::vector<Increment> increments;
  for (int i = 0; i < count; ++i) {
    Increment increment;
    increment.order = first_order + i;
    increment.paste = paste.name;
    increment.thickness_mm = thickness_mm / count;
    increment.exposure_j_cm2 = paste.radiant_exposure_j_cm2;
    if (lamp_irradiance_mw_cm2 > 0) {
      constexpr double mw_per_w = 1000;
      increment.exposure_s = paste.radiant_exposure_j_cm2 * mw_per_w / lamp_irradiance_mw_cm2;
    }
    increments.push_back(increment);
  }
  return increments;
}

}  // namespace mamelon
