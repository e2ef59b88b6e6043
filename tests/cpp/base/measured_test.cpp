#include "mamelon/measured.h"

#include <cmath>

#include <gtest/gtest.h>

namespace mamelon {
namespace {

TEST(Measured, CovarianceAddsBothParts) {
  Measured<Vec3> m;
  m.random = diagonal({9, 1, 4});
  m.shared = diagonal({16, 0, 5});
  EXPECT_EQ(m.sd(), (Vec3{5, 1, 3}));
}

TEST(Measured, PropagationIsJCJt) {
  const Mat3 j{{{1, 2, 0}, {0, 1, 0}, {0, 0, 3}}};
  const Mat3 c = diagonal({1, 4, 9});
  const Mat3 expected{{{17, 8, 0}, {8, 4, 0}, {0, 0, 81}}};
  EXPECT_EQ(propagate(j, c), expected);
}

TEST(Measured, CovarianceMustBePositiveSemiDefinite) {
  EXPECT_TRUE(is_covariance(Mat3{}));
  EXPECT_TRUE(is_covariance(Mat3{{{1, 1, 0}, {1, 1, 0}, {0, 0, 2}}}));
  EXPECT_FALSE(is_covariance(Mat3{{{1, 2, 0}, {2, 1, 0}, {0, 0, 2}}}));
  EXPECT_FALSE(is_covariance(Mat3{{{1, 0.5, 0}, {0.4, 1, 0}, {0, 0, 2}}}));
  EXPECT_FALSE(is_covariance(diagonal({1, -1, 1})));
  EXPECT_FALSE(is_covariance(diagonal({1, std::nan(""), 1})));
  // Every 2×2 minor is positive here, the determinant is not.
  EXPECT_FALSE(is_covariance(Mat3{{{1, 0.9, -0.9}, {0.9, 1, 0.9}, {-0.9, 0.9, 1}}}));
}

}  // namespace
}  // namespace mamelon
