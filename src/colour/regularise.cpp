// From what an instrument delivers to an even, sharp spectrum: both only when asked.

#include <algorithm>
#include <cmath>

#include "mamelon/spectrum.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

void check_irregular(std::span<const double> x, std::span<const double> y,
                     Interpolation interpolation) {
  if (x.size() < 3 || x.size() != y.size())
    throw ArgumentError(
        "an irregular spectrum needs at least 3 wavelengths and one value for each, got " +
        std::to_string(x.size()) + " wavelengths and " + std::to_string(y.size()) + " values");
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(x[i]) || !std::isfinite(y[i]))
      throw ArgumentError("wavelength or value " + std::to_string(i + 1) +
                          " of an irregular spectrum is not a finite number");
    if (i > 0 && !(x[i] > x[i - 1]))
      throw ArgumentError("the wavelengths of an irregular spectrum must rise, but " +
                          detail::format_short(x[i], 6) + " nm follows " +
                          detail::format_short(x[i - 1], 6) + " nm");
  }
  if (interpolation == Interpolation::sprague)
    throw ArgumentError(
        "Sprague interpolation needs even steps; resample an irregular spectrum by linear or "
        "cubic");
}

// Second derivatives of the natural cubic spline through (x, y).
std::vector<double> spline_curvature(std::span<const double> x, std::span<const double> y) {
  const std::size_t n = x.size();
  std::vector<double> curvature(n, 0.0);
  std::vector<double> factor(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double left = x[i] - x[i - 1];
    const double right = x[i + 1] - x[i];
    const double pivot = 2 * (left + right) - left * factor[i - 1];
    factor[i] = right / pivot;
    curvature[i] =
        (6 * ((y[i + 1] - y[i]) / right - (y[i] - y[i - 1]) / left) - left * curvature[i - 1]) /
        pivot;
  }
  for (std::size_t i = n - 1; i-- > 1;) curvature[i] -= factor[i] * curvature[i + 1];
  return curvature;
}

}  // namespace

template <class Unit>
Spectrum<Unit> resample_irregular(std::span<const double> wavelengths_nm,
                                  std::span<const double> values, const Grid& target,
                                  Interpolation interpolation, Extrapolation extrapolation) {
  check_irregular(wavelengths_nm, values, interpolation);
  check_grid(target);
  const std::span<const double> x = wavelengths_nm;
  constexpr double slack_nm = 1e-9;
  if (extrapolation == Extrapolation::error &&
      (target.first_nm < x.front() - slack_nm || target.last_nm() > x.back() + slack_nm))
    throw ArgumentError("the target grid " + detail::format_short(target.first_nm, 6) + "-" +
                        detail::format_short(target.last_nm(), 6) +
                        " nm reaches outside the spectrum's " + detail::format_short(x.front(), 6) +
                        "-" + detail::format_short(x.back(), 6) +
                        " nm; choose hold or zero to extrapolate");
  const bool cubic = interpolation == Interpolation::cubic;
  const std::vector<double> curvature =
      cubic ? spline_curvature(x, values) : std::vector<double>(x.size(), 0.0);

  std::vector<double> resampled(target.count);
  for (std::size_t i = 0; i < target.count; ++i) {
    const double at = target.wavelength_nm(i);
    if (at < x.front() || at > x.back()) {
      const bool near_end = at > x.front() - slack_nm && at < x.back() + slack_nm;
      if (extrapolation != Extrapolation::zero || near_end)
        resampled[i] = at < x.front() ? values.front() : values.back();
      continue;
    }
    const auto above = std::upper_bound(x.begin() + 1, x.end() - 1, at);
    const auto k = static_cast<std::size_t>(above - x.begin());
    const double width = x[k] - x[k - 1];
    const double b = (at - x[k - 1]) / width;
    const double a = 1 - b;
    const double bend =
        ((a * a * a - a) * curvature[k - 1] + (b * b * b - b) * curvature[k]) * width * width / 6;
    resampled[i] = a * values[k - 1] + b * values[k] + bend;
  }
  return {target, std::move(resampled)};
}

template Reflectance resample_irregular(std::span<const double>, std::span<const double>,
                                        const Grid&, Interpolation, Extrapolation);
template PerMm resample_irregular(std::span<const double>, std::span<const double>, const Grid&,
                                  Interpolation, Extrapolation);
template Power resample_irregular(std::span<const double>, std::span<const double>, const Grid&,
                                  Interpolation, Extrapolation);

Reflectance correct_bandpass(const Reflectance& reflectance) {
  check_grid(reflectance.grid());
  constexpr double alpha = 0.083;
  const std::vector<double>& r = reflectance.values();
  const std::size_t last = r.size() - 1;
  std::vector<double> corrected(r.size());
  corrected[0] = (1 + alpha) * r[0] - alpha * r[1];
  corrected[last] = (1 + alpha) * r[last] - alpha * r[last - 1];
  for (std::size_t i = 1; i < last; ++i)
    corrected[i] = (1 + 2 * alpha) * r[i] - alpha * (r[i - 1] + r[i + 1]);
  return {reflectance.grid(), std::move(corrected)};
}

}  // namespace mamelon
