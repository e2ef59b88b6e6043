#pragma once
/// @file
/// Illuminant and observer: the conditions under which a colour is stated, and the step from a
/// spectrum to tristimulus values under them.

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/colour.h"
#include "mamelon/description.h"
#include "mamelon/spectrum.h"

namespace mamelon {

/// The CIE standard observer: 2° of 1931 or 10° of 1964.
enum class Observer {
  deg2,   ///< CIE 1931 standard colorimetric observer
  deg10,  ///< CIE 1964 standard colorimetric observer
};
template <>
struct Words<Observer> {
  static constexpr const char* name = "Observer";
  static constexpr auto words = words_of("deg2", "deg10");
};

/// A light: its name and relative spectral power. Copies share the table.
class Illuminant {
 public:
  /// A user's own light. Throws ArgumentError for negative or all-zero power or an empty name.
  Illuminant(std::string name, Power power);

  /// As `D65`.
  [[nodiscard]] const std::string& name() const noexcept { return name_; }
  /// Relative, by wavelength.
  [[nodiscard]] const Power& power() const noexcept { return *power_; }
  /// In name and power.
  friend bool operator==(const Illuminant& a, const Illuminant& b) {
    return a.name_ == b.name_ && (a.power_ == b.power_ || *a.power_ == *b.power_);
  }

 private:
  std::string name_;
  std::shared_ptr<const Power> power_;
};

/// A CIE illuminant by name: A, C, D50, D55, D65, D75, E, F1…F12, LED-B1…LED-B5, LED-BH1,
/// LED-RGB1, LED-V1, LED-V2 (CIE 015:2018). Throws ArgumentError naming the known ones.
[[nodiscard]] Illuminant standard_illuminant(std::string_view name);
[[nodiscard]] std::vector<std::string> standard_illuminant_names();
/// Daylight of correlated colour temperature 4000–25000 K (CIE 015:2018, 4.1.2).
[[nodiscard]] Illuminant daylight(double cct_k);

/// The conditions of a colour statement. There is no default viewing.
struct Viewing {
  Illuminant illuminant;  ///< the light
  Observer observer;      ///< the angle of view
  friend bool operator==(const Viewing&, const Viewing&) = default;
};

/// `D65/2`, `A/10`, … and back. Throws ArgumentError for an unknown name.
[[nodiscard]] std::string to_string(const Viewing& viewing);
[[nodiscard]] Viewing viewing_from_string(std::string_view text);
template <>
struct AsText<Illuminant> {
  static std::string write(const Illuminant& light) { return light.name(); }
  static Illuminant read(std::string_view text) { return standard_illuminant(text); }
  static Illuminant blank() { return standard_illuminant("E"); }
};
template <>
struct AsText<Viewing> {
  static std::string write(const Viewing& viewing) { return to_string(viewing); }
  static Viewing read(std::string_view text) { return viewing_from_string(text); }
  static Viewing blank() { return {standard_illuminant("E"), Observer::deg2}; }
};
/// Throws ArgumentError naming both viewings and `where` when they differ.
void check_same_viewing(const Viewing& a, const Viewing& b, const std::string& where);

/// How a reflectance measured at intervals is integrated.
enum class Integration {
  weighting,  ///< weighting table built from the 1 nm CIE tables (ASTM E2022, used as E308)
  sprague,    ///< Sprague interpolation to 1 nm (CIE 167:2005), then summation
};
template <>
struct Words<Integration> {
  static constexpr const char* name = "Integration";
  static constexpr auto words = words_of("weighting", "sprague");
};

/// Tristimulus values of a reflectance. Bands missing at either end take the last measured value
/// (ASTM E308, 7.3). Throws ArgumentError for a grid outside `check_grid` or a reflectance outside
/// `check_reflectance`.
[[nodiscard]] Xyz to_xyz(const Reflectance& reflectance, const Viewing& viewing,
                         Integration integration = Integration::weighting);
/// Tristimulus values of the perfect reflecting diffuser, Y = 1, by 1 nm summation.
[[nodiscard]] Xyz white_point(const Viewing& viewing);
/// to_xyz followed by to_lab under the same viewing.
[[nodiscard]] Lab to_lab(const Reflectance& reflectance, const Viewing& viewing,
                         Integration integration = Integration::weighting);

/// Weights w with X = Σ w.x[i] R[i] and so on, for a grid under a viewing; they sum to the white.
struct Weights {
  Grid grid;              ///< of the reflectances that they weigh
  std::vector<double> x;  ///< factors of each band
  std::vector<double> y;  ///< likewise
  std::vector<double> z;  ///< likewise
};
/// Computed once and kept. Throws ArgumentError for a grid that does not cover 430–670 nm.
[[nodiscard]] std::shared_ptr<const Weights> weights(const Grid& grid, const Viewing& viewing);
/// Tristimulus values of a reflectance on the grid of `weights`; ArgumentError on another.
[[nodiscard]] Xyz to_xyz(const Reflectance& reflectance, const Weights& weights);
/// Covariance of the tristimulus values when each band's reflectance has an independent error of
/// the given standard deviation. Throws ArgumentError unless there is one deviation, 0 or more, for
/// each band.
[[nodiscard]] Mat3 xyz_covariance(const Weights& weights, std::span<const double> band_sd);

/// SHA-256 of the CIE tables in data/cie that the library was built with, for provenance.
[[nodiscard]] std::string cie_tables_digest();

}  // namespace mamelon
