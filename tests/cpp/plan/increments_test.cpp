#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "mamelon/plan.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

TEST(Increments, ObeyThePastesLimitAndAddUp) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> uniform(0, 1);
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  for (int i = 0; i < 1000; ++i) {
    paste.increment_limit_mm = 1 + 4 * uniform(random);
    const double thickness = 0.1 + 12 * uniform(random);
    const auto increments = increments_of(paste, thickness, 0, 3);
    double sum = 0;
    for (std::size_t j = 0; j < increments.size(); ++j) {
      EXPECT_EQ(increments[j].order, 3 + static_cast<int>(j));
      EXPECT_LE(increments[j].thickness_mm, paste.increment_limit_mm + 1e-8);
      EXPECT_FALSE(increments[j].exposure_s.has_value());
      sum += increments[j].thickness_mm;
    }
    EXPECT_NEAR(sum, thickness, 1e-12);
    EXPECT_EQ(increments.size(),
              static_cast<std::size_t>(std::ceil(thickness / paste.increment_limit_mm)));
  }
}

TEST(Increments, RoundingAddsNone) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  EXPECT_EQ(increments_of(paste, 3 * 0.7 - 0.1, 0, 1).size(), 1U);
  EXPECT_EQ(increments_of(paste, 4.0 + 1e-13, 0, 1).size(), 2U);
}

TEST(Increments, ExposureIsDoseOverIrradiance) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  paste.radiant_exposure_j_cm2 = 16;
  const auto increments = increments_of(paste, 1.5, 800, 1);
  ASSERT_EQ(increments.size(), 1U);
  EXPECT_DOUBLE_EQ(increments[0].exposure_s.value(), 20);
  EXPECT_DOUBLE_EQ(increments[0].exposure_j_cm2, 16);
}

TEST(Increments, NonsenseIsRefused) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  EXPECT_THROW((void)increments_of(paste, 0, 800, 1), ArgumentError);
  EXPECT_THROW((void)increments_of(paste, std::nan(""), 800, 1), ArgumentError);
  paste.increment_limit_mm = 0;
  EXPECT_THROW((void)increments_of(paste, 1, 800, 1), ArgumentError);
}

}  // namespace
}  // namespace mamelon
