#include "capture/tone.h"

#include <algorithm>
#include <cmath>

#include "mamelon/error.h"

namespace mamelon::detail {

Tone::Tone(const std::array<std::vector<std::array<double, 2>>, 3>& knots) {
  for (std::size_t c = 0; c < 3; ++c) {
    auto sorted = knots[c];
    std::sort(sorted.begin(), sorted.end());
    Curve& curve = curves_[c];
    curve.x = {0};
    curve.y = {0};
    double merged = 0;  // knots that the last one is the mean of; none at the origin
    for (const auto& [from, to] : sorted) {
      const double x = std::cbrt(std::max(from, 0.0));
      const double y = std::cbrt(std::max(to, 0.0));
      // Neutrals of all but one signal tell of one place: a secant through them would tell of their
      // noise, and the curve goes on beyond the last in its direction.
      constexpr double apart = 0.02;
      if (merged > 0 && x < curve.x.back() + apart) {
        curve.x.back() += (x - curve.x.back()) / (merged + 1);
        curve.y.back() += (y - curve.y.back()) / (merged + 1);
        ++merged;
        continue;
      }
      // A darker one that looks lighter cannot be on a monotone curve: the first is kept.
      if (x < curve.x.back() + 1e-4 || y < curve.y.back() + 1e-4) continue;
      curve.x.push_back(x);
      curve.y.push_back(y);
      merged = 1;
    }
    const std::size_t n = curve.x.size();
    std::vector<double> secant(n - 1);
    for (std::size_t i = 0; i + 1 < n; ++i) {
      secant[i] = (curve.y[i + 1] - curve.y[i]) / (curve.x[i + 1] - curve.x[i]);
    }
    curve.slope.assign(n, secant.empty() ? 1.0 : secant.back());
    if (secant.empty()) continue;
    curve.slope[0] = secant[0];
    for (std::size_t i = 1; i + 1 < n; ++i) {
      // Weighted harmonic mean: never steeper than monotony allows.
      const double left = curve.x[i] - curve.x[i - 1];
      const double right = curve.x[i + 1] - curve.x[i];
      const double a = 2 * right + left;
      const double b = right + 2 * left;
      curve.slope[i] = (a + b) / (a / secant[i - 1] + b / secant[i]);
    }
  }
}

std::array<double, 2> Tone::Curve::at(double value) const {
  const double u = std::cbrt(std::max(value, 1e-9));
  const auto next = std::upper_bound(x.begin() + 1, x.end(), u);
  double y_at = 0;
  double slope_at = 0;
  if (next == x.end()) {
    slope_at = slope.back();
    y_at = y.back() + slope_at * (u - x.back());
  } else {
    const auto i = static_cast<std::size_t>(next - x.begin()) - 1;
    const double h = x[i + 1] - x[i];
    const double t = (u - x[i]) / h;
    const double s = (y[i + 1] - y[i]) / h;
    const double c2 = (3 * s - 2 * slope[i] - slope[i + 1]) * h;
    const double c3 = (slope[i] + slope[i + 1] - 2 * s) * h;
    y_at = y[i] + t * (slope[i] * h + t * (c2 + t * c3));
    slope_at = (slope[i] * h + t * (2 * c2 + 3 * t * c3)) / h;
  }
  // Back from cube roots: d(y³)/d(u³).
  return {y_at * y_at * y_at, slope_at * y_at * y_at / (u * u)};
}

Eigen::Vector3d Tone::operator()(const Eigen::Vector3d& rgb) const {
  return {curves_[0].at(rgb[0])[0], curves_[1].at(rgb[1])[0], curves_[2].at(rgb[2])[0]};
}

Eigen::Vector3d Tone::slope(const Eigen::Vector3d& rgb) const {
  return {curves_[0].at(rgb[0])[1], curves_[1].at(rgb[1])[1], curves_[2].at(rgb[2])[1]};
}

Tone fit_tone(const std::vector<TrainingPatch>& patches) {
  std::array<std::vector<std::array<double, 2>>, 3> knots;
  for (const TrainingPatch& p : patches) {
    if (!p.neutral) continue;
    for (Eigen::Index c = 0; c < 3; ++c) {
      knots[static_cast<std::size_t>(c)].push_back({p.raw[c], p.xyz[1] * p.gain});
    }
  }
  if (knots[0].size() < min_tone_neutrals) {
    throw CaptureError("a camera's own rendering needs at least " +
                       std::to_string(min_tone_neutrals) + " usable neutral patches; there are " +
                       std::to_string(knots[0].size()));
  }
  return Tone(knots);
}

void apply_tone(const Tone& tone, TrainingPatch& patch) {
  const Eigen::Vector3d slope = tone.slope(patch.raw) / patch.gain;
  patch.rgb = tone(patch.raw) / patch.gain;
  patch.rgb_cov = slope.asDiagonal() * patch.raw_cov * slope.asDiagonal();
}

}  // namespace mamelon::detail
