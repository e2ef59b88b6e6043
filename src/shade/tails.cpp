#include "shade/tails.h"

#include <algorithm>
#include <array>
#include <cmath>

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

// Student's t in three coordinates, by squared distances in units of its variance. The scale that
// these are taken against has `scale_dof`, which widens the tails further.
class HeavyTails {
 public:
  HeavyTails(double dof, double scale_dof)
      : heavy_(1 / (1 / dof + 1 / scale_dof)),
        unit_(heavy_ * (dof - 2) / dof),
        constant_(log_gamma((heavy_ + 3) / 2) - log_gamma(heavy_ / 2) - 1.5 * std::log(unit_)) {}

  // Without what all densities share.
  [[nodiscard]] double log_density(double squared) const {
    return constant_ - (heavy_ + 3) / 2 * std::log1p(squared / unit_);
  }

 private:
  double heavy_;
  double unit_;  // the square of t's own scale, times its degrees of freedom
  double constant_;
};

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

Doubts doubts_of(std::span<const Off> readings, double dof) {
  constexpr std::array<double, 6> dofs{4, 5, 7, 10, 20, 1000};
  constexpr std::array<double, 4> shares{0.0005, 0.01, 0.03, 0.08};
  constexpr std::array<double, 4> before{0.4, 0.2, 0.2, 0.2};
  // Gross errors have the heaviest tails of all (Cauchy's), about so wide; squared.
  constexpr double wider = 100;
  const double far = -log_gamma(0.5) - 1.5 * std::log(wider);
  // Heavy tails are less usual than light ones, and what few readings look like must not be laid on
  // them: a law on ν degrees of freedom counts e^(−usual/ν).
  const double usual = std::min(15.0, 300 / dof);
  constexpr double least_variance = 1e-6;  // where all readings kept are equal
  constexpr int rounds = 5;
  const std::size_t count = readings.size();
  struct Fitted {
    double log_likelihood = 0;
    double variance = 1;
    std::vector<double> gross;
  };
  std::vector<Fitted> laws;
  for (const double law_dof : dofs) {
    const HeavyTails sound_law(law_dof, dof);
    for (std::size_t k = 0; k < shares.size(); ++k) {
      Fitted law;
      law.gross.assign(count, 0.0);
      const double log_sound = std::log(1 - shares[k]);
      const double log_gross = std::log(shares[k]) + far;
      for (int round = 0; round < rounds; ++round) {
        law.log_likelihood = std::log(before[k]) - usual / law_dof;
        const double log_size = 1.5 * std::log(law.variance);
        double squares = 0;
        double sound = 0;
        for (std::size_t i = 0; i < count; ++i) {
          const Off& off = readings[i];
          if (!(off.weight > 0)) continue;
          const double squared = off.outside / law.variance;
          const double of_sound = log_sound + sound_law.log_density(squared);
          const double of_gross = log_gross - 2 * std::log1p(squared / wider);
          const double larger = std::max(of_sound, of_gross);
          const double both =
              larger + std::log(std::exp(of_sound - larger) + std::exp(of_gross - larger));
          law.gross[i] = std::exp(of_gross - both);
          law.log_likelihood += off.weight * (both - log_size);
          sound += off.weight * (1 - law.gross[i]);
          squares += off.weight * (1 - law.gross[i]) * off.inside;
        }
        law.variance = std::max(squares / (3 * sound), least_variance);
      }
      laws.push_back(std::move(law));
    }
  }
  double best = laws.front().log_likelihood;
  for (const Fitted& law : laws) best = std::max(best, law.log_likelihood);
  Doubts doubts;
  doubts.chance_gross.assign(count, 0.0);
  doubts.variance_ratio = 0;
  double sum = 0;
  for (const Fitted& law : laws) sum += std::exp(law.log_likelihood - best);
  for (const Fitted& law : laws) {
    const double chance = std::exp(law.log_likelihood - best) / sum;
    doubts.variance_ratio += chance * law.variance;
    for (std::size_t i = 0; i < count; ++i) doubts.chance_gross[i] += chance * law.gross[i];
  }
  return doubts;
}

}  // namespace mamelon::detail
