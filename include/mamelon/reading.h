#pragma once
/// @file
/// The one value that every measurement ends in and every decision starts from.

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/colour.h"
#include "mamelon/description.h"
#include "mamelon/measured.h"
#include "mamelon/provenance.h"
#include "mamelon/spectrum.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// What a surface is made of. A camera cannot see a spectrum: what one expects of the material
/// stands in for it, so a photo is read better, and its interval is true, where the kind is stated.
enum class SurfaceKind {
  tooth,           ///< enamel and dentine, not restored
  prepared_floor,  ///< dentine, sound or stained, or a liner, at the floor of a cavity
  restoration,     ///< composite
  tab,             ///< a tab of a shade set, or ceramic
  gingiva,
  unknown,  ///< any of these and more: the widest expectation
};
template <>
struct Words<SurfaceKind> {
  static constexpr const char* name = "SurfaceKind";
  static constexpr auto words =
      words_of("tooth", "prepared_floor", "restoration", "tab", "gingiva", "unknown");
};

/// The colour of one thing (a tooth zone, a tab, a specimen), from a camera or an instrument.
struct Reading {
  std::string label;
  std::string zone;
  Measured<Lab> lab;
  std::optional<Reflectance> reflectance;
  Viewing viewing;
  std::size_t count = 1;
  std::vector<std::string> warnings;
  Provenance provenance;
  /// What a photo's reading took the surface to be; `unknown` where nothing was said, as for an
  /// instrument, whose readings do not depend on it.
  SurfaceKind kind = SurfaceKind::unknown;
};
template <>
struct Fields<Reading> {
  static constexpr const char* name = "Reading";
  static Reading blank() {
    return {.label = {},
            .zone = {},
            .lab = {},
            .reflectance = {},
            .viewing = mamelon::blank<Viewing>(),
            .count = 1,
            .warnings = {},
            .provenance = {}};
  }
  static constexpr auto all() {
    return FieldList{
        needed("label", &Reading::label, "of the thing measured"),
        needed("lab", &Reading::lab, "the colour with its uncertainty"),
        needed("viewing", &Reading::viewing, "illuminant and observer of the colour"),
        field("zone", &Reading::zone, "cervical, middle, incisal, …; empty for a whole specimen"),
        field("reflectance", &Reading::reflectance, "where one was measured")
            .key("curve")
            .formerly("curve"),
        field("count", &Reading::count,
              "repeat readings (instrument) or pixels (camera) behind the value"),
        field("warnings", &Reading::warnings, "what to know before using it"),
        field("provenance", &Reading::provenance, "how it was made"),
        field("kind", &Reading::kind, "what a photo's reading took the surface to be")};
  }
};

/// ΔE00 between a stated Lab and that of a stated reflectance of the same thing. One rule holds for
/// tabs and for patches of cards: the two may differ by 1 at the most, and the reflectance counts.
[[nodiscard]] double lab_disagreement(const Lab& lab, const Reflectance& reflectance,
                                      const Viewing& viewing);
inline constexpr double largest_lab_disagreement = 1.0;

/// One reading from repeats of the same thing: mean of the values, sample covariance / n as the
/// random part, the largest shared part. A single repeat keeps its own covariance and dof 0.
/// Throws ArgumentError for an empty span or mixed viewings.
[[nodiscard]] Reading combine(std::span<const Reading> repeats);

/// The reading of a reflectance under a viewing, with no stated uncertainty.
[[nodiscard]] Reading read_spectrum(std::string label, const Reflectance& reflectance,
                                    const Viewing& viewing);

/// The smoothest physically plausible reflectance (0–1) with this colour: least sum of squared
/// second differences. Throws ModelError when no reflectance within [0.001, 0.999] reaches the
/// colour within ΔE*ab 0.01.
[[nodiscard]] Reflectance estimate_reflectance(const Lab& lab, const Viewing& viewing,
                                               const Grid& grid);

}  // namespace mamelon
