#include <algorithm>
#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/reading.h"

namespace mamelon {
namespace {

double largest_second_difference(const Reflectance& curve) {
  double largest = 0;
  for (std::size_t i = 1; i + 1 < curve.size(); ++i)
    largest = std::max(largest, std::fabs(curve[i - 1] - 2 * curve[i] + curve[i + 1]));
  return largest;
}

TEST(EstimateReflectance, ReachesEveryToothColourWithinBounds) {
  std::mt19937_64 random(17);
  std::uniform_real_distribution<double> lightness(40, 90);
  std::uniform_real_distribution<double> redness(-4, 10);
  std::uniform_real_distribution<double> yellowness(0, 40);
  for (const char* text : {"D65/2", "A/10", "D50/2", "LED-B3/2", "F11/10"}) {
    const Viewing viewing = viewing_from_string(text);
    for (const Grid grid : {Grid{400, 10, 31}, Grid{380, 10, 36}, Grid{360, 5, 85}}) {
      for (int i = 0; i < 60; ++i) {
        const Lab lab{lightness(random), redness(random), yellowness(random)};
        const Reflectance curve = estimate_reflectance(lab, viewing, grid);
        ASSERT_LT(de76(to_lab(curve, viewing), lab), 1e-6) << text;
        const auto [low, high] = std::minmax_element(curve.values().begin(), curve.values().end());
        ASSERT_GE(*low, 0.001);
        ASSERT_LE(*high, 0.999);
      }
    }
  }
}

TEST(EstimateReflectance, AGreyIsLevel) {
  const Viewing viewing = viewing_from_string("D65/2");
  const Reflectance grey = estimate_reflectance({50, 0, 0}, viewing, {400, 10, 31});
  for (const double value : grey.values()) EXPECT_NEAR(value, grey[0], 1e-9);
  EXPECT_NEAR(grey[0], to_xyz(Lab{50, 0, 0}, {1, 1, 1}).y, 1e-9);
}

TEST(EstimateReflectance, IsSmootherThanTheCurveTheColourCameFrom) {
  const Grid grid{400, 10, 31};
  std::vector<double> values;
  for (std::size_t i = 0; i < grid.count; ++i)
    values.push_back(0.5 + 0.15 * std::sin(static_cast<double>(i) / 2.5));
  const Reflectance rippled(grid, values);
  const Viewing viewing = viewing_from_string("D65/2");
  const Reflectance smooth = estimate_reflectance(to_lab(rippled, viewing), viewing, grid);
  EXPECT_LT(largest_second_difference(smooth), largest_second_difference(rippled));
}

TEST(EstimateReflectance, ColoursOfNoSurfaceAreRefused) {
  const Viewing viewing = viewing_from_string("D65/2");
  const Grid grid{400, 10, 31};
  // Outside the solid of surface colours: linear programming finds no reflectance either.
  EXPECT_THROW((void)estimate_reflectance({95, 8, 40}, viewing, grid), ModelError);
  EXPECT_THROW((void)estimate_reflectance({101, 0, 0}, viewing, grid), ModelError);
  EXPECT_THROW((void)estimate_reflectance({0, 0, 0}, viewing, grid), ModelError);
  EXPECT_THROW((void)estimate_reflectance({50, 200, 0}, viewing, grid), ModelError);
  EXPECT_THROW((void)estimate_reflectance({std::nan(""), 0, 0}, viewing, grid), ArgumentError);
  EXPECT_THROW((void)estimate_reflectance({50, 0, 0}, viewing, {400, 10, 2}), ArgumentError);
}

}  // namespace
}  // namespace mamelon
