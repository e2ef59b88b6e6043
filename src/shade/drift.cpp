#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <unordered_map>

#include "mamelon/appearance.h"
#include "mamelon/audit.h"

#include "base/algebra.h"
#include "shade/distributions.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon {
namespace {

using detail::minus;

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
  const Mat3 inverse = detail::covariance_inverse(add(first, second));
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

Lab moved(const Lab& lab, const Vec3& by) {
  return {lab.l + by[0], lab.a + by[1], lab.b + by[2]};
}

bool testable(const Change& change) {
  const auto known = [](const Tab& tab) {
    return !is_zero(tab.lab.random) && (tab.lab.dof >= 4 || tab.lab.dof == 0);
  };
  return known(*change.earlier) && known(*change.now);
}

// The mean shift of some changes, with the random covariance of it on either side.
struct MeanShift {
  Vec3 shift{};
  Mat3 earlier{};
  Mat3 now{};
  double count = 0;
};

MeanShift mean_shift(const std::vector<Change>& changes, const std::vector<bool>& use) {
  MeanShift mean;
  for (std::size_t i = 0; i < changes.size(); ++i) {
    if (!use[i]) continue;
    for (std::size_t axis = 0; axis < 3; ++axis) mean.shift[axis] += changes[i].shift[axis];
    mean.earlier = add(mean.earlier, changes[i].earlier->lab.random);
    mean.now = add(mean.now, changes[i].now->lab.random);
    mean.count += 1;
  }
  if (mean.count == 0) return mean;
  for (double& s : mean.shift) s /= mean.count;
  mean.earlier = scale(mean.earlier, 1 / (mean.count * mean.count));
  mean.now = scale(mean.now, 1 / (mean.count * mean.count));
  return mean;
}

// Pairs the tabs of equal name into `changes`; returns the witnesses among them.
std::vector<Change> paired(const TabSet& earlier, const TabSet& now, const DriftOptions& options,
                           std::vector<Change>& changes, Drift& result) {
  std::unordered_map<std::string, const Tab*> before;
  for (const Tab& tab : earlier.tabs) before[tab.name] = &tab;
  std::vector<Change> witnesses;
  const auto is_witness = [&](const std::string& name) {
    return std::find(options.witnesses.begin(), options.witnesses.end(), name) !=
           options.witnesses.end();
  };
  for (const Tab& tab : now.tabs) {
    const auto found = before.find(tab.name);
    if (found == before.end()) {
      result.only_now.push_back(tab.name);
      continue;
    }
    const Lab& p = found->second->lab.value;
    const Lab& q = tab.lab.value;
    (is_witness(tab.name) ? witnesses : changes)
        .push_back({found->second, &tab, {q.l - p.l, q.a - p.a, q.b - p.b}});
    before.erase(found);
  }
  for (const Tab& tab : earlier.tabs)
    if (before.contains(tab.name)) result.only_earlier.push_back(tab.name);
  for (const std::string& name : options.witnesses)
    if (std::none_of(witnesses.begin(), witnesses.end(),
                     [&](const Change& change) { return change.now->name == name; }))
      throw ArgumentError("the witness '" + name + "' must stand in both sets");
  if (changes.empty())
    throw ArgumentError("the two sets have no tab in common: drift compares tabs of equal name");
  return witnesses;
}

Test test_of(const std::vector<Change>& changes, std::size_t i, std::vector<bool> others,
             bool shift_removed, Vec3& rest) {
  const Change& change = changes[i];
  rest = change.shift;
  Mat3 first = change.earlier->lab.random;
  Mat3 second = change.now->lab.random;
  if (shift_removed) {
    others[i] = false;
    const MeanShift mean = mean_shift(changes, others);
    rest = minus(rest, mean.shift);
    first = add(first, mean.earlier);
    second = add(second, mean.now);
  } else {
    first = add(first, change.earlier->lab.shared);
    second = add(second, change.now->lab.shared);
  }
  if (!testable(change)) return {};
  return hotelling(rest, first, change.earlier->lab.dof, second, change.now->lab.dof);
}

// Holm's steps: the clearest change first, against the mean of the tabs that are left. Returns
// which are steady.
std::vector<bool> test_tabs(const std::vector<Change>& changes, const DriftOptions& options,
                            Drift& result) {
  std::vector<bool> steady(changes.size(), true);
  std::vector<Test> tests(changes.size());
  std::vector<Vec3> rest(changes.size());
  const auto tested =
      std::count_if(changes.begin(), changes.end(), [](const Change& c) { return testable(c); });
  for (std::ptrdiff_t accused = 0; accused < tested; ++accused) {
    std::size_t clearest = changes.size();
    for (std::size_t i = 0; i < changes.size(); ++i) {
      if (!steady[i]) continue;
      tests[i] = test_of(changes, i, steady, result.common_shift_removed, rest[i]);
      if (testable(changes[i]) &&
          (clearest == changes.size() || tests[i].p_value < tests[clearest].p_value ||
           (tests[i].p_value == tests[clearest].p_value &&
            tests[i].t_squared > tests[clearest].t_squared)))
        clearest = i;
    }
    const auto left = std::count(steady.begin(), steady.end(), true);
    if (clearest == changes.size() || (result.common_shift_removed && left < 3) ||
        tests[clearest].p_value > options.false_alarm / static_cast<double>(tested - accused))
      break;
    steady[clearest] = false;
  }
  for (std::size_t i = 0; i < changes.size(); ++i) {
    tests[i] = test_of(changes, i, steady, result.common_shift_removed, rest[i]);
    const Change& change = changes[i];
    TabDrift tab;
    tab.tab = change.now->name;
    tab.difference = {rest[i][0], rest[i][1], rest[i][2]};
    tab.de00 =
        de00(change.earlier->lab.value, moved(change.earlier->lab.value, rest[i]), options.weights);
    tab.t_squared = tests[i].t_squared;
    tab.p_value = tests[i].p_value;
    if (!testable(change))
      tab.verdict = DriftVerdict::not_testable;
    else if (steady[i])
      tab.verdict = DriftVerdict::steady;
    else
      tab.verdict = tab.de00 > threshold::perceptible_de00 ? DriftVerdict::drifted_visibly
                                                           : DriftVerdict::drifted;
    result.tabs.push_back(std::move(tab));
  }
  return steady;
}

// What one set adds to the covariance of a mean shift; degrees of freedom of one coordinate.
struct SetPart {
  Mat3 covariance{};
  double dof = std::numeric_limits<double>::infinity();
};

SetPart of_repeats(const std::vector<Change>& changes, const Tab* Change::*set,
                   const Mat3& random) {
  SetPart part{.covariance = random};
  for (const Change& change : changes)
    if ((change.*set)->lab.dof >= 1) part.dof = std::min(part.dof, (change.*set)->lab.dof);
  return part;
}

SetPart with_shared(const std::vector<Change>& changes, const Tab* Change::*set, const Mat3& metric,
                    const Mat3& random) {
  const Mat3& shared = (changes.front().*set)->lab.shared;
  SetPart part{.covariance = add(random, shared)};
  // What the days' mean square tells holds the repeats' share: the two are one estimate.
  for (const Change& change : changes) part.dof = std::min(part.dof, (change.*set)->shared_dof);
  if (std::isinf(part.dof)) {  // the shared covariance is none, or known
    const std::vector<std::pair<double, double>> parts{
        {detail::mean_square(metric, random), of_repeats(changes, set, random).dof},
        {detail::mean_square(metric, shared), 0}};
    part.dof = detail::satterthwaite_dof(parts);
  }
  return part;
}

// The chance of a shift as clear as this in any of L*, a* and b* where there is none. Whether the
// three variances were estimated apart or drawn to one size (see nested_levels.h) a set does not
// say: Šidák's bound holds for both, and for shifts that go together.
double chance_of_shift(const Vec3& shift, const Mat3& metric, const SetPart& earlier,
                       const SetPart& now) {
  const double dof =
      detail::difference_dof({detail::mean_square(metric, earlier.covariance), earlier.dof},
                             {detail::mean_square(metric, now.covariance), now.dof});
  double least = 1;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const double variance = earlier.covariance[axis][axis] + now.covariance[axis][axis];
    const double square = shift[axis] * shift[axis];
    if (variance > 0)
      least = std::min(least, 1 - detail::f_cdf(square / variance, 1, dof));
    else if (square > 0)
      least = 0;
  }
  return -std::expm1(3 * std::log1p(-least));
}

void test_common_shift(const std::vector<Change>& changes, const std::vector<bool>& steady,
                       const std::vector<Change>& witnesses, const DriftOptions& options,
                       Drift& result) {
  const MeanShift tabs = mean_shift(changes, steady);
  Vec3 centre{};
  for (const Change& change : changes) {
    const auto count = static_cast<double>(changes.size());
    const Lab& lab = change.earlier->lab.value;
    centre = {centre[0] + lab.l / count, centre[1] + lab.a / count, centre[2] + lab.b / count};
  }
  const Lab middle{centre[0], centre[1], centre[2]};
  const Mat3 metric = detail::local_metric(middle, options.weights);
  if (!witnesses.empty()) {
    const MeanShift seen = mean_shift(witnesses, std::vector<bool>(witnesses.size(), true));
    const Vec3 apart = minus(tabs.shift, seen.shift);
    result.witness_shift = {seen.shift[0], seen.shift[1], seen.shift[2]};
    result.set_shift = {apart[0], apart[1], apart[2]};
    result.set_shift_de00 = de00(middle, moved(middle, apart), options.weights);
    result.set_shift_p_value = chance_of_shift(
        apart, metric, of_repeats(witnesses, &Change::earlier, add(tabs.earlier, seen.earlier)),
        of_repeats(witnesses, &Change::now, add(tabs.now, seen.now)));
    result.set_verdict =
        result.set_shift_p_value < options.false_alarm ? SetVerdict::changed : SetVerdict::steady;
    result.note = "the witness tells the instrument from the set: its own shift is taken off";
    if (result.set_verdict == SetVerdict::changed)
      result.warnings.push_back(
          "the set as a whole has changed against the witness: its tabs have faded or stained "
          "together");
  } else {
    result.note =
        "no witness (a check tile or another specimen that keeps its colour) was read with the "
        "tabs: a change of the instrument cannot be told from one of the whole set";
  }
  if (!result.common_shift_removed) {
    result.warnings.push_back(
        "fewer than 4 tabs in both sets: a shift of the instrument cannot be told from drift");
    return;
  }
  result.common_shift = {tabs.shift[0], tabs.shift[1], tabs.shift[2]};
  result.common_shift_de00 = de00(middle, moved(middle, tabs.shift), options.weights);
  result.common_shift_p_value = chance_of_shift(
      tabs.shift, metric, with_shared(changes, &Change::earlier, metric, tabs.earlier),
      with_shared(changes, &Change::now, metric, tabs.now));
  if (result.common_shift_p_value < options.false_alarm && witnesses.empty())
    result.warnings.push_back(
        "the whole set reads otherwise than before; without a witness read both times it cannot "
        "be told whether the instrument changed or the tabs did together: check the instrument's "
        "calibration and read a check tile");
}

}  // namespace

Drift drift(const TabSet& earlier, const TabSet& now, const DriftOptions& options) {
  check_tab_set(earlier);
  check_tab_set(now);
  check_same_viewing(now.viewing, earlier.viewing, "the tab set against its earlier calibration");
  if (!(options.false_alarm > 0 && options.false_alarm < 0.5))
    throw ArgumentError("the chance of a false alarm must lie in (0, 0.5)");

  Drift result;
  std::vector<Change> changes;
  const std::vector<Change> witnesses = paired(earlier, now, options, changes, result);
  constexpr std::size_t least_for_shift = 4;
  result.common_shift_removed = changes.size() >= least_for_shift;
  const std::vector<bool> steady = test_tabs(changes, options, result);
  test_common_shift(changes, steady, witnesses, options, result);
  return result;
}

}  // namespace mamelon
