#include <algorithm>
#include <array>
#include <cmath>

#include "mamelon/plan.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

constexpr double lamp_nm = 460;
struct Blue {
  double share = 0;
  bool measured = false;
};

// What of the light at 460 nm passes a thickness: a two-flux layer's transmittance where the
// constants reach that far, else exponential attenuation with √(K(K + 2S)) of the nearest band.
Blue blue_through(const Paste& paste, double thickness_mm) {
  const Grid& grid = paste.absorption.grid();
  const double at = (lamp_nm - grid.first_nm) / grid.step_nm;
  const double last = static_cast<double>(grid.count - 1);
  const double within = std::clamp(at, 0.0, last);
  const auto below = static_cast<std::size_t>(std::min(std::floor(within), last - 1));
  const double share = within - static_cast<double>(below);
  const auto value = [&](const PerMm& of) {
    return (1 - share) * of[below] + share * of[below + 1];
  };
  const double k = value(paste.absorption);
  const double s = value(paste.scattering);
  if (at >= 0 && at <= last) {
    return {layer_optics(k, s, thickness_mm).t, true};
  }
  return {std::exp(-thickness_mm * std::sqrt(k * (k + 2 * s))), false};
}

// The parts of a thickness, none above the limit: whole tenths of a millimetre, as even as they go,
// where the thickness is such and the limit allows a tenth; else equal ones.
std::vector<double> parts_of(double thickness_mm, double limit_mm) {
  constexpr double per_mm = 10;
  constexpr double rounding = 1e-6;
  const double tenths = std::round(thickness_mm * per_mm);
  const double limit = std::floor(limit_mm * per_mm + rounding);
  if (std::abs(tenths - thickness_mm * per_mm) < rounding && tenths > 0) {
    const int count = static_cast<int>(std::ceil(tenths / limit - rounding));
    std::vector<double> parts;
    for (int left = static_cast<int>(tenths), n = count; n > 0; --n) {
      const int part = (left + n - 1) / n;
      parts.push_back(part / per_mm);
      left -= part;
    }
    return parts;
  }
  // A thickness that is a whole number of limits but for rounding needs no extra portion.
  const int count = std::max(1, static_cast<int>(std::ceil(thickness_mm / limit_mm - 1e-9)));
  return std::vector<double>(static_cast<std::size_t>(count), thickness_mm / count);
}

// Portions of one kind each for every slice of the thickness, numbered onward from `all`.
void append_slices(const Paste& paste, double thickness_mm, const Placing& placing,
                   std::span<const Portion> kinds, double share, int first_order,
                   std::vector<Increment>& all) {
  if (!(thickness_mm > 0) || !std::isfinite(thickness_mm)) {
    throw ArgumentError("layer of paste '" + paste.name + "': thickness " +
                        detail::format_short(thickness_mm) + " mm must be above 0");
  }
  check_curing(paste, "paste '" + paste.name + "'");
  for (const double part_mm : parts_of(thickness_mm, paste.increment_limit_mm)) {
    for (const Portion kind : kinds) {
      Increment increment;
      increment.order = first_order++;
      increment.paste = paste.name;
      increment.thickness_mm = part_mm;
      increment.exposure_j_cm2 = paste.radiant_exposure_j_cm2;
      if (placing.lamp_irradiance_mw_cm2) {
        constexpr double mw_per_w = 1000;
        constexpr double rounding = 1e-9;
        increment.exposure_s = std::ceil(
            paste.radiant_exposure_j_cm2 * mw_per_w / *placing.lamp_irradiance_mw_cm2 - rounding);
      }
      increment.portion = kind;
      increment.share = share;
      const Blue blue = blue_through(paste, increment.thickness_mm);
      increment.blue_share = blue.share;
      increment.blue_measured = blue.measured;
      all.push_back(std::move(increment));
    }
  }
}

}  // namespace

std::vector<Increment> increments_of(const Paste& paste, double thickness_mm,
                                     const Placing& placing, int first_order) {
  std::vector<Portion> kinds{Portion::level};
  if (placing.order == PlacingOrder::oblique) kinds = {Portion::first_wedge, Portion::second_wedge};
  if (placing.order == PlacingOrder::wall_first) kinds = {Portion::walls, Portion::core};
  std::vector<Increment> increments;
  append_slices(paste, thickness_mm, placing, kinds, 1.0 / static_cast<double>(kinds.size()),
                first_order, increments);
  return increments;
}

std::vector<Increment> increments_of(std::span<const Layer> layers, const Placing& placing) {
  std::vector<Increment> all;
  if (placing.contact_wall && !layers.empty()) {
    double depth_mm = 0;
    for (const Layer& layer : layers) {
      depth_mm += layer.thickness_mm;
    }
    constexpr std::array wall{Portion::contact_wall};
    append_slices(layers.back().paste, depth_mm, placing, wall, 0, 1, all);
  }
  for (const Layer& layer : layers) {
    const auto portion =
        increments_of(layer.paste, layer.thickness_mm, placing, static_cast<int>(all.size()) + 1);
    all.insert(all.end(), portion.begin(), portion.end());
  }
  if (!all.empty()) {
    all.back().contour = true;
  }
  return all;
}

}  // namespace mamelon
