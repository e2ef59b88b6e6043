#include "mamelon/shift.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>

#include "mamelon/transport.h"
#include "mamelon/viewing.h"

#include "base/find.h"
#include "base/listing.h"
#include "base/numbers.h"

namespace mamelon {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

// ln absorption by a level, a tilt and a bow over the visible; ln scattering by the level, the
// other way: a lighter paste absorbs less and scatters more.
ConstantsMode mode_of(const Grid& grid, const Vector3d& amounts) {
  ConstantsMode mode;
  for (std::size_t i = 0; i < grid.count; ++i) {
    const double x = std::clamp((grid.wavelength_nm(i) - 550) / 150, -1.0, 1.0);
    mode.ln_absorption.push_back(-amounts[0] + amounts[1] * x + amounts[2] * (2 * x * x - 1));
    mode.ln_reduced_scattering.push_back(amounts[0]);
  }
  return mode;
}

// By either engine: two fluxes have the constants of transport without g.
class Specimen {
 public:
  Specimen(const Paste& paste, const ColourShift& shift, Engine engine)
      : paste_(paste), shift_(shift), engine_(engine) {
    const Grid grid = paste.absorption.grid();
    floor_ = Reflectance(grid, std::vector<double>(grid.count));
  }

  [[nodiscard]] Paste with(const Vector3d& amounts) const {
    const ConstantsMode mode = mode_of(floor_.grid(), amounts);
    if (engine_ == Engine::transport) return moved(paste_, mode, 1);
    Paste carrier = paste_;
    carrier.transport = TransportConstants{paste_.absorption, paste_.scattering};
    carrier = moved(carrier, mode, 1);
    Paste out = paste_;
    out.absorption = carrier.transport->absorption;
    out.scattering = carrier.transport->reduced_scattering;
    return out;
  }
  [[nodiscard]] Vector3d lab(const Vector3d& amounts) const {
    const Lab lab = to_lab(
        predict(Stack{floor_, {{with(amounts), shift_.thickness_mm}}, false}, engine_), viewing_);
    return {lab.l, lab.a, lab.b};
  }
  [[nodiscard]] Matrix3d slope(const Vector3d& amounts) const {
    constexpr double step = 1e-4;
    Matrix3d slope;
    for (int k = 0; k < 3; ++k) {
      const Vector3d move = step * Vector3d::Unit(k);
      slope.col(k) = (lab(amounts + move) - lab(amounts - move)) / (2 * step);
    }
    return slope;
  }
  // Newton's steps, held short.
  [[nodiscard]] Vector3d amounts() const {
    const Vector3d wanted =
        lab(Vector3d::Zero()) + Eigen::Map<const Vector3d>(shift_.change.data());
    Vector3d at = Vector3d::Zero();
    constexpr int most_steps = 60;
    constexpr double close = 1e-6;
    constexpr double farthest = 6;
    for (int i = 0; i < most_steps; ++i) {
      const Vector3d left = wanted - lab(at);
      if (left.norm() < close) return at;
      Vector3d move = slope(at).fullPivLu().solve(left);
      move *= std::min(1.0, 0.5 / move.norm());
      at += move;
      if (!(at.norm() < farthest)) break;
    }
    throw ModelError("paste '" + paste_.name + "': no constants give the shift '" + shift_.name +
                     "' at " + detail::format_short(shift_.thickness_mm) +
                     " mm over black; check its sign and size");
  }

 private:
  const Paste& paste_;
  const ColourShift& shift_;
  Engine engine_;
  Reflectance floor_;
  Viewing viewing_{standard_illuminant("D65"), Observer::deg2};
};

// Of a reflectance, what a standard deviation of the colour is: the largest of the three as
// lightness.
double as_reflectance_sd(const ColourShift& shift, double lightness) {
  const double root = (lightness + 16) / 116;
  return *std::max_element(shift.change_sd.begin(), shift.change_sd.end()) * 3 * root * root / 116;
}

void add_modes(Paste& out, const ColourShift& shift, const Matrix3d& slope) {
  TransportConstants& constants = out.transport.value();
  if (constants.modes.empty()) constants.reflectance_sd = out.reflectance_sd;
  const Matrix3d amounts = slope.fullPivLu().inverse();
  for (std::size_t k = 0; k < 3; ++k) {
    if (shift.change_sd.at(k) == 0) continue;
    constants.modes.push_back(
        mode_of(out.absorption.grid(), shift.change_sd.at(k) * amounts.col(static_cast<int>(k))));
  }
}

const ColourShift* shift_of(const Paste& paste, const std::string& name) {
  const auto found = detail::find_by(paste.shifts, name, &ColourShift::name);
  return found == paste.shifts.end() ? nullptr : &*found;
}

}  // namespace

Paste shifted(const Paste& paste, const std::string& name) {
  check_paste(paste, "paste '" + paste.name + "'");
  const ColourShift* shift = shift_of(paste, name);
  if (shift == nullptr) {
    throw ArgumentError("paste '" + paste.name + "' states no shift '" + name + "'");
  }
  const Specimen by_two_fluxes(paste, *shift, Engine::kubelka_munk);
  const Vector3d amounts = by_two_fluxes.amounts();
  Paste out = by_two_fluxes.with(amounts);
  // A shift is of what is measured: what comes of it has none of its own.
  out.shifts.clear();
  if (paste.transport) {
    const Specimen specimen(paste, *shift, Engine::transport);
    const Vector3d moved_by = specimen.amounts();
    out.transport = specimen.with(moved_by).transport;
    add_modes(out, *shift, specimen.slope(moved_by));
  }
  constexpr double largest_sd = 0.2;
  out.reflectance_sd = std::min(
      largest_sd,
      std::hypot(out.reflectance_sd, as_reflectance_sd(*shift, by_two_fluxes.lab(amounts)[0])));
  return out;
}

PasteSet shifted(PasteSet set, const std::string& name, std::vector<std::string>& warnings) {
  std::vector<std::string> without;
  std::vector<std::string> known;
  for (Paste& paste : set.pastes) {
    for (const ColourShift& shift : paste.shifts) {
      if (std::find(known.begin(), known.end(), shift.name) == known.end())
        known.push_back(shift.name);
    }
    if (shift_of(paste, name) == nullptr) {
      without.push_back(paste.name);
    } else {
      paste = shifted(paste, name);
    }
  }
  if (without.size() == set.pastes.size()) {
    throw ArgumentError("no paste of '" + set.name + "' states a shift '" + name + "'; there are " +
                        (known.empty() ? std::string("none") : detail::listing(known)));
  }
  if (!without.empty()) {
    warnings.push_back("these pastes state no shift '" + name +
                       "' and are taken not to change: " + detail::listing(without));
  }
  return set;
}

}  // namespace mamelon
