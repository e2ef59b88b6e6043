// How far a filling's colour may come out from its target.

#include <algorithm>
#include <array>
#include <cmath>

#include "plan/objective.h"
#include "shade/distributions.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

// Draws of colours at first order, and of whole stacks.
constexpr std::size_t colour_draws = 1024;
constexpr std::size_t stack_draws = 768;
// First order is taken where the two rms differ by less than this share.
constexpr double first_order_share = 0.02;
constexpr double thinnest_mm = 0.02;

// Radical inverse (van der Corput); primes as bases make Halton's sequence (Halton 1960).
double normal_draw(std::size_t index, std::size_t dimension) {
  constexpr std::array<std::size_t, 6> bases{2, 3, 5, 7, 11, 13};
  const std::size_t base = bases[dimension];
  double value = 0;
  double digit = 1;
  for (++index; index > 0; index /= base) {
    digit /= static_cast<double>(base);
    value += digit * static_cast<double>(index % base);
  }
  return normal_quantile(value);
}

Lab shifted(const Lab& lab, const Vec3& by, double sign) {
  return {lab.l + sign * by[0], lab.a + sign * by[1], lab.b + sign * by[2]};
}

double square(double x) {
  return x * x;
}

// One candidate under study.
class Study {
 public:
  Study(const Optics& optics, const std::vector<std::size_t>& pastes,
        const std::vector<double>& thickness_mm, const Evaluation& found)
      : optics_(optics),
        problem_(optics.problem()),
        pastes_(pastes),
        thickness_mm_(thickness_mm),
        found_(found),
        free_(pastes.size() - (problem_.request->total_held ? 1 : 0)) {
    const double sd = model_sd(problem_, pastes);
    for (std::size_t v = 0; v < problem_.views.size(); ++v) {
      Mat3 rest = add(problem_.target_covariance, scale(problem_.views[v].paste_lab, sd * sd));
      for (std::size_t e = free_; e < found.views[v].errors.size(); ++e) {
        add_outer(rest, found.views[v].errors[e]);
      }
      rest_.push_back(rest);
    }
  }

  // The mean square by moving every layer, and the rest along its axes, one standard deviation both
  // ways, against that of first order.
  [[nodiscard]] bool first_order_holds() const {
    double by_moves = 0;
    double first_order = 0;
    std::vector<std::vector<Lab>> moved;
    for (std::size_t j = 0; j < free_; ++j) {
      for (const double sign : {1.0, -1.0}) {
        std::vector<double> z(free_);
        z[j] = sign;
        moved.push_back(colours(z));
      }
    }
    for (std::size_t v = 0; v < problem_.views.size(); ++v) {
      const View& view = problem_.views[v];
      const ViewValue& value = found_.views[v];
      if (view.weight == 0 && v > 0) continue;
      // The target's own light counts for the 95th percentile whatever its weight.
      const double weight = std::max(view.weight, v == 0 ? 1.0 : 0.0);
      double sum = 0;
      for (const std::vector<Lab>& labs : moved) sum += square(off(view, labs[v]));
      const Mat3 root = lower_root(rest_[v]);
      for (std::size_t axis = 0; axis < 3; ++axis) {
        const Vec3 along{root[0][axis], root[1][axis], root[2][axis]};
        sum += square(off(view, shifted(value.lab, along, 1))) +
               square(off(view, shifted(value.lab, along, -1)));
      }
      const auto pairs = static_cast<double>(free_ + 3);
      by_moves += weight * (sum / 2 - (pairs - 1) * square(value.de00));
      first_order += weight * value.mean_square;
    }
    const double ratio = std::sqrt(std::max(by_moves, 0.0) / std::max(first_order, 1e-12));
    return std::abs(ratio - 1) < first_order_share;
  }

  [[nodiscard]] double first_order_p95() const {
    Mat3 total = rest_.front();
    for (std::size_t j = 0; j < free_; ++j) add_outer(total, found_.views.front().errors[j]);
    const Mat3 root = lower_root(total);
    std::vector<double> sample(colour_draws);
    for (std::size_t i = 0; i < colour_draws; ++i) {
      const Vec3 shift =
          multiply(root, Vec3{normal_draw(i, 0), normal_draw(i, 1), normal_draw(i, 2)});
      sample[i] = off(problem_.views.front(), shifted(found_.views.front().lab, shift, 1));
    }
    return percentile_95(sample);
  }

  [[nodiscard]] Spread by_sampling() const {
    std::vector<Mat3> roots;
    for (const Mat3& rest : rest_) roots.push_back(lower_root(rest));
    std::vector<double> own(stack_draws);
    double mean_square = 0;
    for (std::size_t i = 0; i < stack_draws; ++i) {
      std::vector<double> z(free_);
      for (std::size_t j = 0; j < free_; ++j) z[j] = normal_draw(i, 3 + j);
      const std::vector<Lab> labs = colours(z);
      const Vec3 other{normal_draw(i, 0), normal_draw(i, 1), normal_draw(i, 2)};
      for (std::size_t v = 0; v < labs.size(); ++v) {
        const View& view = problem_.views[v];
        if (view.weight == 0 && v > 0) continue;
        const double de = off(view, shifted(labs[v], multiply(roots[v], other), 1));
        if (v == 0) own[i] = de;
        mean_square += view.weight * de * de / static_cast<double>(stack_draws);
      }
    }
    return {std::sqrt(mean_square), percentile_95(own), true};
  }

 private:
  static void add_outer(Mat3& sum, const Vec3& g) {
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) sum[i][j] += g[i] * g[j];
    }
  }
  static double percentile_95(std::vector<double>& sample) {
    const auto rank = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(sample.size()));
    std::nth_element(sample.begin(), sample.begin() + rank, sample.end());
    return sample[static_cast<std::size_t>(rank)];
  }
  [[nodiscard]] double off(const View& view, const Lab& lab) const {
    return de00(view.target, lab, problem_.request->weights);
  }

  // Under every light, of the stack whose layers err by `z` standard deviations.
  [[nodiscard]] std::vector<Lab> colours(const std::vector<double>& z) const {
    std::vector<double> thickness_mm = thickness_mm_;
    for (std::size_t j = 0; j < free_; ++j) {
      const double error = z[j] * problem_.request->thickness_sd_mm;
      thickness_mm[j] += error;
      if (problem_.request->total_held) thickness_mm.back() -= error;
    }
    for (double& mm : thickness_mm) mm = std::max(mm, thinnest_mm);
    return detail::colours(optics_, pastes_, thickness_mm);
  }

  const Optics& optics_;
  const Problem& problem_;
  const std::vector<std::size_t>& pastes_;
  const std::vector<double>& thickness_mm_;
  const Evaluation& found_;
  std::size_t free_;        // layers that err on their own
  std::vector<Mat3> rest_;  // covariance of all that is no thickness, one a light
};

}  // namespace

Spread spread_of(const Optics& optics, const std::vector<std::size_t>& pastes,
                 const std::vector<double>& thickness_mm, const Evaluation& found) {
  const Study study(optics, pastes, thickness_mm, found);
  if (!study.first_order_holds()) return study.by_sampling();
  return {found.expected, study.first_order_p95(), false};
}

}  // namespace mamelon::detail
