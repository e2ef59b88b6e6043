#pragma once
/// @file
/// Composite pastes as optical materials.

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/limits.h"
#include "mamelon/measured.h"
#include "mamelon/provenance.h"
#include "mamelon/spectrum.h"

namespace mamelon {

/// What a paste is made to replace, in the order the layers of a tooth stand from the floor out.
enum class Role { opaque, dentine, body, enamel, translucent };
template <>
struct Words<Role> {
  static constexpr const char* name = "Role";
  static constexpr auto words = words_of("opaque", "dentine", "body", "enamel", "translucent");
};

/// A way in which fitted constants err together over all bands, by one standard deviation. The
/// modes of a paste are independent of each other; layers of one paste err alike.
struct ConstantsMode {
  std::vector<double> ln_absorption;
  std::vector<double> ln_reduced_scattering;
  double anisotropy = 0;
  double refractive_index = 0;
};
template <>
struct Fields<ConstantsMode> {
  static constexpr const char* name = "ConstantsMode";
  static constexpr auto all() {
    using T = ConstantsMode;
    return FieldList{
        needed("ln_absorption", &T::ln_absorption, "change of ln μa, one a band").range(-20, 20),
        needed("ln_reduced_scattering", &T::ln_reduced_scattering,
               "change of ln μs(1 − g), one a band")
            .range(-20, 20),
        field("anisotropy", &T::anisotropy, "change of g").range(-1, 1),
        field("refractive_index", &T::refractive_index, "change of the refractive index")
            .range(-1, 1)};
  }
};

/// Most modes that a paste carries: those of its fit, and three of a shift.
inline constexpr std::size_t most_constants_modes = 9;
/// Most modes that a fit gives.
inline constexpr std::size_t most_fitted_modes = 6;

/// Constants of radiative transfer.
struct TransportConstants {
  PerMm absorption;
  PerMm reduced_scattering;
  double anisotropy = 0.6;
  /// What is known of their errors, the most telling first, at most `most_constants_modes`; empty:
  /// nothing beside `Paste::reflectance_sd`.
  std::vector<ConstantsMode> modes{};
  /// Of a reflectance predicted with them, beside the modes: the engine's own error and what the
  /// modes leave out. Used in place of `Paste::reflectance_sd` where there are modes.
  double reflectance_sd = 0;
};
template <>
struct Fields<TransportConstants> {
  static constexpr const char* name = "TransportConstants";
  static constexpr auto all() {
    using T = TransportConstants;
    return FieldList{
        needed("absorption", &T::absorption, "μa")
            .in("1/mm")
            .key("absorption_per_mm")
            .range(0, 1000),
        needed("reduced_scattering", &T::reduced_scattering, "μs(1 − g)")
            .in("1/mm")
            .key("reduced_scattering_per_mm")
            .range(1e-9, 1000),
        field("anisotropy", &T::anisotropy, "g of Henyey and Greenstein").range(0, 0.999),
        field("modes", &T::modes,
              "how the constants err together, by one sd each, the most telling first")
            .items(0, most_constants_modes)
            .quiet()
            .since(3),
        field("reflectance_sd", &T::reflectance_sd, "of a predicted reflectance, beside the modes")
            .range(0, 0.2)
            .quiet()
            .since(3)};
  }
};

/// How the colour of a paste changes after it was measured as its constants say: days in water, a
/// stain, drying, or what it looks like uncured. Read of one specimen before and after.
struct ColourShift {
  std::string name;
  /// ΔL*, Δa*, Δb* under D65/2, after less before.
  Vec3 change{};
  /// Standard deviation of each, specimen to specimen; independent of each other.
  Vec3 change_sd{};
  double thickness_mm = 2;
  std::string source{};
};
template <>
struct Fields<ColourShift> {
  static constexpr const char* name = "ColourShift";
  static constexpr auto all() {
    using T = ColourShift;
    return FieldList{
        needed("name", &T::name, "such as week, uncured or dry").items(1, 200),
        needed("change", &T::change, "ΔL*, Δa*, Δb* under D65/2, after less before").range(-40, 40),
        field("change_sd", &T::change_sd, "standard deviation of each").range(0, 20),
        field("thickness_mm", &T::thickness_mm, "of the specimen, over black")
            .in("mm")
            .range(0.1, 30),
        field("source", &T::source, "who measured it, and how").items(0, 1000).quiet()};
  }
};

/// A cured paste.
struct Paste {
  std::string name;
  Role role = Role::body;
  PerMm absorption;
  PerMm scattering;
  double refractive_index = 1.5;
  double increment_limit_mm = 2.0;
  double radiant_exposure_j_cm2 = 16.0;
  double minimum_mm = 0.3;
  double maximum_mm = 10.0;
  double reflectance_sd = 0.005;
  std::optional<TransportConstants> transport{};
  std::optional<std::array<double, 2>> fitted_mm{};
  std::vector<ColourShift> shifts{};

  /// Whether a thickness lies outside those that the constants were fitted to.
  [[nodiscard]] bool extrapolates(double thickness_mm, double rounding_mm = 0) const {
    return fitted_mm && (thickness_mm < (*fitted_mm)[0] - rounding_mm ||
                         thickness_mm > (*fitted_mm)[1] + rounding_mm);
  }
};
template <>
struct Fields<Paste> {
  static constexpr const char* name = "Paste";
  static constexpr auto all() {
    return FieldList{
        needed("name", &Paste::name, "unique in its set").items(1, 200),
        needed("role", &Paste::role, "what it is made to replace"),
        needed("absorption", &Paste::absorption, "Kubelka–Munk K")
            .in("1/mm")
            .key("absorption_per_mm")
            .range(0, 1000),
        needed("scattering", &Paste::scattering, "Kubelka–Munk S")
            .in("1/mm")
            .key("scattering_per_mm")
            .range(1e-9, 1000),
        field("refractive_index", &Paste::refractive_index, "of the cured paste").range(1.3, 1.8),
        field("increment_limit_mm", &Paste::increment_limit_mm,
              "thickest portion cured at once, from the maker's instructions; 2 mm is common "
              "practice")
            .in("mm")
            .range(0.1, 6),
        field("radiant_exposure_j_cm2", &Paste::radiant_exposure_j_cm2,
              "per increment, from the maker's instructions")
            .in("J/cm²")
            .range(1, 200),
        field("minimum_mm", &Paste::minimum_mm, "thinnest layer that can be placed")
            .in("mm")
            .range(0.01, 20),
        field("maximum_mm", &Paste::maximum_mm, "thickest layer allowed").in("mm").range(0.01, 30),
        field("reflectance_sd", &Paste::reflectance_sd, "model error of a predicted reflectance")
            .range(0, 0.2),
        field("transport", &Paste::transport, "constants of radiative transfer").since(1),
        field("fitted_mm", &Paste::fitted_mm,
              "thinnest and thickest specimen of the fit; outside, a prediction extrapolates")
            .in("mm")
            .range(0, 30)
            .since(2),
        field("shifts", &Paste::shifts, "how its colour changes, each under its name")
            .items(0, 20)
            .unique()
            .quiet()
            .since(5)};
  }
  static void relate(const Paste& paste, const std::string& where);
};

/// Pastes on one grid of wavelengths, under their names.
struct PasteSet {
  std::string name;
  std::vector<Paste> pastes;
  Provenance provenance;
  /// Made up, for trying things out: whatever comes of it is marked so and is no plan.
  bool invented = false;
};
template <>
struct Fields<PasteSet> {
  static constexpr const char* name = "PasteSet";
  static constexpr const char* format = "mamelon-paste-set";
  static constexpr const char* about = "Optical constants of cured pastes on one wavelength grid";
  static constexpr bool shared_grid = true;
  static constexpr auto all() {
    return FieldList{
        needed("name", &PasteSet::name, "of the set").items(1, 200),
        needed("pastes", &PasteSet::pastes, "on one wavelength grid")
            .items(1, limits::pastes)
            .unique(),
        field("invented", &PasteSet::invented, "True: made up, for trying things out").quiet(),
        field("provenance", &PasteSet::provenance, "how it was made").hidden()};
  }
  static void relate(const PasteSet& set, const std::string& where);
};

/// The paste with its transport constants moved along `mode` by `sds` standard deviations, its
/// refractive index and g kept within their ranges. The paste needs transport constants and a mode
/// on their bands.
[[nodiscard]] Paste moved(const Paste& paste, const ConstantsMode& mode, double sds);

/// Standard deviation of a reflectance predicted with the paste's transport constants, beside their
/// modes.
[[nodiscard]] double transport_reflectance_sd(const Paste& paste);

/// Throws ArgumentError for what the description refuses: a value out of its range, constants on
/// unlike grids, a maximum below the minimum. `where` names the paste.
inline void check_paste(const Paste& paste, const std::string& where) {
  check(paste, where);
}

/// The part of `check_paste` that concerns curing: light does not reach through more than some
/// millimetres (bulk pastes are placed in up to 4 or 5, common practice), and no paste cures by
/// less than a joule per square centimetre.
void check_curing(const Paste& paste, const std::string& where);

/// The same of a whole set, and for names that are empty or repeated.
inline void check_paste_set(const PasteSet& set) {
  check(set, "paste set '" + set.name + "'");
}

}  // namespace mamelon
