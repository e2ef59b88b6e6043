#include "material/drawdown_check.h"

#include <algorithm>
#include <cmath>

#include "mamelon/limits.h"

#include "base/numbers.h"
#include "material/instrument.h"

namespace mamelon::detail {
namespace {

double mean(const Reflectance& r) {
  double sum = 0;
  for (const double value : r.values()) {
    sum += value;
  }
  return sum / static_cast<double>(r.size());
}

void check_description(const Drawdown& drawdown, const std::string& where) {
  if (drawdown.geometry == Geometry::unstated) {
    throw ArgumentError(where +
                        ": state the instrument's geometry: d:8 with the specular part in "
                        "or out, or 45/0");
  }
  if (drawdown.contact == Backing::unstated) {
    throw ArgumentError(where +
                        ": state whether the backing is in optical contact or under an air "
                        "gap, and whether its value is internal or seen in air");
  }
  if (drawdown.geometry == Geometry::transmittance) {
    const std::vector<double>& behind = drawdown.backing.values();
    if (drawdown.contact != Backing::air_gap ||
        std::any_of(behind.begin(), behind.end(), [](double value) { return value != 0; })) {
      throw ArgumentError(where +
                          ": a transmittance is that of the specimen in air with nothing behind; "
                          "give contact air_gap and a backing of 0");
    }
    constexpr double endless_mm = 500;
    if (drawdown.aperture && drawdown.aperture->seen_mm < endless_mm) {
      throw ArgumentError(where +
                          ": a transmittance counts all the light that leaves the other side; "
                          "give no aperture, or an endless one");
    }
  }
  if (!(drawdown.thickness_mm > 0 && drawdown.thickness_mm <= 30) ||
      !(drawdown.thickness_sd_mm > 0) || !std::isfinite(drawdown.thickness_sd_mm)) {
    throw ArgumentError(where + ": thickness (0 to 30 mm) and its sd must be above 0");
  }
  if (const auto& aperture = drawdown.aperture) {
    constexpr double most_mm = 1000;
    if (!(aperture->lit_mm > 0 && aperture->lit_mm <= most_mm) ||
        !(aperture->seen_mm > 0 && aperture->seen_mm <= most_mm)) {
      throw ArgumentError(where +
                          ": what the instrument lights and sees must be above 0 and up to 1000 "
                          "mm across");
    }
  }
}

void check_reading(const Drawdown& drawdown, const Grid& grid, const std::string& where) {
  if (drawdown.measured.empty() == !drawdown.measured_lab) {
    throw ArgumentError(where + ": give either the measured reflectance or the measured Lab");
  }
  check_reflectance(drawdown.backing, where + ", backing");
  if (drawdown.backing.grid() != grid) {
    throw ArgumentError(where + ": all backings and readings must stand on one wavelength grid");
  }
  if (drawdown.measured_lab) {
    const Lab& lab = *drawdown.measured_lab;
    if (!(lab.l >= 0 && lab.l <= 110) || !(std::abs(lab.a) <= 150) || !(std::abs(lab.b) <= 150)) {
      throw ArgumentError(where + ": the measured Lab is no colour of a paste");
    }
    if (!(drawdown.lab_sd > 0)) {
      throw ArgumentError(where + ": the sd of the measured Lab must be above 0");
    }
    for (const Vec3& error : drawdown.lab_shared) {
      if (!std::all_of(error.begin(), error.end(), [](double v) { return std::abs(v) <= 100; })) {
        throw ArgumentError(where + ": lab_shared must lie within -100 to 100");
      }
    }
    return;
  }
  if (!drawdown.lab_shared.empty()) {
    throw ArgumentError(where + ": lab_shared is of colours; a reflectance has none");
  }
  check_reflectance(drawdown.measured, where);
  if (drawdown.measured.grid() != grid) {
    throw ArgumentError(where + ": all backings and readings must stand on one wavelength grid");
  }
  if (!(drawdown.reflectance_sd > 0 && drawdown.reflectance_sd < 0.5)) {
    throw ArgumentError(where + ": the reflectance sd must be above 0, as a fraction");
  }
}

void check_backing(const Drawdown& drawdown, double index, const std::string& where) {
  const Contact contact(drawdown.contact, drawdown.geometry, index);
  for (std::size_t i = 0; i < drawdown.backing.size(); ++i) {
    const double inside = contact(drawdown.backing[i]);
    if (!(inside >= -0.005 && inside <= 1.02)) {
      throw ArgumentError(where + ": the backing at " +
                          format_short(drawdown.backing.grid().wavelength_nm(i)) +
                          " nm would reflect " + format_short(inside) +
                          " inside the paste; is its value described as it was read?");
    }
  }
}

void check_order(const Drawdown& one, const Drawdown& other) {
  if (one.specimen != other.specimen || one.contact != other.contact ||
      one.geometry != other.geometry || one.measured.empty() != other.measured.empty()) {
    return;
  }
  const double lighter = mean(one.backing) - mean(other.backing);
  const double reads = one.measured_lab ? (one.measured_lab->l - other.measured_lab->l) / 100
                                        : mean(one.measured) - mean(other.measured);
  const double noise = one.measured_lab ? (one.lab_sd + other.lab_sd) / 100
                                        : one.reflectance_sd + other.reflectance_sd;
  if (lighter * reads < -std::abs(lighter) * 3 * noise) {
    throw ArgumentError("specimen '" + one.specimen +
                        "' reads darker over the lighter backing; are two readings swapped?");
  }
}

}  // namespace

bool has_open_aperture(const Drawdown& drawdown) {
  return !drawdown.aperture && drawdown.geometry != Geometry::transmittance;
}

void check_drawdowns(std::span<const Drawdown> drawdowns, const PasteFitOptions& options) {
  const auto too_few = [] {
    return ArgumentError("a fit needs readings over at least two backings or thicknesses");
  };
  if (drawdowns.size() < 2) {
    throw too_few();
  }
  const Grid grid = drawdowns.front().backing.grid();
  check_grid(grid);
  if (drawdowns.size() > limits::fit_drawdowns || grid.count > limits::fit_bands) {
    throw ArgumentError("the fit would have " + std::to_string(drawdowns.size()) + " readings of " +
                        std::to_string(grid.count) + " bands; at most " +
                        std::to_string(limits::fit_drawdowns) + " of " +
                        std::to_string(limits::fit_bands) + " are taken");
  }
  bool differ = false;
  for (std::size_t i = 0; i < drawdowns.size(); ++i) {
    const Drawdown& one = drawdowns[i];
    const std::string where =
        "drawdown " + std::to_string(i + 1) + " of specimen '" + one.specimen + "'";
    check_description(one, where);
    check_reading(one, grid, where);
    check_backing(one, options.refractive_index, where);
    if (one.measured_lab && !options.viewing) {
      throw ArgumentError(where + ": state the illuminant and observer of the measured Lab");
    }
    if (one.lab_shared.size() > most_shared_errors) {
      throw ArgumentError(where + ": at most " + std::to_string(most_shared_errors) +
                          " errors are shared in a photo");
    }
    for (std::size_t j = 0; j < i; ++j) {
      check_order(one, drawdowns[j]);
      if (one.photo == drawdowns[j].photo &&
          one.lab_shared.size() != drawdowns[j].lab_shared.size()) {
        throw ArgumentError(where + ": all colours of the photo '" + one.photo +
                            "' must share the same number of errors (lab_shared)");
      }
      if (one.specimen == drawdowns[j].specimen && one.thickness_mm != drawdowns[j].thickness_mm) {
        throw ArgumentError("specimen '" + one.specimen + "' has two thicknesses, " +
                            format_short(drawdowns[j].thickness_mm) + " and " +
                            format_short(one.thickness_mm) + " mm");
      }
    }
    differ = differ || one.specimen != drawdowns.front().specimen ||
             (one.geometry == Geometry::transmittance) !=
                 (drawdowns.front().geometry == Geometry::transmittance) ||
             std::abs(mean(one.backing) - mean(drawdowns.front().backing)) > 0.02;
  }
  if (!differ) {
    throw too_few();
  }
}

void check_options(const PasteFitOptions& options) {
  if (!(options.scattering_bend_sd > 0) || !(options.absorption_bend_sd > 0) ||
      !(options.model_sd >= 0 && options.model_sd <= 0.2)) {
    throw ArgumentError(
        "the fit's bend sds must be above 0 and its model sd 0 to 0.2 as a fraction");
  }
  if (!(options.refractive_index >= 1.3 && options.refractive_index <= 1.8)) {
    throw ArgumentError("refractive index " + format_short(options.refractive_index) +
                        " is outside 1.3 to 1.8");
  }
  if (!(options.refractive_index_sd >= 0 && options.refractive_index_sd <= 0.1) ||
      !(options.scale_sd >= 0 && options.scale_sd <= 0.2) ||
      !(options.backing_sd >= 0 && options.backing_sd <= 0.2) ||
      !(options.loss_sd >= 0 && options.loss_sd <= 1)) {
    throw ArgumentError(
        "the fit's sds must be 0 to 0.1 of the refractive index, 0 to 0.2 of scale and backings "
        "and 0 to 1 "
        "of the edge loss");
  }
  const int n = options.streams;
  if (n != 4 && n != 6 && n != 8 && n != 16 && n != 32) {
    throw ArgumentError("the number of streams is " + std::to_string(n) +
                        "; known are 4, 6, 8, 16 and 32");
  }
}

}  // namespace mamelon::detail
