#include <algorithm>
#include <cmath>
#include <limits>
#include <unordered_map>

#include "mamelon/appearance.h"
#include "mamelon/audit.h"

#include "shade/distributions.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon {
namespace {

struct Change {
  const Tab* earlier = nullptr;
  const Tab* now = nullptr;
  Vec3 shift{};
};

bool is_zero(const Mat3& m) {
  return m == Mat3{};
}

struct Test {
  double t_squared = 0;
  double p_value = 1;
};

// Hotelling's T² of a difference whose covariance is the sum of two estimated ones; degrees of
// freedom after Yao 1965: 1/ν = Σ (wᵢ / T²)² / νᵢ, wᵢ the part of T² that covariance i makes up.
Test hotelling(const Vec3& difference, const Mat3& first, double first_dof, const Mat3& second,
               double second_dof) {
  const Mat3 inverse = detail::inverse(add(first, second));
  const Vec3 image = multiply(inverse, difference);
  Test test;
  test.t_squared = detail::quadratic(inverse, difference);
  if (!(test.t_squared > 0)) return test;
  double reciprocal = 0;
  for (const auto& [covariance, dof] : {std::pair{&first, first_dof}, {&second, second_dof}}) {
    const double share = detail::quadratic(*covariance, image) / test.t_squared;
    // A stated covariance (dof 0) counts as known.
    if (dof >= 1) reciprocal += share * share / dof;
  }
  const double dof = reciprocal > 0 ? 1 / reciprocal : std::numeric_limits<double>::infinity();
  if (std::isinf(dof)) {
    test.p_value = 1 - detail::chi_squared_cdf(test.t_squared, 3);
  } else if (dof > 2) {
    test.p_value = 1 - detail::f_cdf(test.t_squared * (dof - 2) / (3 * dof), 3, dof - 2);
  }
  return test;
}

Vec3 mean_shift(const std::vector<Change>& changes, const std::vector<bool>& use) {
  Vec3 sum{};
  double count = 0;
  for (std::size_t i = 0; i < changes.size(); ++i) {
    if (!use[i]) continue;
    for (std::size_t axis = 0; axis < 3; ++axis) sum[axis] += changes[i].shift[axis];
    count += 1;
  }
  for (double& s : sum) s /= count;
  return sum;
}

Vec3 median_shift(const std::vector<Change>& changes) {
  Vec3 median{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    std::vector<double> values;
    values.reserve(changes.size());
    for (const Change& change : changes) values.push_back(change.shift[axis]);
    std::sort(values.begin(), values.end());
    const std::size_t n = values.size();
    median[axis] = (values[(n - 1) / 2] + values[n / 2]) / 2;
  }
  return median;
}

Lab moved(const Lab& lab, const Vec3& by) {
  return {lab.l + by[0], lab.a + by[1], lab.b + by[2]};
}

}  // namespace

Drift drift(const TabSet& earlier, const TabSet& now, const DriftOptions& options) {
  check_tab_set(earlier);
  check_tab_set(now);
  check_same_viewing(now.viewing, earlier.viewing, "the tab set against its earlier calibration");
  if (!(options.false_alarm > 0 && options.false_alarm < 0.5))
    throw ArgumentError("the chance of a false alarm must lie in (0, 0.5)");

  Drift result;
  std::unordered_map<std::string, const Tab*> before;
  for (const Tab& tab : earlier.tabs) before[tab.name] = &tab;
  std::vector<Change> changes;
  for (const Tab& tab : now.tabs) {
    const auto found = before.find(tab.name);
    if (found == before.end()) {
      result.only_now.push_back(tab.name);
      continue;
    }
    const Lab& p = found->second->lab.value;
    const Lab& q = tab.lab.value;
    changes.push_back({found->second, &tab, {q.l - p.l, q.a - p.a, q.b - p.b}});
    before.erase(found);
  }
  for (const Tab& tab : earlier.tabs)
    if (before.contains(tab.name)) result.only_earlier.push_back(tab.name);
  if (changes.empty())
    throw ArgumentError("the two sets have no tab in common: drift compares tabs of equal name");

  const auto testable = [](const Change& change) {
    const auto known = [](const Tab& tab) {
      return !is_zero(tab.lab.random) && (tab.lab.dof >= 4 || tab.lab.dof == 0);
    };
    return known(*change.earlier) && known(*change.now);
  };
  constexpr std::size_t least_for_shift = 4;
  result.common_shift_removed = changes.size() >= least_for_shift;

  // Tabs that drifted would pull the common shift with them, so it is the mean of the others: those
  // that do not stand out from the median at first, then those that do not from the mean.
  std::vector<bool> steady(changes.size(), true);
  std::vector<Test> tests(changes.size());
  Vec3 shift{};
  for (int round = 0; round < 10; ++round) {
    if (result.common_shift_removed)
      shift = round == 0 ? median_shift(changes) : mean_shift(changes, steady);
    std::vector<bool> next(changes.size(), true);
    const auto others = static_cast<double>(std::count(steady.begin(), steady.end(), true));
    for (std::size_t i = 0; i < changes.size(); ++i) {
      const Change& change = changes[i];
      Mat3 first = change.earlier->lab.random;
      Mat3 second = change.now->lab.random;
      Vec3 rest = change.shift;
      if (result.common_shift_removed) {
        for (std::size_t axis = 0; axis < 3; ++axis) rest[axis] -= shift[axis];
        // A tab within the mean takes 1/n of its own error off, one outside adds 1/n of the
        // others'.
        const double factor = steady[i] ? 1 - 1 / others : 1 + 1 / others;
        first = scale(first, factor);
        second = scale(second, factor);
      } else {
        first = add(first, change.earlier->lab.shared);
        second = add(second, change.now->lab.shared);
      }
      tests[i] = testable(change)
                     ? hotelling(rest, first, change.earlier->lab.dof, second, change.now->lab.dof)
                     : Test{};
      next[i] = tests[i].p_value >= options.false_alarm;
    }
    const auto left = std::count(next.begin(), next.end(), true);
    if (round > 0 && (next == steady || left < static_cast<std::ptrdiff_t>(least_for_shift) ||
                      !result.common_shift_removed))
      break;
    if (left >= static_cast<std::ptrdiff_t>(least_for_shift)) steady = next;
  }

  for (std::size_t i = 0; i < changes.size(); ++i) {
    const Change& change = changes[i];
    TabDrift tab;
    tab.tab = change.now->name;
    Vec3 rest = change.shift;
    for (std::size_t axis = 0; axis < 3; ++axis) rest[axis] -= shift[axis];
    tab.difference = {rest[0], rest[1], rest[2]};
    tab.de00 =
        de00(change.earlier->lab.value, moved(change.earlier->lab.value, rest), options.weights);
    tab.t_squared = tests[i].t_squared;
    tab.p_value = tests[i].p_value;
    if (!testable(change))
      tab.verdict = DriftVerdict::not_testable;
    else if (tests[i].p_value >= options.false_alarm)
      tab.verdict = DriftVerdict::steady;
    else
      tab.verdict = tab.de00 > threshold::perceptible_de00 ? DriftVerdict::drifted_visibly
                                                           : DriftVerdict::drifted;
    result.tabs.push_back(std::move(tab));
  }

  if (result.common_shift_removed) {
    Mat3 first{};
    Mat3 second{};
    Vec3 centre{};
    const auto count = static_cast<double>(changes.size());
    double first_dof = std::numeric_limits<double>::infinity();
    double second_dof = first_dof;
    for (const Change& change : changes) {
      first = add(first, scale(change.earlier->lab.random, 1 / (count * count)));
      second = add(second, scale(change.now->lab.random, 1 / (count * count)));
      first_dof = std::min(first_dof, change.earlier->shared_dof);
      second_dof = std::min(second_dof, change.now->shared_dof);
      const Lab& lab = change.earlier->lab.value;
      centre = {centre[0] + lab.l / count, centre[1] + lab.a / count, centre[2] + lab.b / count};
    }
    first = add(first, changes.front().earlier->lab.shared);
    second = add(second, changes.front().now->lab.shared);
    const Lab middle{centre[0], centre[1], centre[2]};
    result.common_shift = {shift[0], shift[1], shift[2]};
    result.common_shift_de00 = de00(middle, moved(middle, shift), options.weights);
    result.common_shift_p_value =
        is_zero(add(first, second))
            ? (result.common_shift_de00 > 0 ? 0 : 1)
            : hotelling(shift, first, first_dof, second, second_dof).p_value;
    if (result.common_shift_p_value < options.false_alarm)
      result.warnings.push_back(
          "the whole set reads otherwise than before: check the instrument's own calibration "
          "before blaming the tabs");
  } else {
    result.warnings.push_back(
        "fewer than 4 tabs in both sets: a shift of the instrument cannot be told from drift");
  }
  return result;
}

}  // namespace mamelon
