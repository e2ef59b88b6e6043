// How far a filling's colour may come out from its target.

#include <algorithm>
#include <array>
#include <cmath>

#include "base/low_discrepancy.h"
#include "colour/vectors.h"
#include "plan/objective.h"
#include "shade/distributions.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t draw_count = 1024;
// A curve through one standard deviation of a thickness holds where at two it misses the engine by
// less than this share of the standard deviation of the whole.
constexpr double curve_share = 0.15;
constexpr double thinnest_mm = 0.02;

// Standard normal numbers: three for all of a colour's errors that are none of thickness, and one a
// layer. Radical inverses (van der Corput) in primes make Halton's sequence (Halton 1960).
using Draw = std::array<double, 6>;

const std::vector<Draw>& normal_draws() {
  static const std::vector<Draw> draws = [] {
    constexpr std::array<std::size_t, 6> bases{2, 3, 5, 7, 11, 13};
    std::vector<Draw> made(draw_count);
    for (std::size_t i = 0; i < draw_count; ++i) {
      for (std::size_t dimension = 0; dimension < bases.size(); ++dimension) {
        made[i][dimension] = normal_quantile(radical_inverse(i + 1, bases[dimension]));
      }
    }
    return made;
  }();
  return draws;
}

// One stack under study. `z` are errors of the thicknesses in standard deviations.
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
        const Vec3& g = found.views[v].errors[e];
        for (std::size_t i = 0; i < 3; ++i) {
          for (std::size_t k = 0; k < 3; ++k) rest[i][k] += g[i] * g[k];
        }
      }
      rest_.push_back(lower_root(rest));
    }
    for (std::size_t j = 0; j < free_; ++j) {
      const std::vector<Lab> up = by_engine(alone(j, 1));
      const std::vector<Lab> down = by_engine(alone(j, -1));
      for (std::size_t v = 0; v < up.size(); ++v) {
        curves_.push_back(
            {(to_eigen(up[v]) - to_eigen(down[v])) / 2,
             (to_eigen(up[v]) + to_eigen(down[v])) / 2 - to_eigen(found.views[v].lab)});
      }
    }
  }

  [[nodiscard]] bool curves_hold() const {
    const View& own = problem_.views.front();
    const ViewValue& value = found_.views.front();
    const double sd = std::sqrt(value.spread_ms);
    for (std::size_t j = 0; j < free_; ++j) {
      for (const double z : {2.0, -2.0}) {
        const Vec3 miss = minus(by_engine(alone(j, z)).front(), by_curves(alone(j, z)).front());
        if (length(own.metric, miss) > curve_share * sd) return false;
      }
    }
    return true;
  }

  [[nodiscard]] Spread by_drawing(bool curves) const {
    std::vector<double> own;
    double mean_square = 0;
    std::vector<double> z(free_);
    for (const Draw& draw : normal_draws()) {
      std::copy_n(draw.begin() + 3, free_, z.begin());
      const std::vector<Lab> labs = curves ? by_curves(z) : by_engine(z);
      for (std::size_t v = 0; v < labs.size(); ++v) {
        const View& view = problem_.views[v];
        if (view.weight == 0 && v > 0) continue;
        const Vec3 other = multiply(rest_[v], Vec3{draw[0], draw[1], draw[2]});
        const Lab lab{labs[v].l + other[0], labs[v].a + other[1], labs[v].b + other[2]};
        const double de = de00(view.target, lab, problem_.request->weights);
        if (v == 0) own.push_back(de);
        mean_square += view.weight * de * de / static_cast<double>(draw_count);
      }
    }
    const auto rank = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(draw_count));
    std::nth_element(own.begin(), own.begin() + rank, own.end());
    return {std::sqrt(mean_square), own[static_cast<std::size_t>(rank)], !curves};
  }

 private:
  // How a colour goes with one thickness: by `slope` z + `bend` z².
  struct Curve {
    Eigen::Vector3d slope, bend;
  };

  [[nodiscard]] std::vector<double> alone(std::size_t layer, double z) const {
    std::vector<double> all(free_);
    all[layer] = z;
    return all;
  }

  [[nodiscard]] std::vector<Lab> by_curves(const std::vector<double>& z) const {
    std::vector<Lab> labs;
    const std::size_t views = problem_.views.size();
    for (std::size_t v = 0; v < views; ++v) {
      Eigen::Vector3d at = to_eigen(found_.views[v].lab);
      for (std::size_t j = 0; j < free_; ++j) {
        at += z[j] * curves_[j * views + v].slope;
        at += z[j] * z[j] * curves_[j * views + v].bend;
      }
      labs.push_back({at[0], at[1], at[2]});
    }
    return labs;
  }

  [[nodiscard]] std::vector<Lab> by_engine(const std::vector<double>& z) const {
    std::vector<double> thickness_mm = thickness_mm_;
    for (std::size_t j = 0; j < free_; ++j) {
      const double error = z[j] * problem_.request->thickness_sd_mm;
      thickness_mm[j] += error;
      if (problem_.request->total_held) thickness_mm.back() -= error;
    }
    for (double& mm : thickness_mm) mm = std::max(mm, thinnest_mm);
    return colours(optics_, pastes_, thickness_mm);
  }

  const Optics& optics_;
  const Problem& problem_;
  const std::vector<std::size_t>& pastes_;
  const std::vector<double>& thickness_mm_;
  const Evaluation& found_;
  std::size_t free_;           // layers that err on their own
  std::vector<Mat3> rest_;     // root of the covariance of all that is no thickness, one a light
  std::vector<Curve> curves_;  // [layer][light]
};

}  // namespace

Spread spread_of(const Optics& optics, const std::vector<std::size_t>& pastes,
                 const std::vector<double>& thickness_mm, const Evaluation& found) {
  const Study study(optics, pastes, thickness_mm, found);
  return study.by_drawing(study.curves_hold());
}

}  // namespace mamelon::detail
