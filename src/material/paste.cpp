#include "mamelon/paste.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace mamelon {

void Fields<Paste>::relate(const Paste& paste, const std::string& where) {
  const auto refuse = [&](const std::string& what) { throw ArgumentError(where + ": " + what); };
  check(paste.absorption.grid(), where + ": the wavelength grid");
  const Grid& grid = paste.absorption.grid();
  if (paste.scattering.grid() != grid)
    refuse("absorption and scattering stand on different wavelength grids; they must share one");
  if (paste.maximum_mm < paste.minimum_mm)
    refuse("maximum_mm " + detail::format_short(paste.maximum_mm) + " is below minimum_mm " +
           detail::format_short(paste.minimum_mm));
  if (paste.fitted_mm && (*paste.fitted_mm)[0] > (*paste.fitted_mm)[1])
    refuse("fitted_mm must be the thinnest and the thickest specimen, in this order");
  if (!paste.transport) return;
  if (paste.transport->absorption.grid() != grid ||
      paste.transport->reduced_scattering.grid() != grid)
    refuse("transport constants stand on another wavelength grid");
  for (const ConstantsMode& mode : paste.transport->modes)
    if (mode.ln_absorption.size() != grid.count || mode.ln_reduced_scattering.size() != grid.count)
      refuse("a mode of error has another number of bands than the grid");
}

void Fields<PasteSet>::relate(const PasteSet& set, const std::string& where) {
  for (const Paste& paste : set.pastes)
    if (paste.absorption.grid() != set.pastes.front().absorption.grid())
      throw ArgumentError(where + ": paste '" + paste.name +
                          "' stands on another wavelength grid than paste '" +
                          set.pastes.front().name + "'; resample one of them");
}

namespace {

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

void check_curing(const Paste& paste, const std::string& where) {
  // All else of the paste is left at what the description allows.
  Paste curing;
  curing.increment_limit_mm = paste.increment_limit_mm;
  curing.radiant_exposure_j_cm2 = paste.radiant_exposure_j_cm2;
  for (const Member& m : type_of<Paste>().members) {
    const std::string_view name = m.name;
    if (name != "increment_limit_mm" && name != "radiant_exposure_j_cm2") continue;
    if (const auto wrong = complaint(m.rules, false, m.type().number(m.get(&curing))))
      throw ArgumentError(where + "." + m.name + ": " + *wrong);
  }
}

}  // namespace mamelon
