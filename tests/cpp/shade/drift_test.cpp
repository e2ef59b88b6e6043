#include <cmath>
#include <fstream>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/audit.h"

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
