#pragma once
// Uneven light over the photo.

#include <vector>

#include <Eigen/Dense>

#include "mamelon/card.h"

namespace mamelon::detail {

// One place of known reflectance: the logarithm of (signal / reflectance), with its standard
// deviation before the fit shows how well the samples agree. Samples of one `group` share an
// unknown factor of their own (white areas whose reflectance is not stated are one group, the
// neutral patches another).
struct LightSample {
  PointPx at;
  double log_ratio = 0;
  double sd = 0;
  std::size_t group = 0;
};

// A quadratic in log light with Gaussian priors of standard deviation 0.10 on its five
// coefficients, in units of half the photo's longer side from `centre`. A plane is never used: it
// extrapolates worse than no correction at all.
class LightField {
 public:
  LightField() = default;
  static LightField fit(const std::vector<LightSample>& samples, PointPx centre, double unit_px);

  // Between places of known light the field is interpolated; a shadow's edge just beyond the
  // outermost of them would not be seen. Tells the field where those lie, and how many pixels a
  // millimetre has.
  void set_known(std::vector<PointPx> places, double px_per_mm);
  // How far a place lies beyond the places of known light: 0 between them, 1 from 2 mm on.
  [[nodiscard]] double unseen(PointPx at) const;
  [[nodiscard]] double px_per_mm() const { return px_per_mm_; }

  // Light at a place over the light at the centre.
  [[nodiscard]] double gain(PointPx at) const;
  // Variance of the logarithm of `gain`.
  [[nodiscard]] double log_variance(PointPx at) const;
  // Covariance of the logarithms of the gains at two places.
  [[nodiscard]] double log_covariance(PointPx one, PointPx other) const;
  // Root mean square of the fit's residuals in log light.
  [[nodiscard]] double residual_rms() const { return residual_rms_; }
  [[nodiscard]] bool is_flat() const { return flat_; }

 private:
  using Terms = Eigen::Matrix<double, 5, 1>;
  [[nodiscard]] Terms terms(PointPx at) const;

  bool flat_ = true;
  PointPx centre_;
  double unit_px_ = 1;
  Terms coefficients_ = Terms::Zero();
  Eigen::Matrix<double, 5, 5> covariance_ = Eigen::Matrix<double, 5, 5>::Identity() * 0.01;
  double residual_rms_ = 0;
  std::vector<PointPx> hull_;  // convex, around the places of known light
  double px_per_mm_ = 1;
  double scaled_rms_ = 0;  // the same in standard deviations of the samples

  void solve(const std::vector<LightSample>& samples);
};

inline constexpr std::size_t min_light_samples = 15;

}  // namespace mamelon::detail
