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

// The factor of dc·dh at the middle of a pair, from the definition of the parts. Of three probes
// about it at least one has a product that is far from zero, whichever way the hue lies.
double rotation_between(const Lab& p, const Lab& q, const DifferenceWeights& weights) {
  const Lab at{(p.l + q.l) / 2, (p.a + q.a) / 2, (p.b + q.b) / 2};
  constexpr std::array<std::array<double, 2>, 3> probes{{{0.25, 0}, {0, 0.25}, {0.25, 0.25}}};
  double largest = 0;
  double rotation = 0;
  for (const auto& [a, b] : probes) {
    const auto d = de00_parts({at.l, at.a - a, at.b - b}, {at.l, at.a + a, at.b + b}, weights);
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
  metric.rotation = rotation_between(tab, reading, weights);
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
