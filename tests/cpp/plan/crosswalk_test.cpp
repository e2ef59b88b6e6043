#include "mamelon/crosswalk.h"

#include <gtest/gtest.h>

#include "plan_samples.h"

namespace mamelon {
namespace {

TabSet two_tabs() {
  return {.name = "two",
          .tabs = {{"wheat", {{74, 2, 19}, {}, {}}, {}}, {"linen", {{79, 0.5, 14}, {}, {}}, {}}},
          .viewing = test::d65(),
          .provenance = {}};
}

TEST(Crosswalk, EachRowIsThePlanOfItsTab) {
  const TabSet tabs = two_tabs();
  const PlanRequest request =
      test::sample_request(test::sample_set(8, 3), test::target_lab({60, 0, 0}), 2.0);
  const auto rows = crosswalk(tabs, request);
  ASSERT_EQ(rows.size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(rows[i].tab, tabs.tabs[i].name);
    PlanRequest alone = request;
    alone.target = test::target_lab(tabs.tabs[i].lab.value);
    alone.alternatives = 1;
    const PlanSet expected = plan(alone);
    ASSERT_EQ(rows[i].plans.size(), expected.plans.size());
    EXPECT_EQ(rows[i].recommended, expected.recommended);
    EXPECT_EQ(rows[i].why, expected.why);
    for (std::size_t j = 0; j < expected.plans.size(); ++j) {
      EXPECT_EQ(rows[i].plans[j].layers.size(), j + 1);
      EXPECT_EQ(rows[i].plans[j].de00_rms, expected.plans[j].de00_rms);
    }
  }
}

TEST(Crosswalk, AnEmptySetIsRefused) {
  const PlanRequest request =
      test::sample_request(test::sample_set(4, 3), test::target_lab({74, 2, 19}), 2.0);
  EXPECT_THROW((void)crosswalk(
                   {.name = "none", .tabs = {}, .viewing = test::d65(), .provenance = {}}, request),
               ArgumentError);
}

}  // namespace
}  // namespace mamelon
