#pragma once
/// @file
/// Composite pastes as optical materials.

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/provenance.h"
#include "mamelon/spectrum.h"

namespace mamelon {

/// What a paste is made to replace, in the order the layers of a tooth stand from the floor out.
enum class Role { opaque, dentine, body, enamel, translucent };
[[nodiscard]] std::string_view to_string(Role role);
/// Throws ArgumentError naming the known roles.
[[nodiscard]] Role role_from_string(std::string_view text);

/// A way in which fitted constants err together over all bands, by one standard deviation. The
/// modes of a paste are independent of each other; layers of one paste err alike.
struct ConstantsMode {
  std::vector<double> ln_absorption;          ///< change of ln μa, one a band
  std::vector<double> ln_reduced_scattering;  ///< change of ln μs(1 − g), one a band
  double anisotropy = 0;                      ///< change of g
  double refractive_index = 0;                ///< change of the paste's refractive index
};

/// Most modes that a paste carries.
inline constexpr std::size_t most_constants_modes = 6;

/// Constants of radiative transfer.
struct TransportConstants {
  PerMm absorption;          ///< μa ≥ 0
  PerMm reduced_scattering;  ///< μs(1 − g) > 0
  double anisotropy = 0.6;   ///< g of Henyey and Greenstein, 0 ≤ g < 1
  /// What is known of their errors, the most telling first, at most `most_constants_modes`; empty:
  /// nothing beside `Paste::reflectance_sd`.
  std::vector<ConstantsMode> modes{};
  /// Of a reflectance predicted with them, beside the modes: the engine's own error and what the
  /// modes leave out. Used in place of `Paste::reflectance_sd` where there are modes.
  double reflectance_sd = 0;
};

/// A cured paste.
struct Paste {
  std::string name;
  Role role = Role::body;
  PerMm absorption;  ///< Kubelka–Munk K ≥ 0
  PerMm scattering;  ///< Kubelka–Munk S > 0
  double refractive_index = 1.5;
  double increment_limit_mm = 2.0;       ///< the maker's; 2 mm is common practice
  double radiant_exposure_j_cm2 = 16.0;  ///< the maker's, per increment
  double minimum_mm = 0.3;               ///< thinnest layer that can be placed
  double maximum_mm = 10.0;
  double reflectance_sd = 0.005;  ///< model error of a predicted reflectance
  std::optional<TransportConstants> transport{};
  /// Thicknesses of the specimens the constants were fitted to; outside them a prediction
  /// extrapolates. 0 and infinity where nothing is known.
  double fitted_from_mm = 0;
  double fitted_to_mm = std::numeric_limits<double>::infinity();
};

struct PasteSet {
  std::string name;
  std::vector<Paste> pastes;
  Provenance provenance;
};

/// The paste with its transport constants moved along `mode` by `sds` standard deviations, its
/// refractive index and g kept within their ranges. The paste needs transport constants and a mode
/// on their bands.
[[nodiscard]] Paste moved(const Paste& paste, const ConstantsMode& mode, double sds);

/// Standard deviation of a reflectance predicted with the paste's transport constants, beside their
/// modes.
[[nodiscard]] double transport_reflectance_sd(const Paste& paste);

/// Throws ArgumentError, naming the paste as `where`, for a grid outside `check_grid` or unlike for
/// K and S, K < 0, S ≤ 0, a refractive index outside 1.3–1.8, an increment limit outside 0.1–6 mm, a
/// radiant exposure outside 1–200 J/cm², a minimum that is not positive, a maximum below the
/// minimum, a reflectance sd outside 0–0.2, transport constants on another grid or out of their
/// range, modes of another length or too many, or fitted thicknesses out of order.
void check_paste(const Paste& paste, const std::string& where);

/// The part of `check_paste` that concerns curing: light does not reach through more than some
/// millimetres (bulk pastes are placed in up to 4 or 5, common practice), and no paste cures by less
/// than a joule per square centimetre.
void check_curing(const Paste& paste, const std::string& where);

/// Throws ArgumentError for an empty set, an empty or repeated name, pastes on unequal grids, or
/// what `check_paste` refuses.
void check_paste_set(const PasteSet& pastes);

}  // namespace mamelon
