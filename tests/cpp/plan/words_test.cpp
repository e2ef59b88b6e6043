#include "plan/words.h"

#include <gtest/gtest.h>

namespace mamelon::detail {
namespace {

TEST(Recommended, TheFewestLayersThatAreAcceptable) {
  // One layer expects 0.4 more than two, which is not visible, but is not acceptable.
  EXPECT_EQ(recommended({{1, 2.6, false}, {2, 2.2, true}, {2, 2.3, true}}), 1U);
  EXPECT_EQ(recommended({{1, 1.6, true}, {2, 1.2, true}}), 0U);
}

TEST(Recommended, OneMoreLayerOnlyForAVisibleGain) {
  EXPECT_EQ(recommended({{1, 2.0, true}, {2, 1.1, true}, {3, 0.6, true}}), 1U);
  EXPECT_EQ(recommended({{1, 2.0, true}, {2, 1.3, true}, {3, 1.1, true}}), 2U);
  // A gain by a plan that is not acceptable is none.
  EXPECT_EQ(recommended({{1, 2.4, true}, {2, 1.5, false}}), 0U);
}

TEST(AsGood, WithinATenthOfWhatCanBeSeenAndAcceptableLikeIt) {
  const auto plan_of = [](double expected, double nominal) {
    Plan plan;
    plan.de00_rms = expected;
    plan.de00 = nominal;
    return plan;
  };
  const Plan best = plan_of(1.5, 1.2);
  EXPECT_TRUE(is_as_good(plan_of(1.579, 1.7), best));
  EXPECT_TRUE(is_as_good(plan_of(1.1, 0.9), best));
  EXPECT_FALSE(is_as_good(plan_of(1.581, 1.2), best));
  EXPECT_FALSE(is_as_good(plan_of(1.5, 1.81), best));
  // Where none is acceptable, that is asked of none.
  EXPECT_TRUE(is_as_good(plan_of(3.0, 2.9), plan_of(3.0, 1.9)));
}

TEST(Recommended, TheFewestThatAreNotVisiblyWorseWhereNoneIsAcceptable) {
  EXPECT_EQ(recommended({{1, 4.9, false}, {2, 4.0, false}, {3, 3.7, false}}), 1U);
}

}  // namespace
}  // namespace mamelon::detail
