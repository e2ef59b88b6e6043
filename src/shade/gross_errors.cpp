#include "shade/gross_errors.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>

#include "shade/distributions.h"

namespace mamelon::detail {
namespace {

double median(std::vector<double>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

// Takes the median of each group's residuals off them.
void sweep(std::vector<Vec3>& residual, const std::vector<std::size_t>& group, std::size_t groups) {
  std::vector<std::vector<std::size_t>> members(groups);
  for (std::size_t i = 0; i < group.size(); ++i) members[group[i]].push_back(i);
  std::vector<double> values;
  for (const auto& rows : members) {
    if (rows.empty()) continue;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      values.clear();
      for (const std::size_t i : rows) values.push_back(residual[i][axis]);
      const double centre = median(values);
      for (const std::size_t i : rows) residual[i][axis] -= centre;
    }
  }
}

Eigen::Matrix3d robust_scatter(const std::vector<Eigen::Vector3d>& residual) {
  constexpr double nearer = 0.9;
  const double cut = chi_squared_quantile(nearer, 3);
  // Share of the covariance of a normal distribution that its part within `cut` has.
  const double shrunk = chi_squared_cdf(cut, 5) / nearer;
  Eigen::Matrix3d scatter = Eigen::Matrix3d::Zero();
  for (Eigen::Index axis = 0; axis < 3; ++axis) {
    std::vector<double> size;
    size.reserve(residual.size());
    for (const auto& r : residual) size.push_back(std::fabs(r[axis]));
    const double sd = 1.4826 * median(size);
    scatter(axis, axis) = sd * sd;
  }
  for (int round = 0; round < 20; ++round) {
    // A direction in which nothing varies would have no distance.
    scatter.diagonal().array() += 1e-12 + 1e-9 * scatter.trace();
    const Eigen::Matrix3d inverse = scatter.inverse();
    Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
    std::size_t count = 0;
    for (const auto& r : residual) {
      if (r.dot(inverse * r) > cut) continue;
      sum += r * r.transpose();
      ++count;
    }
    const Eigen::Matrix3d next =
        sum / (shrunk * static_cast<double>(std::max<std::size_t>(count, 1)));
    const double change = (next - scatter).norm();
    scatter = next;
    if (change <= 1e-9 * scatter.norm()) break;
  }
  scatter.diagonal().array() += 1e-12;
  return scatter;
}

}  // namespace

GrossErrors find_gross_errors(const StudyRows& rows, double chance) {
  const std::size_t count = rows.size();
  const std::size_t tabs = rows.tab_names.size();
  std::vector<Vec3> residual = rows.lab;
  std::size_t parameters = tabs;
  for (int round = 0; round < 10; ++round) {
    sweep(residual, rows.tab, tabs);
    for (std::size_t f = 0; f < factor_count; ++f)
      if (rows.level_names[f].size() > 1)
        sweep(residual, rows.level[f], rows.level_names[f].size());
  }
  sweep(residual, rows.tab, tabs);
  for (const auto& names : rows.level_names) parameters += names.size() - 1;

  GrossErrors found;
  found.distance.assign(count, 0.0);
  found.gross.assign(count, false);
  found.expected.resize(count);
  for (std::size_t i = 0; i < count; ++i)
    for (std::size_t axis = 0; axis < 3; ++axis)
      found.expected[i][axis] = rows.lab[i][axis] - residual[i][axis];
  constexpr std::size_t least_dof = 6;
  if (count < parameters + least_dof) return found;

  std::vector<std::size_t> of_tab(tabs);
  for (const std::size_t t : rows.tab) ++of_tab[t];
  // The median of n readings takes part of their scatter with it, as a mean would.
  std::vector<Eigen::Vector3d> standard;
  for (std::size_t i = 0; i < count; ++i) {
    const auto n = static_cast<double>(of_tab[rows.tab[i]]);
    if (n < 2) continue;
    const double scale = std::sqrt(n / (n - 1));
    standard.emplace_back(scale * residual[i][0], scale * residual[i][1], scale * residual[i][2]);
  }
  const Eigen::Matrix3d inverse = robust_scatter(standard).inverse();
  std::size_t next = 0;
  std::vector<std::vector<double>> squared_of_tab(tabs);
  for (std::size_t i = 0; i < count; ++i) {
    if (of_tab[rows.tab[i]] < 2) continue;
    const Eigen::Vector3d& r = standard[next++];
    found.distance[i] = std::sqrt(r.dot(inverse * r));
    squared_of_tab[rows.tab[i]].push_back(found.distance[i] * found.distance[i]);
  }
  // A tab whose readings all scatter more is not full of gross errors.
  constexpr std::size_t least_readings = 6;
  constexpr double clearly_wider = 2.5;
  const double usual = chi_squared_quantile(0.5, 3);
  std::vector<double> widening(tabs, 1.0);
  for (std::size_t t = 0; t < tabs; ++t) {
    if (squared_of_tab[t].size() < least_readings) continue;
    const double ratio = median(squared_of_tab[t]) / usual;
    if (ratio > clearly_wider) widening[t] = std::sqrt(ratio);
  }
  const auto dof = static_cast<double>(count - parameters);
  found.cut = std::sqrt(3 * dof / (dof - 2) * f_quantile(1 - chance, 3, dof - 2));
  std::vector<std::size_t> gross_of_tab(tabs);
  for (std::size_t i = 0; i < count; ++i) {
    found.distance[i] /= widening[rows.tab[i]];
    if (found.distance[i] <= found.cut) continue;
    found.gross[i] = true;
    ++gross_of_tab[rows.tab[i]];
  }
  for (std::size_t t = 0; t < tabs; ++t)
    if (2 * gross_of_tab[t] >= of_tab[t] && gross_of_tab[t] > 0) found.torn_tabs.push_back(t);
  for (std::size_t i = 0; i < count; ++i)
    if (2 * gross_of_tab[rows.tab[i]] >= of_tab[rows.tab[i]]) found.gross[i] = false;
  return found;
}

}  // namespace mamelon::detail
