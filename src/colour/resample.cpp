#include <algorithm>
#include <array>
#include <cmath>

#include "mamelon/spectrum.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

// Positions are in steps of the source grid: band i stands at i.

double linear_at(const std::vector<double>& y, double position) {
  const std::size_t i = std::min(static_cast<std::size_t>(position), y.size() - 2);
  const double t = position - static_cast<double>(i);
  return y[i] + t * (y[i + 1] - y[i]);
}

// Second derivatives of the natural cubic spline through values at unit spacing (tridiagonal
// system 1 4 1, solved by elimination).
std::vector<double> natural_spline_curvature(const std::vector<double>& y) {
  const std::size_t n = y.size();
  std::vector<double> curvature(n, 0.0);
  std::vector<double> factor(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double pivot = 4 - factor[i - 1];
    factor[i] = 1 / pivot;
    curvature[i] = (6 * (y[i + 1] - 2 * y[i] + y[i - 1]) - curvature[i - 1]) / pivot;
  }
  for (std::size_t i = n - 1; i-- > 1;) curvature[i] -= factor[i] * curvature[i + 1];
  return curvature;
}

double cubic_at(const std::vector<double>& y, const std::vector<double>& curvature,
                double position) {
  const std::size_t i = std::min(static_cast<std::size_t>(position), y.size() - 2);
  const double b = position - static_cast<double>(i);
  const double a = 1 - b;
  return a * y[i] + b * y[i + 1] +
         ((a * a * a - a) * curvature[i] + (b * b * b - b) * curvature[i + 1]) / 6;
}

// The source with the two boundary values that the Sprague polynomial needs at each end
// (CIE 167:2005, table V).
std::vector<double> sprague_padded(const std::vector<double>& y) {
  constexpr std::array<std::array<double, 6>, 2> coefficients = {
      {{884, -1960, 3033, -2648, 1080, -180}, {508, -540, 488, -367, 144, -24}}};
  constexpr double divisor = 209;
  const std::size_t n = y.size();
  std::vector<double> padded(n + 4);
  std::copy(y.begin(), y.end(), padded.begin() + 2);
  for (std::size_t k = 0; k < 2; ++k) {
    double before = 0;
    double after = 0;
    for (std::size_t j = 0; j < 6; ++j) {
      before += coefficients[k][j] * y[j];
      after += coefficients[k][j] * y[n - 1 - j];
    }
    padded[k] = before / divisor;
    padded[n + 3 - k] = after / divisor;
  }
  return padded;
}

double sprague_at(const std::vector<double>& padded, double position) {
  const std::size_t i = std::min(static_cast<std::size_t>(position), padded.size() - 6);
  const double t = position - static_cast<double>(i);
  const double* r = padded.data() + i;
  const double a0 = r[2];
  const double a1 = (2 * r[0] - 16 * r[1] + 16 * r[3] - 2 * r[4]) / 24;
  const double a2 = (-r[0] + 16 * r[1] - 30 * r[2] + 16 * r[3] - r[4]) / 24;
  const double a3 = (-9 * r[0] + 39 * r[1] - 70 * r[2] + 66 * r[3] - 33 * r[4] + 7 * r[5]) / 24;
  const double a4 = (13 * r[0] - 64 * r[1] + 126 * r[2] - 124 * r[3] + 61 * r[4] - 12 * r[5]) / 24;
  const double a5 = (-5 * r[0] + 25 * r[1] - 50 * r[2] + 50 * r[3] - 25 * r[4] + 5 * r[5]) / 24;
  return ((((a5 * t + a4) * t + a3) * t + a2) * t + a1) * t + a0;
}

void check_covered(const Grid& source, const Grid& target) {
  const double slack = 1e-9 * source.step_nm;
  if (target.first_nm < source.first_nm - slack || target.last_nm() > source.last_nm() + slack)
    throw ArgumentError(
        "the target grid " + detail::format_short(target.first_nm, 6) + "-" +
        detail::format_short(target.last_nm(), 6) + " nm reaches outside the spectrum's " +
        detail::format_short(source.first_nm, 6) + "-" + detail::format_short(source.last_nm(), 6) +
        " nm; choose hold or zero to extrapolate");
}

}  // namespace

template <class Unit>
Spectrum<Unit> resample(const Spectrum<Unit>& source, const Grid& target,
                        Interpolation interpolation, Extrapolation extrapolation) {
  check_grid(source.grid());
  check_grid(target);
  if (extrapolation == Extrapolation::error) check_covered(source.grid(), target);
  if (interpolation == Interpolation::sprague && source.size() < 6)
    throw ArgumentError("Sprague interpolation needs at least 6 bands, got " +
                        std::to_string(source.size()));

  const std::vector<double>& y = source.values();
  std::vector<double> curvature;
  std::vector<double> padded;
  if (interpolation == Interpolation::cubic) curvature = natural_spline_curvature(y);
  if (interpolation == Interpolation::sprague) padded = sprague_padded(y);

  const double last = static_cast<double>(y.size() - 1);
  std::vector<double> values(target.count);
  for (std::size_t i = 0; i < target.count; ++i) {
    double position = (target.wavelength_nm(i) - source.grid().first_nm) / source.grid().step_nm;
    // A band that should fall on a source band misses it by rounding when steps are not integers.
    const double nearest = std::round(position);
    const bool on_band = std::fabs(position - nearest) < 1e-9;
    if (on_band) position = nearest;
    if (position < 0 || position > last) {
      const bool hold = extrapolation == Extrapolation::hold;
      values[i] = hold ? (position < 0 ? y.front() : y.back()) : 0.0;
    } else if (on_band) {
      values[i] = y[static_cast<std::size_t>(position)];
    } else if (interpolation == Interpolation::linear) {
      values[i] = linear_at(y, position);
    } else if (interpolation == Interpolation::cubic) {
      values[i] = cubic_at(y, curvature, position);
    } else {
      values[i] = sprague_at(padded, position);
    }
  }
  return {target, std::move(values)};
}

template Reflectance resample(const Reflectance&, const Grid&, Interpolation, Extrapolation);
template PerMm resample(const PerMm&, const Grid&, Interpolation, Extrapolation);
template Power resample(const Power&, const Grid&, Interpolation, Extrapolation);

}  // namespace mamelon
