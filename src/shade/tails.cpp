#include "shade/tails.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "shade/distributions.h"

namespace mamelon::detail {
namespace {

constexpr double farthest = 0.1;
constexpr double most_ratio = 1.7;

// Shares and means of T² = s · 3 F(3, dof) cut off at a value of T².
struct CutOff {
  double dof;
  double scale;  // s

  [[nodiscard]] double share_below(double t) const { return f_cdf(t / (3 * scale), 3, dof); }
  // E[T²; T² < t], from E[F; F < x] = dof/(dof − 2) · P(F(5, dof − 2) < 3 x (dof − 2)/(5 dof)).
  [[nodiscard]] double moment_below(double t) const {
    const double x = t / (3 * scale);
    if (std::isinf(dof)) return 3 * scale * chi_squared_cdf(3 * x, 5);
    return 3 * scale * dof / (dof - 2) * f_cdf(3 * x * (dof - 2) / (5 * dof), 5, dof - 2);
  }
};

// With the scale that makes the mean of what lies within the cut 3, as it is for the covariance of
// the rows that were kept.
CutOff fitted(double dof, double cut) {
  CutOff law{dof, 1};
  for (int round = 0; round < 60; ++round) {
    const double mean = law.moment_below(cut) / law.share_below(cut);
    law.scale *= 3 / mean;
    if (std::fabs(mean - 3) < 1e-9) break;
  }
  return law;
}

// Where the law has `share` of `all` below.
double quantile(const CutOff& law, double share, double all) {
  double low = 0;
  double high = 1;
  while (law.share_below(high) < share * all) high *= 2;
  for (int round = 0; round < 40; ++round) {
    const double middle = (low + high) / 2;
    (law.share_below(middle) < share * all ? low : high) = middle;
  }
  return low;
}

double mean_of_farthest(const CutOff& law, double cut) {
  const double all = law.share_below(cut);
  const double edge = quantile(law, 1 - farthest, all);
  return (law.moment_below(cut) - law.moment_below(edge)) / (all - law.share_below(edge));
}

}  // namespace

double tail_ratio(std::vector<double> t_squared, double dof) {
  const std::size_t count = t_squared.size();
  const auto top = std::max<std::size_t>(
      3, static_cast<std::size_t>(std::lround(farthest * static_cast<double>(count))));
  if (count < 3 * top || dof < 5) return 1;
  const auto from = t_squared.end() - static_cast<std::ptrdiff_t>(top);
  std::nth_element(t_squared.begin(), from, t_squared.end());
  double seen = 0;
  for (auto value = from; value != t_squared.end(); ++value) seen += *value;
  const CutOff law{dof - 2, dof / (dof - 2)};
  const double share = static_cast<double>(top) / static_cast<double>(count);
  const double edge = quantile(law, 1 - share, 1);
  const double expected =
      (3 * law.scale * law.dof / (law.dof - 2) - law.moment_below(edge)) / share;
  return std::clamp(seen / static_cast<double>(top) / expected, 1.0, most_ratio);
}

TailLaw tail_law(double cut, double ratio) {
  constexpr double infinite = std::numeric_limits<double>::infinity();
  const CutOff normal = fitted(infinite, cut);
  if (!(ratio > 1)) return {infinite, normal.scale};
  const double wanted = ratio * mean_of_farthest(normal, cut);
  double low = 2.2;  // degrees of freedom: heavier than any reading's
  double high = 200;
  for (int round = 0; round < 20; ++round) {
    const double middle = std::sqrt(low * high);
    (mean_of_farthest(fitted(middle, cut), cut) > wanted ? low : high) = middle;
  }
  return {high, fitted(high, cut).scale};
}

}  // namespace mamelon::detail
