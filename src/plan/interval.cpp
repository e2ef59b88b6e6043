#include "plan/interval.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "shade/distributions.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t draws = 1024;

// Radical inverse (van der Corput); bases 2, 3, 5 make Halton's sequence (Halton 1960).
double radical_inverse(std::size_t index, std::size_t base) {
  double value = 0;
  double digit = 1;
  for (; index > 0; index /= base) {
    digit /= static_cast<double>(base);
    value += digit * static_cast<double>(index % base);
  }
  return value;
}

}  // namespace

double de00_p95(const Lab& target, const Lab& lab, const Mat3& covariance,
                const DifferenceWeights& weights) {
  const Mat3 l = lower_root(covariance);
  std::vector<double> sample(draws);
  for (std::size_t i = 0; i < draws; ++i) {
    const Vec3 z{normal_quantile(radical_inverse(i + 1, 2)),
                 normal_quantile(radical_inverse(i + 1, 3)),
                 normal_quantile(radical_inverse(i + 1, 5))};
    const Vec3 shift = multiply(l, z);
    sample[i] = de00(target, {lab.l + shift[0], lab.a + shift[1], lab.b + shift[2]}, weights);
  }
  const auto rank = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(draws));
  std::nth_element(sample.begin(), sample.begin() + rank, sample.end());
  return sample[static_cast<std::size_t>(rank)];
}

}  // namespace mamelon::detail
