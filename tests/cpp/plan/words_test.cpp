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

TEST(Recommended, TheFewestThatAreNotVisiblyWorseWhereNoneIsAcceptable) {
  EXPECT_EQ(recommended({{1, 4.9, false}, {2, 4.0, false}, {3, 3.7, false}}), 1U);
}

}  // namespace
}  // namespace mamelon::detail
