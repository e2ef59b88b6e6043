#include "shade/pair_metric.h"

#include <array>
#include <cmath>

namespace mamelon::detail {
namespace {

// Small against the curvature of ΔE00 (errors of order step² ≈ 1e-6), large against rounding.
constexpr double step = 1e-3;

Vec3 parts_vector(const SignedDifference& d) {
  return {d.dl, d.dc, d.dh};
}

std::array<Lab, 3> shifted(const Lab& at, double by) {
  return {Lab{at.l + by, at.a, at.b}, Lab{at.l, at.a + by, at.b}, Lab{at.l, at.a, at.b + by}};
}

// The factor of dc·dh at a colour, from the definition of the parts. Of three probes at least one
// has a product that is far from zero, whichever way the hue lies.
double rotation_at(const Lab& at, const DifferenceWeights& weights) {
  const std::array<Lab, 3> probes{Lab{at.l, at.a + 0.5, at.b}, Lab{at.l, at.a, at.b + 0.5},
                                  Lab{at.l, at.a + 0.5, at.b + 0.5}};
  double largest = 0;
  double rotation = 0;
  for (const Lab& probe : probes) {
    const auto d = de00_parts(at, probe, weights);
    const double product = d.dc * d.dh;
    if (std::fabs(product) <= largest) continue;
    largest = std::fabs(product);
    rotation = (d.de * d.de - d.dl * d.dl - d.dc * d.dc - d.dh * d.dh) / product;
  }
  return rotation;
}

}  // namespace

PairMetric pair_metric(const Lab& tab, const Lab& reading, const DifferenceWeights& weights) {
  PairMetric metric;
  metric.w0 = parts_vector(de00_parts(tab, reading, weights));
  const auto reading_up = shifted(reading, step);
  const auto reading_down = shifted(reading, -step);
  const auto tab_up = shifted(tab, step);
  const auto tab_down = shifted(tab, -step);
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const Vec3 r1 = parts_vector(de00_parts(tab, reading_up[axis], weights));
    const Vec3 r0 = parts_vector(de00_parts(tab, reading_down[axis], weights));
    const Vec3 t1 = parts_vector(de00_parts(tab_up[axis], reading, weights));
    const Vec3 t0 = parts_vector(de00_parts(tab_down[axis], reading, weights));
    for (std::size_t part = 0; part < 3; ++part) {
      metric.by_reading[part][axis] = (r1[part] - r0[part]) / (2 * step);
      metric.by_tab[part][axis] = (t1[part] - t0[part]) / (2 * step);
    }
  }
  metric.rotation = rotation_at(reading, weights);
  return metric;
}

Mat3 local_metric(const Lab& at, const DifferenceWeights& weights) {
  const PairMetric pair = pair_metric(at, at, weights);
  const Mat3& j = pair.by_reading;
  Mat3 g{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t k = 0; k < 3; ++k)
      g[i][k] = j[0][i] * j[0][k] + j[1][i] * j[1][k] + j[2][i] * j[2][k] +
                pair.rotation / 2 * (j[1][i] * j[2][k] + j[2][i] * j[1][k]);
  return g;
}

double quadratic(const Mat3& metric, const Vec3& delta) {
  const Vec3 image = multiply(metric, delta);
  return delta[0] * image[0] + delta[1] * image[1] + delta[2] * image[2];
}

double mean_square(const Mat3& metric, const Mat3& covariance) {
  const Mat3 product = multiply(metric, covariance);
  return product[0][0] + product[1][1] + product[2][2];
}

}  // namespace mamelon::detail
