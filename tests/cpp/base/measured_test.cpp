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
  EXPECT_FALSE(is_covariance(Mat3{{{1, 0, 0.5}, {0, 1, 0}, {0.4, 0, 2}}}));
  EXPECT_FALSE(is_covariance(Mat3{{{1, 0, 0}, {0, 1, 0.5}, {0, 0.4, 2}}}));
  EXPECT_FALSE(is_covariance(diagonal({1, -1, 1})));
  EXPECT_FALSE(is_covariance(diagonal({1, std::nan(""), 1})));
  // Every 2×2 minor is positive here, the determinant is not.
  EXPECT_FALSE(is_covariance(Mat3{{{1, 0.9, -0.9}, {0.9, 1, 0.9}, {-0.9, 0.9, 1}}}));
}

TEST(Measured, MatrixTimesVectorTakesRows) {
  const Mat3 m{{{1, 2, 3}, {4, 5, 6}, {7, 8, 10}}};
  EXPECT_EQ(multiply(m, Vec3{1, 10, 100}), (Vec3{321, 654, 1087}));
}

TEST(Measured, TheDeterminantOfACovarianceIsNotNegativeHoweverItsAxesAreNamed) {
  // The sum of two outer products: its determinant is 0.
  const Mat3 flat{{{5, 0, 7}, {0, 5, 4}, {7, 4, 13}}};
  for (std::size_t turn = 0; turn < 3; ++turn) {
    for (const double more : {0.05, -0.05}) {
      Mat3 turned{};
      for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = 0; j < 3; ++j) {
          turned[(i + turn) % 3][(j + turn) % 3] = flat[i][j] + (i == j ? more : 0);
        }
      }
      EXPECT_EQ(is_covariance(turned), more > 0) << turn;
    }
  }
}

}  // namespace
}  // namespace mamelon
