#include "mamelon/appearance.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace mamelon {
namespace {

TEST(Grade, ChangesJustAboveEachThreshold) {
  EXPECT_EQ(grade(0), Grade::excellent);
  EXPECT_EQ(grade(0.8), Grade::excellent);
  EXPECT_EQ(grade(0.8001), Grade::acceptable);
  EXPECT_EQ(grade(1.8), Grade::acceptable);
  EXPECT_EQ(grade(1.8001), Grade::moderate_mismatch);
  EXPECT_EQ(grade(3.6001), Grade::clear_mismatch);
  EXPECT_EQ(grade(5.4001), Grade::extreme_mismatch);
  // ΔE*ab: 1.2, 2.7, 5.4, 8.1.
  EXPECT_EQ(grade_76(1.2), Grade::excellent);
  EXPECT_EQ(grade_76(2.7), Grade::acceptable);
  EXPECT_EQ(grade_76(5.4), Grade::moderate_mismatch);
  EXPECT_EQ(grade_76(8.1), Grade::clear_mismatch);
  EXPECT_EQ(grade_76(8.2), Grade::extreme_mismatch);
}

// The lightness thresholds found with kL = 2 (0.51, 1.40) are half of those with kL = 1.
TEST(Thresholds, OfLightnessHalveWithKl2) {
  EXPECT_NEAR(threshold::perceptible_lightness_00 / 2, 0.51, 0.011);
  EXPECT_NEAR(threshold::acceptable_lightness_00 / 2, 1.40, 0.011);
}

TEST(Translucency, IsTheDifferenceBetweenTheBackings) {
  const Lab over_white{76, 1, 18};
  const Lab over_black{70, -1, 9};
  EXPECT_NEAR(translucency_ab(over_white, over_black), 11, 1e-12);  // √(36 + 4 + 81)
  // 40-digit arithmetic.
  EXPECT_NEAR(translucency_00(over_white, over_black), 7.62979534, 5e-9);
  EXPECT_NEAR(translucency_00(over_white, over_black, {2, 1, 1}), 6.56862593, 5e-9);
  EXPECT_EQ(translucency_ab(over_white, over_white), 0);
  EXPECT_EQ(translucency_00(over_white, over_white), 0);
}

TEST(ContrastRatio, OfAnOpaqueLayerIs1) {
  EXPECT_EQ(contrast_ratio(0.4, 0.4), 1);
  EXPECT_EQ(contrast_ratio(0.3, 0.6), 0.5);
  EXPECT_THROW((void)contrast_ratio(0.3, 0), ArgumentError);
  EXPECT_THROW((void)contrast_ratio(-0.1, 0.5), ArgumentError);
}

TEST(CoverageError, IsTheMeanOfTheNearest) {
  const Lab tabs[] = {{78, 0, 14}, {73, 1, 18}, {67, 2.5, 22}};
  const Lab teeth[] = {{76, .5, 16}, {72, 1, 19}, {69, 2, 23}, {64, 3, 25}, {79, -.5, 12}};
  EXPECT_NEAR(coverage_error(teeth, tabs), 1.82006033, 5e-9);  // worked by hand from the formula
  EXPECT_EQ(coverage_error(tabs, tabs), 0);
  EXPECT_THROW((void)coverage_error({}, tabs), ArgumentError);
  EXPECT_THROW((void)coverage_error(teeth, {}), ArgumentError);
}

TEST(Mcdm, IsTheMeanDistanceFromTheMean) {
  const Lab repeats[] = {{70, 0, 0}, {72, 0, 0}, {74, 0, 0}};
  EXPECT_NEAR(mcdm(repeats, {Formula::de76, {}}), 4.0 / 3, 1e-12);
  EXPECT_EQ(mcdm({repeats, 1}, {}), 0);
  EXPECT_THROW((void)mcdm({}, {}), ArgumentError);
}

TEST(WhitenessIndex, IsLinearInLab) {
  EXPECT_NEAR(whiteness_index_dentistry({100, 0, 0}), 51.1, 1e-12);
  EXPECT_NEAR(whiteness_index_dentistry({75, 1, 20}), 14.001, 1e-12);
  EXPECT_NEAR(whiteness_index_dentistry({65, 4, 28}), -6.881, 1e-12);
}

TEST(Yellowness, FollowsAstmE313) {
  // colour-science, yellowness_ASTME313 with the constants of D65 and the 2° observer.
  const Viewing d65 = viewing_from_string("D65/2");
  EXPECT_NEAR(yellowness_e313({0.957992, 0.90, 0.68}, d65), 52.5747346667, 1e-8);
  // The constants are those that make the white's index 0.
  for (const char* text : {"C/2", "C/10", "D65/2", "D65/10"}) {
    const Viewing viewing = viewing_from_string(text);
    EXPECT_NEAR(yellowness_e313(white_point(viewing), viewing), 0, 0.02) << text;
  }
  EXPECT_THROW((void)yellowness_e313({1, 1, 1}, viewing_from_string("A/2")), ArgumentError);
  EXPECT_THROW((void)yellowness_e313({0, 0, 0}, d65), ArgumentError);
}

}  // namespace
}  // namespace mamelon
