#include "shade/gross_errors.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "base/algebra.h"
#include "shade/distributions.h"
#include "shade/spread.h"
#include "shade/tails.h"

namespace mamelon::detail {
namespace {

// A row whose leverage leaves less than this is the only one to tell its tab or level.
constexpr double alone = 1e-7;
// Of all readings, at most this share is taken out.
constexpr double most_gross = 0.2;
// Fewer degrees of freedom than this cannot tell one reading from the rest by themselves.
constexpr double least_dof = 8;
constexpr double dof_of_usual = 3;
// By which power of the ratio of the tails a cut on T² is raised at the most, and the number of
// readings that show half of it.
constexpr double most_raise = 3;
constexpr double half_raise = 30;

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

// T² of which a sound reading stays below the cut with 1 − chance.
double t_squared_cut(double chance, double dof) {
  return 3 * dof / (dof - 2) * f_quantile(1 - chance, 3, dof - 2);
}

double plain(const Vec3& u, const Vec3& v) {
  return u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
}
// The inverse, a direction in which nothing varies held off.
Mat3 held_inverse(const Mat3& sum) {
  const double least = 1e-12 + 1e-9 * (sum[0][0] + sum[1][1] + sum[2][2]);
  return covariance_inverse(add(sum, diagonal({least, least, least})));
}

// The additive fit by weighted least squares, from which rows can be taken out one by one.
class Fit {
 public:
  Fit(const StudyRows& rows, std::vector<double> weights) : weight_(std::move(weights)) {
    size_ = rows.tab_names.size();
    std::array<std::size_t, factor_count> start{};
    std::vector<std::size_t> factors;
    for (std::size_t f = 0; f < factor_count; ++f) {
      if (rows.level_names[f].size() < 2) continue;
      start[f] = size_;
      size_ += rows.level_names[f].size();
      factors.push_back(f);
    }
    inverse_.assign(size_ * size_, 0.0);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      std::vector<std::size_t> at{rows.tab[i]};
      for (const std::size_t f : factors) at.push_back(start[f] + rows.level[f][i]);
      for (const std::size_t p : at)
        for (const std::size_t q : at) inverse_[p * size_ + q] += weight_[i];
      columns_.push_back(std::move(at));
    }
    dof_ = static_cast<double>(rows.size()) - static_cast<double>(invert());

    Vec3 centre{};
    for (const Vec3& lab : rows.lab)
      for (std::size_t k = 0; k < 3; ++k) centre[k] += lab[k] / static_cast<double>(rows.size());
    std::vector<Vec3> right(size_);
    for (std::size_t i = 0; i < rows.size(); ++i)
      for (const std::size_t p : columns_[i])
        for (std::size_t k = 0; k < 3; ++k)
          right[p][k] += weight_[i] * (rows.lab[i][k] - centre[k]);
    std::vector<Vec3> effect(size_);
    for (std::size_t p = 0; p < size_; ++p)
      for (std::size_t q = 0; q < size_; ++q)
        for (std::size_t k = 0; k < 3; ++k) effect[p][k] += inverse_[p * size_ + q] * right[q][k];
    for (std::size_t i = 0; i < rows.size(); ++i) {
      Vec3 r = rows.lab[i];
      double h = 0;
      for (std::size_t k = 0; k < 3; ++k) r[k] -= centre[k];
      for (const std::size_t p : columns_[i]) {
        for (std::size_t k = 0; k < 3; ++k) r[k] -= effect[p][k];
        for (const std::size_t q : columns_[i]) h += inverse_[p * size_ + q];
      }
      residual_.push_back(r);
      leverage_.push_back(weight_[i] * h);
      sum_ = add(sum_, scale(outer_square(r), weight_[i]));
    }
  }

  [[nodiscard]] double dof() const { return dof_; }
  [[nodiscard]] const Vec3& residual(std::size_t row) const { return residual_[row]; }
  [[nodiscard]] double weight_left(std::size_t row) const { return 1 - leverage_[row]; }
  [[nodiscard]] bool determined(std::size_t row) const { return leverage_[row] > 1 - alone; }
  [[nodiscard]] const Mat3& sum() const { return sum_; }
  void add_to_sum(const Mat3& more, double dof) {
    sum_ = add(sum_, more);
    dof_ += dof;
  }

  // T² of the row against all others that are in: the scale is that of the others.
  [[nodiscard]] double t_squared(std::size_t row, const Mat3& inverse_sum) const {
    const Vec3& r = residual_[row];
    const double share =
        weight_[row] * plain(r, multiply(inverse_sum, r)) / std::max(1 - leverage_[row], alone);
    return (dof_ - 1) * share / std::max(1 - share, 1e-14);
  }

  // T² of a row that was taken out, against those that are in.
  [[nodiscard]] double t_squared_outside(std::size_t row, const Mat3& inverse_sum) const {
    const Vec3& r = residual_[row];
    return weight_[row] * dof_ * plain(r, multiply(inverse_sum, r)) / (1 + leverage_[row]);
  }

  void take_out(std::size_t row) {
    std::vector<double> image(size_, 0.0);
    for (const std::size_t p : columns_[row])
      for (std::size_t q = 0; q < size_; ++q) image[q] += inverse_[p * size_ + q];
    const double left = 1 - leverage_[row];
    const Vec3 r = residual_[row];
    const double weight = weight_[row];
    for (std::size_t j = 0; j < residual_.size(); ++j) {
      double cross = 0;
      for (const std::size_t p : columns_[j]) cross += image[p];
      for (std::size_t k = 0; k < 3; ++k) residual_[j][k] += weight * cross / left * r[k];
      leverage_[j] += weight_[j] * weight * cross * cross / left;
    }
    for (std::size_t p = 0; p < size_; ++p)
      for (std::size_t q = 0; q < size_; ++q)
        inverse_[p * size_ + q] += weight / left * image[p] * image[q];
    sum_ = add(sum_, scale(outer_square(r), -weight / left));
    dof_ -= 1;
  }

 private:
  // Turns the normal matrix into a generalised inverse of itself by sweeping (Goodnight 1979, Am
  // Stat 33:149), columns that others determine left out; returns its rank.
  std::size_t invert() {
    std::vector<double>& m = inverse_;
    std::vector<double> scale_of(size_);
    for (std::size_t k = 0; k < size_; ++k) scale_of[k] = m[k * size_ + k];
    std::vector<bool> swept(size_, false);
    std::size_t rank = 0;
    for (std::size_t k = 0; k < size_; ++k) {
      const double pivot = m[k * size_ + k];
      if (!(pivot > 1e-9 * scale_of[k])) continue;
      swept[k] = true;
      ++rank;
      for (std::size_t j = 0; j < size_; ++j) m[k * size_ + j] /= pivot;
      for (std::size_t i = 0; i < size_; ++i) {
        if (i == k) continue;
        const double factor = m[i * size_ + k];
        if (factor == 0) continue;
        for (std::size_t j = 0; j < size_; ++j) m[i * size_ + j] -= factor * m[k * size_ + j];
        m[i * size_ + k] = -factor / pivot;
      }
      m[k * size_ + k] = 1 / pivot;
    }
    for (std::size_t i = 0; i < size_; ++i)
      for (std::size_t j = 0; j < size_; ++j)
        if (!swept[i] || !swept[j]) m[i * size_ + j] = 0;
    return rank;
  }

  std::vector<double> weight_;
  std::vector<std::vector<std::size_t>> columns_;
  std::size_t size_ = 0;
  std::vector<double> inverse_;
  std::vector<Vec3> residual_;
  std::vector<double> leverage_;
  Mat3 sum_{};
  double dof_ = 0;
};

// A tab whose readings all scatter more is not full of gross errors: weights that bring its scatter
// to that of the others. Scatter is about the medians of its residuals: one gross error in six
// moves their mean far enough to make all six look wide.
std::vector<double> weights_of(const StudyRows& rows) {
  constexpr std::size_t least_readings = 8;
  constexpr double clearly_wider = 4;
  const std::vector<double> even(rows.size(), 1.0);
  const Fit fit(rows, even);
  const Mat3 inverse = held_inverse(fit.sum());
  std::vector<std::array<std::vector<double>, 3>> residuals(rows.tab_names.size());
  for (std::size_t i = 0; i < rows.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k) residuals[rows.tab[i]][k].push_back(fit.residual(i)[k]);
  std::vector<Vec3> centre;
  for (const auto& [l, a, b] : residuals) centre.push_back({median(l), median(a), median(b)});
  std::vector<std::vector<double>> of_tab(rows.tab_names.size());
  std::vector<double> all;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    Vec3 off = fit.residual(i);
    for (std::size_t k = 0; k < 3; ++k) off[k] -= centre[rows.tab[i]][k];
    all.push_back(plain(off, multiply(inverse, off)));
    of_tab[rows.tab[i]].push_back(all.back());
  }
  const double usual = median(all);
  std::vector<double> weight = even;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto& own = of_tab[rows.tab[i]];
    if (own.size() < least_readings) continue;
    const double ratio = median(own) / usual;
    if (ratio > clearly_wider) weight[i] = 1 / ratio;
  }
  return weight;
}

struct Step {
  std::size_t row = 0;
  double t_squared = 0;
  double cut = 0;
  double tails = 1;  // see tail_ratio
  double dof = 0;
};

// Whether all of `rows` agree with one another as sound repeats do.
bool agree(const StudyRows& all, const std::vector<std::size_t>& rows, const Mat3& inverse,
           double cut) {
  for (const std::size_t i : rows)
    for (const std::size_t j : rows) {
      const Vec3 apart{all.lab[i][0] - all.lab[j][0], all.lab[i][1] - all.lab[j][1],
                       all.lab[i][2] - all.lab[j][2]};
      if (plain(apart, multiply(inverse, apart)) / 2 > cut) return false;
    }
  return true;
}

}  // namespace

GrossErrors find_gross_errors(const StudyRows& rows, double chance, const Vec3& usual_sd) {
  const std::size_t count = rows.size();
  GrossErrors found;
  found.distance.assign(count, 0.0);
  found.gross.assign(count, false);
  found.chance_gross.assign(count, 0.0);
  found.keep.assign(count, true);
  const std::vector<double> weight = weights_of(rows);
  const auto prepared = [&] {
    Fit fit(rows, weight);
    if (fit.dof() >= 1 && fit.dof() < least_dof) {
      const Mat3 usual = diagonal(
          {usual_sd[0] * usual_sd[0], usual_sd[1] * usual_sd[1], usual_sd[2] * usual_sd[2]});
      fit.add_to_sum(scale(usual, dof_of_usual), dof_of_usual);
    }
    return fit;
  };

  Fit fit = prepared();
  std::vector<bool> in(count, true);
  std::vector<Step> steps;
  const auto most = static_cast<std::size_t>(std::ceil(most_gross * static_cast<double>(count)));
  while (steps.size() < most && fit.dof() >= 4) {
    const Mat3 inverse = held_inverse(fit.sum());
    Step step;
    std::vector<double> others;
    bool any = false;
    for (std::size_t i = 0; i < count; ++i) {
      if (!in[i] || fit.determined(i)) continue;
      const double squared = fit.t_squared(i, inverse);
      if (steps.empty()) found.distance[i] = std::sqrt(squared);
      others.push_back(squared);
      if (any && squared <= step.t_squared) continue;
      any = true;
      step.row = i;
      step.t_squared = squared;
    }
    if (!any) break;
    std::erase(others, step.t_squared);
    step.dof = fit.dof() - 1;
    // The ratio of a few readings is mostly chance: it counts the less the fewer there are.
    const auto seen = static_cast<double>(others.size());
    step.tails = tail_ratio(std::move(others), step.dof);
    step.cut = t_squared_cut(chance, step.dof) *
               std::pow(step.tails, most_raise * seen / (seen + half_raise));
    steps.push_back(step);
    in[step.row] = false;
    fit.take_out(step.row);
  }
  std::size_t gross = steps.size();
  while (gross > 0 && steps[gross - 1].t_squared <= steps[gross - 1].cut) --gross;

  fit = prepared();
  std::vector<std::vector<std::size_t>> kept_of(rows.tab_names.size());
  std::vector<std::vector<std::size_t>> gross_of(rows.tab_names.size());
  for (std::size_t k = 0; k < gross; ++k) {
    found.keep[steps[k].row] = false;
    fit.take_out(steps[k].row);
  }
  for (std::size_t i = 0; i < count; ++i)
    (found.keep[i] ? kept_of : gross_of)[rows.tab[i]].push_back(i);
  for (std::size_t i = 0; i < count; ++i)
    found.expected.push_back({rows.lab[i][0] - fit.residual(i)[0],
                              rows.lab[i][1] - fit.residual(i)[1],
                              rows.lab[i][2] - fit.residual(i)[2]});
  if (steps.empty()) return found;

  const Step& last = steps[std::min(gross, steps.size() - 1)];
  found.cut = std::sqrt(last.cut);
  const Mat3 sum_inverse = held_inverse(fit.sum());
  const Mat3 inverse = scale(sum_inverse, fit.dof());
  std::vector<Off> all(count);
  for (std::size_t i = 0; i < count; ++i) {
    if (!found.keep[i] || fit.determined(i)) continue;
    const Vec3& r = fit.residual(i);
    all[i].weight = fit.weight_left(i);
    all[i].inside = weight[i] * plain(r, multiply(inverse, r)) / all[i].weight;
    all[i].outside = fit.t_squared(i, sum_inverse);
  }
  for (std::size_t k = 0; k < gross; ++k) {
    const std::size_t i = steps[k].row;
    // When it was taken out, the scale still held those taken out after it.
    const double squared = fit.t_squared_outside(i, sum_inverse);
    found.distance[i] = std::sqrt(squared);
    found.gross[i] = true;
    all[i] = {1, std::min(squared, 2 * last.cut), squared};
  }
  Doubts doubts = doubts_of(all, fit.dof());
  found.chance_gross = std::move(doubts.chance_gross);
  found.variance_ratio = doubts.variance_ratio;
  for (std::size_t t = 0; t < rows.tab_names.size(); ++t) {
    if (gross_of[t].empty()) continue;
    const bool halves =
        gross_of[t].size() >= kept_of[t].size() && agree(rows, gross_of[t], inverse, last.cut);
    if (kept_of[t].size() >= 2 && !halves) continue;
    GrossErrors::Torn torn{t, {}};
    for (std::size_t i = 0; i < count; ++i) {
      if (rows.tab[i] != t) continue;
      torn.rows.push_back(i);
      found.gross[i] = false;
      found.keep[i] = i == kept_of[t].front();
    }
    found.torn.push_back(std::move(torn));
  }
  return found;
}

}  // namespace mamelon::detail
