#include "shade/variance_analysis.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include <Eigen/Dense>

#include "base/algebra.h"
#include "shade/distributions.h"
#include "shade/nested_levels.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon::detail {
namespace {

using Eigen::Index;
using Eigen::Matrix3d;
using Eigen::MatrixXd;

// The additive model of tabs and some factors: indicator columns, tabs first.
class Design {
 public:
  Design(const StudyRows& rows, std::vector<std::size_t> tab_column, std::size_t tabs,
         std::vector<std::size_t> factors)
      : rows_(rows), tab_column_(std::move(tab_column)), factors_(std::move(factors)) {
    std::size_t column = tabs;
    for (const std::size_t f : factors_) {
      start_.push_back(column);
      column += rows.level_names[f].size();
    }
    columns_ = static_cast<Index>(column);
    rank_ = column - factors_.size();
    MatrixXd normal = MatrixXd::Zero(columns_, columns_);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto at = columns_of(i);
      for (const Index p : at)
        for (const Index q : at) normal(p, q) += 1;
    }
    normal_ = normal;
    // Effects of each factor add up to nothing: the constraint only picks one of the equal fits,
    // and makes the system regular exactly when tabs and factors can be told apart.
    for (std::size_t k = 0; k < factors_.size(); ++k) {
      const auto first = static_cast<Index>(start_[k]);
      const auto size = static_cast<Index>(rows.level_names[factors_[k]].size());
      normal.block(first, first, size, size).array() += 1;
    }
    const Eigen::LDLT<MatrixXd> solver(normal);
    const auto pivots = solver.vectorD();
    connected_ = solver.info() == Eigen::Success &&
                 pivots.minCoeff() > 1e-9 * std::max(1.0, pivots.maxCoeff());
    if (connected_) inverse_ = solver.solve(MatrixXd::Identity(columns_, columns_));
  }

  [[nodiscard]] bool connected() const { return connected_; }
  [[nodiscard]] std::size_t rank() const { return rank_; }
  [[nodiscard]] const MatrixXd& inverse() const { return inverse_; }
  [[nodiscard]] const MatrixXd& normal() const { return normal_; }

  [[nodiscard]] std::vector<Index> columns_of(std::size_t row) const {
    std::vector<Index> at{static_cast<Index>(tab_column_[rows_.tab[row]])};
    for (std::size_t k = 0; k < factors_.size(); ++k)
      at.push_back(static_cast<Index>(start_[k] + rows_.level[factors_[k]][row]));
    return at;
  }

  [[nodiscard]] MatrixXd coefficients(const std::vector<Vec3>& lab) const {
    MatrixXd right = MatrixXd::Zero(columns_, 3);
    for (std::size_t i = 0; i < lab.size(); ++i)
      for (const Index p : columns_of(i))
        for (Index axis = 0; axis < 3; ++axis)
          right(p, axis) += lab[i][static_cast<std::size_t>(axis)];
    return inverse_ * right;
  }

  [[nodiscard]] std::vector<Vec3> residuals(const std::vector<Vec3>& lab) const {
    const MatrixXd beta = coefficients(lab);
    std::vector<Vec3> left = lab;
    for (std::size_t i = 0; i < lab.size(); ++i)
      for (const Index p : columns_of(i))
        for (Index axis = 0; axis < 3; ++axis)
          left[i][static_cast<std::size_t>(axis)] -= beta(p, axis);
    return left;
  }

  // Trace of Zᵀ(1 − P)Z for the indicators Z of any grouping, P the projection on this design.
  [[nodiscard]] double trace_beyond(const std::vector<std::size_t>& group,
                                    std::size_t groups) const {
    MatrixXd cross = MatrixXd::Zero(columns_, static_cast<Index>(groups));
    for (std::size_t i = 0; i < group.size(); ++i)
      for (const Index p : columns_of(i)) cross(p, static_cast<Index>(group[i])) += 1;
    const MatrixXd image = inverse_ * cross;
    return static_cast<double>(group.size()) - cross.cwiseProduct(image).sum();
  }

 private:
  const StudyRows& rows_;
  std::vector<std::size_t> tab_column_;
  std::vector<std::size_t> factors_;
  std::vector<std::size_t> start_;
  Index columns_ = 0;
  std::size_t rank_ = 0;
  MatrixXd normal_;
  MatrixXd inverse_;
  bool connected_ = false;
};

Matrix3d sum_of_squares(const std::vector<Vec3>& residuals) {
  Matrix3d sum = Matrix3d::Zero();
  for (const Vec3& r : residuals) {
    const Eigen::Vector3d v(r[0], r[1], r[2]);
    sum += v * v.transpose();
  }
  return sum;
}

std::size_t levels_in_use(const StudyRows& rows, std::size_t f) {
  std::vector<bool> seen(rows.level_names[f].size(), false);
  for (const std::size_t l : rows.level[f]) seen[l] = true;
  return static_cast<std::size_t>(std::count(seen.begin(), seen.end(), true));
}

// For every level of `inner` the level of `outer` that it lies in; none where one lies in two.
std::vector<std::size_t> holders(const StudyRows& rows, std::size_t inner, std::size_t outer) {
  constexpr std::size_t unseen = std::numeric_limits<std::size_t>::max();
  std::vector<std::size_t> holder(rows.level_names[inner].size(), unseen);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    std::size_t& at = holder[rows.level[inner][i]];
    if (at != unseen && at != rows.level[outer][i]) return {};
    at = rows.level[outer][i];
  }
  return holder;
}

// The part of a factor that explains these squares, on `dof`, beyond the design `others`.
FactorAnalysis between(const StudyRows& rows, std::size_t f, const Design& others, double dof,
                       const Matrix3d& explained, const Mat3& error) {
  FactorAnalysis part;
  part.factor = f;
  part.levels = rows.level_names[f].size();
  part.mean_square = {to_mat3(explained / dof), dof};
  part.k = others.trace_beyond(rows.level[f], part.levels);
  part.pooled = part.mean_square;
  part.excess = add(part.mean_square.matrix, scale(error, -1));
  part.weight_in_new = dof / part.k;
  part.weight_in_mean = part.weight_in_new / static_cast<double>(part.levels);
  part.covariance = scale(part.excess, part.weight_in_new);
  return part;
}

// A factor that was dropped because another one determines it: the coarsest such.
struct Outer {
  std::size_t factor = 0;
  std::vector<std::size_t> holder;  // its level, of every level of the other
};
std::optional<Outer> outer_of(const StudyRows& rows, std::size_t f,
                              const std::vector<std::size_t>& dropped) {
  std::optional<Outer> found;
  std::size_t fewest = rows.level_names[f].size();
  for (const std::size_t d : dropped) {
    if (rows.level_names[d].size() >= fewest) continue;
    std::vector<std::size_t> holder = holders(rows, f, d);
    if (holder.empty()) continue;
    fewest = rows.level_names[d].size();
    found = {d, std::move(holder)};
  }
  return found;
}

// The outer factor whose levels hold those of `inner`: its part, and what both mean for a mean that
// weighs all inner levels alike. `k_inner` is k of the inner part in the outer mean square.
FactorAnalysis holding(FactorAnalysis outer, FactorAnalysis& inner,
                       const std::vector<std::size_t>& holder, double k_inner, const Mat3& repeat) {
  const auto levels = static_cast<double>(inner.levels);
  std::vector<double> held(outer.levels, 0.0);
  for (const std::size_t at : holder) held[at] += 1 / levels;
  double outer_in_mean = 0;  // of the outer covariance, in that of the mean
  for (const double share : held) outer_in_mean += share * share;
  outer.of_nested = scale(inner.covariance, k_inner / outer.mean_square.dof);
  outer.covariance = add(outer.covariance, scale(outer.of_nested, -outer.weight_in_new));
  outer.pooled = pooled_over_coordinates(outer.mean_square, inner.mean_square, repeat);
  outer.excess = add(outer.excess, add(outer.pooled.matrix, scale(outer.mean_square.matrix, -1)));
  outer.weight_in_mean = outer_in_mean * outer.weight_in_new;
  inner.weight_in_mean = inner.weight_in_new * (1 / levels - outer_in_mean * k_inner / outer.k);
  inner.weight_in_new *= 1 - k_inner / outer.k;
  return outer;
}

std::string nested_note(const FactorAnalysis& inner, const FactorAnalysis& outer) {
  const std::string of = factor_names[outer.factor];
  const std::string in = factor_names[inner.factor];
  return "every " + in + " has one " + of + ": what the " + std::to_string(outer.levels) + " " +
         of + "s differ by is taken to be spread over L*, a* and b* much as what the " + in +
         "s differ by; more " + of + "s tell more";
}

}  // namespace

VarianceAnalysis analyse(const StudyRows& all, const Mat3& metric) {
  // Levels and tabs that no row has any more are left out of the design.
  StudyRows rows = all;
  for (std::size_t f = 0; f < factor_count; ++f) {
    std::map<std::size_t, std::size_t> index;
    std::vector<std::string> names;
    for (std::size_t& l : rows.level[f]) {
      const auto [at, fresh] = index.try_emplace(l, names.size());
      if (fresh) names.push_back(all.level_names[f][l]);
      l = at->second;
    }
    rows.level_names[f] = names;
  }
  constexpr std::size_t absent = std::numeric_limits<std::size_t>::max();
  std::vector<std::size_t> tab_column(rows.tab_names.size(), absent);
  std::size_t tabs = 0;
  for (const std::size_t t : rows.tab)
    if (tab_column[t] == absent) tab_column[t] = tabs++;

  // Centring keeps the sums of squares clear of cancellation.
  Vec3 grand{};
  for (const Vec3& lab : rows.lab)
    for (std::size_t axis = 0; axis < 3; ++axis)
      grand[axis] += lab[axis] / static_cast<double>(rows.size());
  for (Vec3& lab : rows.lab)
    for (std::size_t axis = 0; axis < 3; ++axis) lab[axis] -= grand[axis];

  VarianceAnalysis result;
  std::vector<std::size_t> factors;
  for (std::size_t f = 0; f < factor_count; ++f)
    if (levels_in_use(rows, f) > 1) factors.push_back(f);
  // Coarser factors that finer ones determine (each day its own operator) are dropped first.
  std::vector<std::size_t> by_levels = factors;
  std::stable_sort(by_levels.begin(), by_levels.end(), [&](std::size_t p, std::size_t q) {
    return rows.level_names[p].size() < rows.level_names[q].size();
  });
  std::vector<std::size_t> dropped;
  const auto without = [](std::vector<std::size_t> from, std::size_t what) {
    std::erase(from, what);
    return from;
  };
  while (!factors.empty() && !Design(rows, tab_column, tabs, factors).connected()) {
    const auto mends = std::find_if(by_levels.begin(), by_levels.end(), [&](std::size_t f) {
      return Design(rows, tab_column, tabs, without(factors, f)).connected();
    });
    const std::size_t f = mends == by_levels.end() ? by_levels.front() : *mends;
    factors = without(factors, f);
    by_levels = without(by_levels, f);
    dropped.push_back(f);
  }

  const Design design(rows, tab_column, tabs, factors);
  const MatrixXd beta = design.coefficients(rows.lab);
  const MatrixXd spread = design.inverse() * design.normal() * design.inverse();
  result.residuals = design.residuals(rows.lab);
  const Matrix3d error_sum = sum_of_squares(result.residuals);
  const double error_dof = static_cast<double>(rows.size()) - static_cast<double>(design.rank());
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const std::size_t column : tab_column) {
    if (column == absent) {
      result.means.push_back({nan, nan, nan});
      result.mean_factor.push_back(nan);
      continue;
    }
    const auto c = static_cast<Index>(column);
    result.means.push_back({beta(c, 0) + grand[0], beta(c, 1) + grand[1], beta(c, 2) + grand[2]});
    result.mean_factor.push_back(spread(c, c));
  }
  result.error = {error_dof > 0 ? to_mat3(error_sum / error_dof) : Mat3{}, error_dof};
  result.repeat = result.error;

  // Sittings: readings of a tab without anything else changing.
  std::map<std::array<std::size_t, 1 + factor_count>, std::size_t> sitting_index;
  std::vector<std::size_t> sitting;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::array<std::size_t, 1 + factor_count> key{rows.tab[i], rows.level[0][i],
                                                        rows.level[1][i], rows.level[2][i]};
    sitting.push_back(sitting_index.try_emplace(key, sitting_index.size()).first->second);
  }
  const std::size_t sittings = sitting_index.size();
  const double within_dof = static_cast<double>(rows.size() - sittings);
  const double between_dof = static_cast<double>(sittings) - static_cast<double>(design.rank());
  if (within_dof >= 3 && between_dof >= 3) {
    std::vector<Vec3> centre(sittings);
    std::vector<double> size(sittings, 0.0);
    for (std::size_t i = 0; i < rows.size(); ++i) size[sitting[i]] += 1;
    for (std::size_t i = 0; i < rows.size(); ++i)
      for (std::size_t axis = 0; axis < 3; ++axis)
        centre[sitting[i]][axis] += rows.lab[i][axis] / size[sitting[i]];
    std::vector<Vec3> within = rows.lab;
    for (std::size_t i = 0; i < rows.size(); ++i)
      for (std::size_t axis = 0; axis < 3; ++axis) within[i][axis] -= centre[sitting[i]][axis];
    const Matrix3d within_sum = sum_of_squares(within);
    const MeanSquare repeat{to_mat3(within_sum / within_dof), within_dof};
    const MeanSquare between{to_mat3((error_sum - within_sum) / between_dof), between_dof};
    const double shape = effective_axes(metric, repeat.matrix);
    const double ratio = mean_square(metric, between.matrix) / mean_square(metric, repeat.matrix);
    constexpr double shows = 0.01;
    if (ratio > 1 && 1 - f_cdf(ratio, shape * between_dof, shape * within_dof) < shows) {
      result.placement_k = design.trace_beyond(sitting, sittings);
      result.placement =
          scale(add(between.matrix, scale(repeat.matrix, -1)), between_dof / result.placement_k);
      result.placement_square = between;
      result.repeat = repeat;
      result.error = between;
    }
  }

  std::vector<std::size_t> told;  // of the factors dropped: those that hold another's levels
  for (const std::size_t f : factors) {
    const std::vector<std::size_t> rest = without(factors, f);
    const Design others(rows, tab_column, tabs, rest);
    const Matrix3d left = sum_of_squares(others.residuals(rows.lab));
    const double dof = static_cast<double>(design.rank() - others.rank());
    const Mat3& error = result.error.matrix;
    if (const std::optional<Outer> outer = outer_of(rows, f, dropped)) {
      std::vector<std::size_t> with_outer = rest;
      with_outer.push_back(outer->factor);
      const Design by_outer(rows, tab_column, tabs, std::move(with_outer));
      if (by_outer.connected()) {
        const Matrix3d left_by_outer = sum_of_squares(by_outer.residuals(rows.lab));
        const double inner_dof = static_cast<double>(design.rank() - by_outer.rank());
        FactorAnalysis inner =
            between(rows, f, by_outer, inner_dof, left_by_outer - error_sum, error);
        FactorAnalysis holds = holding(
            between(rows, outer->factor, others, dof - inner_dof, left - left_by_outer, error),
            inner, outer->holder, others.trace_beyond(rows.level[f], inner.levels) - inner.k,
            result.repeat.matrix);
        result.notes.push_back(nested_note(inner, holds));
        told.push_back(outer->factor);
        result.factors.push_back(std::move(inner));
        result.factors.push_back(std::move(holds));
        continue;
      }
    }
    result.factors.push_back(between(rows, f, others, dof, left - error_sum, error));
  }
  for (const std::size_t d : dropped) {
    if (std::find(told.begin(), told.end(), d) != told.end()) continue;
    const auto levels = static_cast<double>(rows.level_names[d].size());
    for (FactorAnalysis& part : result.factors) {
      part.note = std::string("includes the part of the ") + factor_names[d];
      if (told.empty())  // the part may be of as few independent errors as the factor has levels
        part.weight_in_mean = std::max(part.weight_in_mean, part.weight_in_new / levels);
    }
    result.notes.push_back(std::string("the effect of the ") + factor_names[d] +
                           " cannot be told from those of tabs and other circumstances: every " +
                           factor_names[d] + " should read every tab, on more than one day");
  }
  return result;
}

}  // namespace mamelon::detail
