#include "shade/sample.h"

#include <array>
#include <cmath>
#include <numeric>
#include <utility>

#include "base/parallel.h"
#include "shade/distributions.h"

namespace mamelon::detail {
namespace {

// Degrees of freedom above which Student's t and the normal differ by less than the sample does.
constexpr double dof_like_normal = 500;

std::uint32_t reverse_bits(std::uint32_t v) {
  v = (v >> 16) | (v << 16);
  v = ((v & 0xff00ff00U) >> 8) | ((v & 0x00ff00ffU) << 8);
  v = ((v & 0xf0f0f0f0U) >> 4) | ((v & 0x0f0f0f0fU) << 4);
  v = ((v & 0xccccccccU) >> 2) | ((v & 0x33333333U) << 2);
  return ((v & 0xaaaaaaaaU) >> 1) | ((v & 0x55555555U) << 1);
}

// Nested uniform scrambling of the bits of `v` (Laine and Karras 2011 with Burley's constants).
std::uint32_t scramble(std::uint32_t v, std::uint32_t seed) {
  v = reverse_bits(v);
  v ^= v * 0x3d20adeaU;
  v += seed;
  v *= (seed >> 16) | 1U;
  v ^= v * 0x05526c56U;
  v ^= v * 0x53a22864U;
  return reverse_bits(v);
}

// Direction numbers of the first three dimensions, as left-aligned fractions.
using Directions = std::array<std::array<std::uint32_t, 32>, 3>;
Directions directions() {
  Directions v{};
  for (std::size_t i = 0; i < 32; ++i) v[0][i] = 1U << (31 - i);
  v[1][0] = 1U << 31;  // primitive polynomial x + 1
  for (std::size_t i = 1; i < 32; ++i) v[1][i] = v[1][i - 1] ^ (v[1][i - 1] >> 1);
  v[2][0] = 1U << 31;  // x² + x + 1, m = 1, 3
  v[2][1] = 3U << 30;
  for (std::size_t i = 2; i < 32; ++i) v[2][i] = v[2][i - 2] ^ (v[2][i - 2] >> 2) ^ v[2][i - 1];
  return v;
}

std::vector<std::uint32_t> permutation(std::size_t count, Generator generator) {
  std::vector<std::uint32_t> order(count);
  std::iota(order.begin(), order.end(), 0U);
  for (std::size_t i = count; i > 1; --i) std::swap(order[i - 1], order[generator.below(i)]);
  return order;
}

}  // namespace

std::uint64_t stream_seed(std::uint64_t seed, std::uint64_t stream) {
  return Generator(seed ^ Generator(stream).next()).next();
}

std::uint64_t Generator::next() {
  state_ += 0x9e3779b97f4a7c15U;
  std::uint64_t z = state_;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
  return z ^ (z >> 31);
}

double Generator::uniform() {
  return (static_cast<double>(next() >> 12) + 0.5) * 0x1p-52;
}

double Generator::normal() {
  return normal_quantile(uniform());
}

std::size_t Generator::below(std::size_t count) {
  // The bias of the remainder is below count / 2^64.
  return static_cast<std::size_t>(next() % count);
}

Mat3 lower_root(const Mat3& c) {
  double size = 0;
  for (std::size_t i = 0; i < 3; ++i) size = std::fmax(size, c[i][i]);
  Mat3 l{};
  for (std::size_t j = 0; j < 3; ++j) {
    double pivot = c[j][j];
    for (std::size_t k = 0; k < j; ++k) pivot -= l[j][k] * l[j][k];
    if (pivot <= 1e-12 * size) continue;
    l[j][j] = std::sqrt(pivot);
    for (std::size_t i = j + 1; i < 3; ++i) {
      double sum = c[i][j];
      for (std::size_t k = 0; k < j; ++k) sum -= l[i][k] * l[j][k];
      l[i][j] = sum / l[j][j];
    }
  }
  return l;
}

NormalSample::NormalSample(std::size_t draws, std::uint64_t seed) : points_(draws), seed_(seed) {
  const Directions v = directions();
  std::array<std::uint32_t, 3> seeds{};
  for (std::size_t d = 0; d < 3; ++d)
    seeds[d] = static_cast<std::uint32_t>(stream_seed(seed, d) >> 32);
  const std::array<std::vector<double>*, 3> axes{&points_.x, &points_.y, &points_.z};
  for (std::size_t n = 0; n < draws; ++n)
    for (std::size_t d = 0; d < 3; ++d) {
      std::uint32_t bits = 0;
      for (std::size_t i = 0; i < 32; ++i)
        if ((n >> i) & 1U) bits ^= v[d][i];
      const double u = (static_cast<double>(scramble(bits, seeds[d])) + 0.5) * 0x1p-32;
      (*axes[d])[n] = normal_quantile(u);
    }
}

Draws NormalSample::standard(std::uint64_t block) const {
  const auto order = permutation(size(), Generator(stream_seed(seed_, 16 + 2 * block)));
  Draws drawn(size());
  for (std::size_t i = 0; i < size(); ++i) {
    drawn.x[i] = points_.x[order[i]];
    drawn.y[i] = points_.y[order[i]];
    drawn.z[i] = points_.z[order[i]];
  }
  return drawn;
}

std::vector<double> NormalSample::stretches(double dof, double chi_dof) const {
  std::vector<double> factors(size());
  parallel_for(size(), 256, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const double p = (static_cast<double>(i) + 0.5) / static_cast<double>(size());
      factors[i] = std::sqrt(dof / chi_squared_quantile(p, chi_dof));
    }
  });
  return factors;
}

std::vector<double> NormalSample::shuffled(const std::vector<double>& stretches,
                                           std::uint64_t block) const {
  const auto order = permutation(size(), Generator(stream_seed(seed_, 17 + 2 * block)));
  std::vector<double> factors(size());
  for (std::size_t i = 0; i < size(); ++i) factors[order[i]] = stretches[i];
  return factors;
}

Draws NormalSample::draw(const Mat3& covariance, double dof, std::uint64_t block) const {
  Draws drawn(size());
  if (covariance == Mat3{}) return drawn;
  add_error(drawn, lower_root(covariance), standard(block),
            is_estimated(dof) ? shuffled(stretches(dof, dof), block) : std::vector<double>{});
  return drawn;
}

bool is_estimated(double dof) {
  return dof >= 1 && dof <= dof_like_normal;
}

void add_error(Draws& sum, const Mat3& l, const Draws& standard,
               const std::vector<double>& stretch) {
  for (std::size_t i = 0; i < sum.size(); ++i) {
    const double s = stretch.empty() ? 1 : stretch[i];
    const double x = s * standard.x[i];
    const double y = s * standard.y[i];
    const double z = s * standard.z[i];
    sum.x[i] += l[0][0] * x;
    sum.y[i] += l[1][0] * x + l[1][1] * y;
    sum.z[i] += l[2][0] * x + l[2][1] * y + l[2][2] * z;
  }
}

}  // namespace mamelon::detail
