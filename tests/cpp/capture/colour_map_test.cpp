#include "capture/colour_map.h"

#include <gtest/gtest.h>

namespace {

using mamelon::Lab;
using mamelon::detail::de00_metric;
using mamelon::detail::squared_u95;

// 95 % points of χ² of 1, 2 and 3 degrees of freedom: any table of it.
TEST(U95, IsThatOfChiSquared) {
  const Lab tooth = {71, 2, 17};
  const Eigen::Matrix3d metric = de00_metric(tooth);
  Eigen::Matrix3d lightness = Eigen::Matrix3d::Zero();
  lightness(0, 0) = 0.25;
  EXPECT_NEAR(squared_u95(tooth, lightness), 3.841 * 0.25 * metric(0, 0), 0.03 * 0.96);
  Eigen::Matrix3d chroma = metric.inverse();
  chroma(0, 0) = 0;
  EXPECT_NEAR(squared_u95(tooth, chroma), 5.991, 0.03 * 5.991);
  EXPECT_NEAR(squared_u95(tooth, metric.inverse()), 7.815, 0.03 * 7.815);
  EXPECT_EQ(squared_u95(tooth, Eigen::Matrix3d::Zero()), 0);
}

}  // namespace
