#pragma once
/// @file
/// Spectra on uniform wavelength grids, typed by what they mean.

#include <cstddef>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/error.h"
#include "mamelon/limits.h"

namespace mamelon {

/// A uniform wavelength grid.
struct Grid {
  double first_nm = 0;
  double step_nm = 0;
  std::size_t count = 0;

  /// Of the band `i`, from 0.
  [[nodiscard]] double wavelength_nm(std::size_t i) const {
    return first_nm + step_nm * static_cast<double>(i);
  }
  /// The last wavelength.
  [[nodiscard]] double last_nm() const { return count == 0 ? first_nm : wavelength_nm(count - 1); }
  friend bool operator==(const Grid&, const Grid&) = default;
};
template <>
struct Fields<Grid> {
  static constexpr const char* name = "Grid";
  static constexpr auto all() {
    return FieldList{
        needed("first_nm", &Grid::first_nm, "first wavelength").in("nm").range(200, 2500),
        needed("step_nm", &Grid::step_nm, "step").in("nm").above(0, 20),
        needed("count", &Grid::count, "number of bands").range(3, limits::spectrum_bands)};
  }
  static void relate(const Grid& grid, const std::string& where) {
    if (grid.last_nm() > 2500)
      throw ArgumentError(where + ": runs past 2500 nm; it must lie within 200–2500 nm");
  }
};

/// Throws ArgumentError unless the grid has at least 3 bands, a step in (0, 20] nm and lies
/// within 200–2500 nm.
inline void check_grid(const Grid& grid) {
  check(grid, "the wavelength grid");
}

namespace unit {
struct Reflectance {};  ///< fraction of the perfect reflecting diffuser, 0–1
struct PerMm {};        ///< absorption or scattering per millimetre
struct Power {};        ///< relative spectral power
}  // namespace unit

/// Values on a grid. `Unit` keeps meanings apart: an absorption never converts to a reflectance.
template <class Unit>
class Spectrum {
 public:
  Spectrum() = default;
  /// Throws ArgumentError when the number of values is not the grid's count or a value is not
  /// finite.
  Spectrum(const Grid& grid, std::vector<double> values);

  /// Its wavelengths.
  [[nodiscard]] const Grid& grid() const noexcept { return grid_; }
  /// One a wavelength.
  [[nodiscard]] const std::vector<double>& values() const noexcept { return values_; }
  /// How many.
  [[nodiscard]] std::size_t size() const noexcept { return values_.size(); }
  /// Whether it has none.
  [[nodiscard]] bool empty() const noexcept { return values_.empty(); }
  /// The value of a band.
  [[nodiscard]] double operator[](std::size_t i) const { return values_[i]; }
  friend bool operator==(const Spectrum&, const Spectrum&) = default;

 private:
  Grid grid_;
  std::vector<double> values_;
};

/// Reflectance (1 is the perfect diffuser), constant per millimetre, and power of a light.
using Reflectance = Spectrum<unit::Reflectance>;
using PerMm = Spectrum<unit::PerMm>;
using Power = Spectrum<unit::Power>;

extern template class Spectrum<unit::Reflectance>;
extern template class Spectrum<unit::PerMm>;
extern template class Spectrum<unit::Power>;

template <class Unit>
struct AsCurve<Spectrum<Unit>> {
  static Curve view(const Spectrum<Unit>& s) {
    return {s.grid().first_nm, s.grid().step_nm, s.values()};
  }
  static Spectrum<Unit> make(Curve&& curve) {
    const Grid grid{curve.first_nm, curve.step_nm, curve.values.size()};
    return Spectrum<Unit>(grid, std::move(curve.values));
  }
};

/// Throws ArgumentError when a reflectance is negative or above 2; values that look like percent
/// (most above 2 and at most 200) get a message that says so. `where` names the spectrum.
void check_reflectance(const Reflectance& reflectance, const std::string& where);

/// How a spectrum is read between its bands.
enum class Interpolation { linear, cubic, sprague };
template <>
struct Words<Interpolation> {
  static constexpr const char* name = "Interpolation";
  static constexpr auto words = words_of("linear", "cubic", "sprague");
};
/// What stands outside the source's range: an error, the nearest end value, or zero.
enum class Extrapolation { error, hold, zero };
template <>
struct Words<Extrapolation> {
  static constexpr const char* name = "Extrapolation";
  static constexpr auto words = words_of("error", "hold", "zero");
};

/// The spectrum on another grid. Sprague is the fifth-order form of CIE 167:2005 and needs at
/// least 6 bands; cubic is the natural cubic spline.
template <class Unit>
[[nodiscard]] Spectrum<Unit> resample(const Spectrum<Unit>& source, const Grid& target,
                                      Interpolation interpolation, Extrapolation extrapolation);

/// Values measured at irregular wavelengths, on a uniform grid; nothing in the library does this
/// unasked. `interpolation` is linear or cubic (natural spline). Throws ArgumentError unless there
/// are at least 3 wavelengths, strictly rising, with one finite value each, or for Sprague, which
/// needs even steps.
template <class Unit>
[[nodiscard]] Spectrum<Unit> resample_irregular(std::span<const double> wavelengths_nm,
                                                std::span<const double> values, const Grid& target,
                                                Interpolation interpolation,
                                                Extrapolation extrapolation);

/// A reflectance measured through a triangular passband as wide as the step (half width), corrected
/// for it after Stearns and Stearns 1988, Color Res Appl 13:257–259. Never applied unasked: most
/// instruments correct in their firmware, and correcting twice sharpens falsely.
[[nodiscard]] Reflectance correct_bandpass(const Reflectance& reflectance);

extern template Reflectance resample(const Reflectance&, const Grid&, Interpolation, Extrapolation);
extern template PerMm resample(const PerMm&, const Grid&, Interpolation, Extrapolation);
extern template Power resample(const Power&, const Grid&, Interpolation, Extrapolation);

extern template Reflectance resample_irregular(std::span<const double>, std::span<const double>,
                                               const Grid&, Interpolation, Extrapolation);
extern template PerMm resample_irregular(std::span<const double>, std::span<const double>,
                                         const Grid&, Interpolation, Extrapolation);
extern template Power resample_irregular(std::span<const double>, std::span<const double>,
                                         const Grid&, Interpolation, Extrapolation);

}  // namespace mamelon
