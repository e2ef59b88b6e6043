#include "plan/words.h"

#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

std::size_t chosen_of(const std::vector<PlanFigures>& plans) {
  return recommended(plans);
}

TEST(Recommended, TheFewestLayersThatAreAcceptable) {
  // One layer expects 0.4 more than two, which is not visible, but is not acceptable.
  EXPECT_EQ(chosen_of({{1, 1.9, 2.6}, {2, 1.8, 2.2}, {2, 0.4, 2.3}}), 1U);
  EXPECT_EQ(chosen_of({{1, 0.9, 1.6}, {2, 0.2, 1.2}}), 0U);
}

TEST(Recommended, OneMoreLayerOnlyForAVisibleGain) {
  EXPECT_EQ(chosen_of({{1, 1.2, 2.0}, {2, 0.4, 1.1}, {3, 0.1, 0.6}}), 1U);
  EXPECT_EQ(chosen_of({{1, 1.2, 2.0}, {2, 0.4, 1.3}, {3, 0.1, 1.1}}), 2U);
  // A gain by a plan that is not acceptable is none.
  EXPECT_EQ(chosen_of({{1, 1.7, 2.4}, {2, 1.9, 1.5}}), 0U);
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
  EXPECT_EQ(chosen_of({{1, 4.1, 4.9}, {2, 3.2, 4.0}, {3, 3.0, 3.7}}), 1U);
}

TEST(Recommended, RefusesNoPlan) {
  EXPECT_THROW((void)chosen_of({}), ArgumentError);
}

}  // namespace
}  // namespace mamelon::detail
