#include <array>
#include <cmath>
#include <fstream>
#include <random>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/audit.h"

#include "base/algebra.h"
#include "base/numbers.h"
#include "shade_helpers.h"

namespace mamelon {
namespace {

using test::eight_tabs;
using test::tab;
using testing::ElementsAre;
using testing::IsEmpty;

const Mat3 small = diagonal({0.002, 0.001, 0.002});

// One-sample T² and its p-value by statsmodels (test_mvmean, through
// tests/python/reference_shade/variance.py): the earlier colour is as good as known.
TEST(Drift, AgreesWithStatsmodels) {
  std::ifstream file(std::string(MAMELON_TEST_DATA_DIR) + "/shade/hotelling.csv");
  ASSERT_TRUE(file);
  std::string line;
  std::getline(file, line);
  int rows = 0;
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::vector<double> v;
    for (std::string cell; std::getline(cells, cell, ',');)
      v.push_back(detail::parse_number(cell).value());
    TabSet earlier = eight_tabs();
    TabSet now = eight_tabs();
    earlier.tabs = {tab("one", {70, 1, 17}, diagonal({1e-14, 1e-14, 1e-14}))};
    now.tabs = {tab("one", {70 + v[1], 1 + v[2], 17 + v[3]},
                    {{{v[4], v[5], v[6]}, {v[5], v[7], v[8]}, {v[6], v[8], v[9]}}})};
    now.tabs[0].lab.dof = v[0] - 1;
    const Drift result = drift(earlier, now);
    EXPECT_NEAR(result.tabs[0].t_squared, v[10], 1e-6 * v[10]);
    EXPECT_NEAR(result.tabs[0].p_value, v[11], 1e-6 * v[11] + 1e-14);
    ++rows;
  }
  EXPECT_EQ(rows, 4);
}

TEST(Drift, TellsTheTabThatMovedFromTheInstrumentThatDid) {
  const TabSet earlier = eight_tabs(small, diagonal({0.02, 0.01, 0.02}));
  TabSet now = earlier;
  for (Tab& t : now.tabs) t.lab.value.l += 0.3;
  now.tabs[2].lab.value.b += 3;
  const Drift result = drift(earlier, now);
  EXPECT_TRUE(result.common_shift_removed);
  EXPECT_NEAR(result.common_shift.l, 0.3, 1e-9);
  EXPECT_NEAR(result.common_shift.b, 0, 1e-9);  // the tab that moved does not pull it
  for (std::size_t t = 0; t < 8; ++t)
    EXPECT_EQ(result.tabs[t].verdict, t == 2 ? DriftVerdict::drifted_visibly : DriftVerdict::steady)
        << t;
  EXPECT_NEAR(result.tabs[2].difference.b, 3, 1e-9);
}

TEST(Drift, SaysWhenTheWholeSetMoved) {
  const TabSet earlier = eight_tabs(small, diagonal({0.01, 0.01, 0.01}));
  TabSet now = earlier;
  for (Tab& t : now.tabs) t.lab.value.l += 1.5;
  const Drift result = drift(earlier, now);
  EXPECT_LT(result.common_shift_p_value, 1e-6);
  EXPECT_EQ(result.warnings.size(), 1U);
  for (const TabDrift& t : result.tabs) EXPECT_EQ(t.verdict, DriftVerdict::steady);
}

// p of L* alone by scipy.stats.ttest_ind_from_stats(0, sqrt(3·0.04), 3, 1, sqrt(3·0.04), 3), where
// three days tell of either set, and 2·scipy.stats.t.sf(1 / sqrt(0.04), 2), where the covariance of
// one is known to be none; held to three coordinates by Šidák 1967: 1 − (1 − p)³.
TEST(Drift, ACommonShiftIsHeldAgainstTheDaysOfBothSets) {
  const Mat3 tiny = diagonal({1e-14, 1e-14, 1e-14});
  TabSet earlier = eight_tabs(tiny, diagonal({0.04, 0.04, 0.04}));
  for (Tab& t : earlier.tabs) t.shared_dof = 2;
  TabSet now = earlier;
  for (Tab& t : now.tabs) t.lab.value.l += 1;
  EXPECT_NEAR(drift(earlier, now).common_shift_p_value, 1 - std::pow(1 - 0.02411011055, 3), 1e-9);
  TabSet exact = eight_tabs(tiny);
  for (Tab& t : exact.tabs) t.lab.value.l += 1;
  EXPECT_NEAR(drift(earlier, exact).common_shift_p_value, 1 - std::pow(1 - 0.03774955135, 3), 1e-9);
}

// How often a steady set read on three days each time is said to read otherwise at 5 %. The days'
// covariance is estimated on 2 degrees of freedom, every coordinate from errors of its own, or all
// drawn to one size as those of few operators are.
double said_of_steady_sets(bool one_size) {
  constexpr int studies = 2000;
  const Vec3 sd{0.2, 0.08, 0.15};
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  const auto error = [&] {
    return Vec3{sd[0] * normal(random), sd[1] * normal(random), sd[2] * normal(random)};
  };
  int said = 0;
  for (int study = 0; study < studies; ++study) {
    std::array<TabSet, 2> sets{eight_tabs(), eight_tabs()};
    for (TabSet& set : sets) {
      Mat3 days = scale(add(detail::outer_square(error()), detail::outer_square(error())), 0.5);
      if (one_size) {
        const double size = days[0][0] / (sd[0] * sd[0]);
        days = diagonal({size * sd[0] * sd[0], size * sd[1] * sd[1], size * sd[2] * sd[2]});
      }
      set = eight_tabs(diagonal({1e-8, 1e-8, 1e-8}), days);
      const Vec3 shift = error();
      for (Tab& t : set.tabs) {
        t.shared_dof = 2;
        const Lab& lab = t.lab.value;
        t.lab.value = {lab.l + shift[0], lab.a + shift[1], lab.b + shift[2]};
      }
    }
    said += drift(sets[0], sets[1]).common_shift_p_value < 0.05;
  }
  return 1.0 * said / studies;
}

TEST(Drift, ASteadySetIsSaidToReadOtherwiseAsOftenAsStated) {
  const double error = std::sqrt(0.05 * 0.95 / 2000);
  EXPECT_NEAR(said_of_steady_sets(false), 0.05, 2 * error);
  EXPECT_LT(said_of_steady_sets(true), 0.05 + 2 * error);
  EXPECT_GT(said_of_steady_sets(true), 0.02);
}

TEST(Drift, AWitnessTellsASetThatFadesFromTheInstrument) {
  const TabSet earlier = eight_tabs(small, diagonal({0.05, 0.05, 0.05}));
  DriftOptions options;
  options.witnesses = {earlier.tabs[7].name};
  TabSet faded = earlier;
  for (std::size_t t = 0; t < 7; ++t) faded.tabs[t].lab.value.l += 1;
  const Drift of_set = drift(earlier, faded, options);
  EXPECT_EQ(of_set.set_verdict, SetVerdict::changed);
  EXPECT_EQ(of_set.tabs.size(), 7U);
  EXPECT_NEAR(of_set.set_shift.l, 1, 1e-9);
  TabSet shifted = earlier;
  for (Tab& t : shifted.tabs) t.lab.value.l += 1;
  const Drift of_instrument = drift(earlier, shifted, options);
  EXPECT_EQ(of_instrument.set_verdict, SetVerdict::steady);
  EXPECT_NEAR(of_instrument.witness_shift.l, 1, 1e-9);
  const Drift without = drift(earlier, shifted);
  EXPECT_EQ(without.set_verdict, SetVerdict::unknown);
  EXPECT_NE(without.note.find("cannot be told"), std::string::npos);
  options.witnesses = {"absent"};
  EXPECT_THROW((void)drift(earlier, shifted, options), ArgumentError);
}

TEST(Drift, TellsAVisibleChangeFromOneThatOnlyTheInstrumentSees) {
  const TabSet earlier = eight_tabs(small);
  TabSet now = earlier;
  now.tabs[0].lab.value.l += 0.5;
  const Drift result = drift(earlier, now);
  EXPECT_EQ(result.tabs[0].verdict, DriftVerdict::drifted);
  EXPECT_LT(result.tabs[0].de00, 0.8);
  EXPECT_EQ(to_string(result.tabs[0].verdict), "drifted");
}

TEST(Drift, DoesNotJudgeWithoutRepeatability) {
  TabSet earlier = eight_tabs(small);
  TabSet now = earlier;
  now.tabs[1].lab.random = {};
  now.tabs[3].lab.dof = 2;
  const Drift result = drift(earlier, now);
  EXPECT_EQ(result.tabs[1].verdict, DriftVerdict::not_testable);
  EXPECT_EQ(result.tabs[3].verdict, DriftVerdict::not_testable);
  EXPECT_EQ(result.tabs[0].verdict, DriftVerdict::steady);
}

TEST(Drift, ListsTabsOfOneSetOnly) {
  const TabSet earlier = eight_tabs(small);
  TabSet now = earlier;
  now.tabs[0].name = "fresh";
  const Drift result = drift(earlier, now);
  EXPECT_THAT(result.only_earlier, ElementsAre("flax"));
  EXPECT_THAT(result.only_now, ElementsAre("fresh"));
  EXPECT_EQ(result.tabs.size(), 7U);
  EXPECT_THAT(drift(earlier, earlier).warnings, IsEmpty());
}

TEST(Drift, RefusesSetsThatCannotBeCompared) {
  const TabSet earlier = eight_tabs(small);
  TabSet now = earlier;
  now.viewing = viewing_from_string("A/2");
  EXPECT_THROW((void)drift(earlier, now), ArgumentError);
  now = earlier;
  for (Tab& t : now.tabs) t.name += " new";
  EXPECT_THROW((void)drift(earlier, now), ArgumentError);
  DriftOptions options;
  options.false_alarm = 0;
  EXPECT_THROW((void)drift(earlier, earlier, options), ArgumentError);
}

}  // namespace
}  // namespace mamelon
