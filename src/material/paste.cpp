#include "mamelon/paste.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "mamelon/limits.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

constexpr std::array<std::string_view, 5> role_names{"opaque", "dentine", "body", "enamel",
                                                     "translucent"};

void check_positive(double value, const char* what, const std::string& where) {
  if (!(value > 0) || !std::isfinite(value)) {
    throw ArgumentError(where + ": " + what + " is " + detail::format_short(value) +
                        "; it must be above 0");
  }
}

void check_constants(const PerMm& values, double least, bool strict, const char* what,
                     const std::string& where) {
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (values[i] < least || (strict && values[i] <= least)) {
      throw ArgumentError(where + ": " + what + " at " +
                          detail::format_short(values.grid().wavelength_nm(i)) + " nm is " +
                          detail::format_short(values[i]) + " per mm; it must be " +
                          (strict ? "above 0" : "0 or more"));
    }
  }
}

void check_sd(double sd, const std::string& where) {
  if (!(sd >= 0 && sd <= 0.2)) {
    throw ArgumentError(where + ": reflectance sd " + detail::format_short(sd) +
                        " is outside 0 to 0.2; give it as a fraction");
  }
}

void check_transport(const TransportConstants& constants, const Grid& grid,
                     const std::string& where) {
  if (constants.absorption.grid() != grid || constants.reduced_scattering.grid() != grid) {
    throw ArgumentError(where + ": transport constants stand on another wavelength grid");
  }
  check_constants(constants.absorption, 0, false, "transport absorption", where);
  check_constants(constants.reduced_scattering, 0, true, "reduced scattering", where);
  if (!(constants.anisotropy >= 0 && constants.anisotropy < 1)) {
    throw ArgumentError(where + ": anisotropy " + detail::format_short(constants.anisotropy) +
                        " is outside 0 to 1");
  }
  if (constants.modes.size() > most_constants_modes) {
    throw ArgumentError(where + ": its transport constants have " +
                        std::to_string(constants.modes.size()) + " modes of error; at most " +
                        std::to_string(most_constants_modes) + " are taken");
  }
  for (const ConstantsMode& mode : constants.modes) {
    if (mode.ln_absorption.size() != grid.count ||
        mode.ln_reduced_scattering.size() != grid.count) {
      throw ArgumentError(where + ": a mode of error has another number of bands than the grid");
    }
    const auto known = [](double value) { return std::isfinite(value); };
    if (!std::all_of(mode.ln_absorption.begin(), mode.ln_absorption.end(), known) ||
        !std::all_of(mode.ln_reduced_scattering.begin(), mode.ln_reduced_scattering.end(), known) ||
        !known(mode.anisotropy) || !known(mode.refractive_index)) {
      throw ArgumentError(where + ": a mode of error holds a value that is no number");
    }
  }
  check_sd(constants.reflectance_sd, where + ": transport");
}

PerMm scaled_by(const PerMm& values, const std::vector<double>& ln_change, double sds) {
  std::vector<double> out = values.values();
  for (std::size_t i = 0; i < out.size(); ++i) out[i] *= std::exp(sds * ln_change[i]);
  return {values.grid(), std::move(out)};
}

}  // namespace

Paste moved(const Paste& paste, const ConstantsMode& mode, double sds) {
  Paste out = paste;
  TransportConstants& constants = out.transport.value();
  constants.absorption = scaled_by(constants.absorption, mode.ln_absorption, sds);
  constants.reduced_scattering =
      scaled_by(constants.reduced_scattering, mode.ln_reduced_scattering, sds);
  constants.anisotropy = std::clamp(constants.anisotropy + sds * mode.anisotropy, 0.0, 0.98);
  out.refractive_index = std::clamp(out.refractive_index + sds * mode.refractive_index, 1.3, 1.8);
  return out;
}

double transport_reflectance_sd(const Paste& paste) {
  return paste.transport && !paste.transport->modes.empty() ? paste.transport->reflectance_sd
                                                            : paste.reflectance_sd;
}

std::string_view to_string(Role role) {
  return role_names.at(static_cast<std::size_t>(role));
}

Role role_from_string(std::string_view text) {
  const auto* const found = std::find(role_names.begin(), role_names.end(), text);
  if (found == role_names.end()) {
    throw ArgumentError("'" + std::string(text) +
                        "' is no role of a paste; known are opaque, dentine, body, enamel and "
                        "translucent");
  }
  return static_cast<Role>(found - role_names.begin());
}

void check_curing(const Paste& paste, const std::string& where) {
  constexpr double least_limit_mm = 0.1;
  constexpr double most_limit_mm = 6;
  constexpr double least_exposure = 1;
  constexpr double most_exposure = 200;
  check_positive(paste.increment_limit_mm, "increment limit in mm", where);
  if (!(paste.increment_limit_mm >= least_limit_mm && paste.increment_limit_mm <= most_limit_mm)) {
    throw ArgumentError(where + ": increment limit " +
                        detail::format_short(paste.increment_limit_mm) +
                        " mm is outside 0.1 to 6 mm; light does not cure thicker portions");
  }
  check_positive(paste.radiant_exposure_j_cm2, "radiant exposure in J/cm²", where);
  if (!(paste.radiant_exposure_j_cm2 >= least_exposure &&
        paste.radiant_exposure_j_cm2 <= most_exposure)) {
    throw ArgumentError(where + ": radiant exposure " +
                        detail::format_short(paste.radiant_exposure_j_cm2) +
                        " J/cm² is outside 1 to 200; take the paste maker's");
  }
}

void check_paste(const Paste& paste, const std::string& where) {
  if (paste.absorption.empty() || paste.scattering.empty()) {
    throw ArgumentError(where + ": absorption and scattering must both be given");
  }
  check_grid(paste.absorption.grid());
  if (paste.absorption.grid() != paste.scattering.grid()) {
    throw ArgumentError(where +
                        ": absorption and scattering stand on different wavelength grids; they "
                        "must share one");
  }
  check_constants(paste.absorption, 0, false, "absorption", where);
  check_constants(paste.scattering, 0, true, "scattering", where);
  if (!(paste.refractive_index >= 1.3 && paste.refractive_index <= 1.8)) {
    throw ArgumentError(where + ": refractive index " +
                        detail::format_short(paste.refractive_index) + " is outside 1.3 to 1.8");
  }
  check_curing(paste, where);
  check_positive(paste.minimum_mm, "minimum thickness in mm", where);
  if (!(paste.maximum_mm >= paste.minimum_mm) || !std::isfinite(paste.maximum_mm)) {
    throw ArgumentError(where + ": maximum thickness " + detail::format_short(paste.maximum_mm) +
                        " mm is below the minimum of " + detail::format_short(paste.minimum_mm) +
                        " mm");
  }
  check_sd(paste.reflectance_sd, where);
  if (!(paste.fitted_from_mm >= 0 && paste.fitted_to_mm > 0 &&
        paste.fitted_from_mm <= paste.fitted_to_mm)) {
    throw ArgumentError(where +
                        ": the thicknesses it was fitted to must be 0 or more and in order");
  }
  if (paste.transport) {
    check_transport(*paste.transport, paste.absorption.grid(), where);
  }
}

void check_paste_set(const PasteSet& pastes) {
  if (pastes.pastes.empty()) {
    throw ArgumentError("paste set '" + pastes.name + "' is empty; give at least one paste");
  }
  if (pastes.pastes.size() > limits::pastes) {
    throw ArgumentError("paste set '" + pastes.name + "' has " +
                        std::to_string(pastes.pastes.size()) + " pastes; at most " +
                        std::to_string(limits::pastes) + " are taken");
  }
  std::set<std::string> names;
  for (const Paste& paste : pastes.pastes) {
    if (paste.name.empty()) {
      throw ArgumentError("paste set '" + pastes.name + "' has a paste without a name");
    }
    const std::string where = "paste '" + paste.name + "'";
    if (!names.insert(paste.name).second) {
      throw ArgumentError(where + " stands twice in set '" + pastes.name + "'");
    }
    check_paste(paste, where);
    if (paste.absorption.grid() != pastes.pastes.front().absorption.grid()) {
      throw ArgumentError(where + " stands on another wavelength grid than paste '" +
                          pastes.pastes.front().name + "'; resample one of them");
    }
  }
}

}  // namespace mamelon
