#include "capture/light_field.h"

#include <cmath>

#include <gtest/gtest.h>

namespace {

using mamelon::PointPx;
using mamelon::detail::LightField;
using mamelon::detail::LightSample;

double true_log(PointPx p) {
  const double x = (p.x - 500) / 500;
  const double y = (p.y - 400) / 500;
  return 0.08 * x - 0.05 * y - 0.04 * x * x + 0.02 * x * y - 0.03 * y * y;
}

// A grid of white samples of one unknown brightness, with a little fixed scatter.
std::vector<LightSample> samples(double scatter) {
  std::vector<LightSample> out;
  int sign = 1;
  for (double x = 100; x <= 900; x += 160) {
    for (double y = 300; y <= 500; y += 50) {
      out.push_back({{x, y}, -0.7 + true_log({x, y}) + scatter * (sign = -sign), 0.003, 0});
    }
  }
  return out;
}

TEST(LightField, RecoversAQuadraticAndExtrapolatesIt) {
  const auto field = LightField::fit(samples(0.0005), {500, 400}, 500);
  ASSERT_FALSE(field.is_flat());
  EXPECT_DOUBLE_EQ(field.gain({500, 400}), 1);
  for (const PointPx p : {PointPx{200, 350}, PointPx{880, 480}, PointPx{500, 150}}) {
    const double error = std::log(field.gain(p)) - true_log(p);
    EXPECT_LT(std::abs(error), 0.006);
    EXPECT_LT(std::abs(error), 3 * std::sqrt(field.log_variance(p)) + 1e-4);
  }
}

TEST(LightField, IsLessSureFartherAwayAndWithScatteredSamples) {
  const auto clean = LightField::fit(samples(0.0005), {500, 400}, 500);
  const auto dusty = LightField::fit(samples(0.01), {500, 400}, 500);
  EXPECT_GT(clean.log_variance({500, 0}), clean.log_variance({500, 350}));
  EXPECT_GT(dusty.log_variance({500, 150}), clean.log_variance({500, 150}));
  EXPECT_NEAR(dusty.residual_rms(), 0.01, 0.002);
}

TEST(LightField, ScaleOfAGroupDoesNotMatter) {
  auto two = samples(0);
  for (std::size_t i = 0; i < two.size(); i += 2) {
    two[i].group = 1;
    two[i].log_ratio += 0.4;
  }
  const auto one = LightField::fit(samples(0), {500, 400}, 500);
  const auto both = LightField::fit(two, {500, 400}, 500);
  EXPECT_NEAR(one.gain({300, 200}), both.gain({300, 200}), 2e-3);
}

TEST(LightField, FewSamplesLeaveItFlat) {
  auto few = samples(0);
  few.resize(mamelon::detail::min_light_samples - 1);
  const auto field = LightField::fit(few, {500, 400}, 500);
  EXPECT_TRUE(field.is_flat());
  EXPECT_EQ(field.gain({100, 100}), 1);
}

// 10 pixels a millimetre: seen within the square, not at all 20 pixels beyond it.
TEST(LightField, TellsWhatLiesBeyondThePlacesOfKnownLight) {
  auto field = LightField::fit(samples(0), {500, 400}, 500);
  EXPECT_EQ(field.unseen({0, 0}), 0);
  field.set_known({{100, 100}, {300, 100}, {200, 200}, {300, 300}, {100, 300}}, 10);
  EXPECT_EQ(field.unseen({200, 250}), 0);
  EXPECT_NEAR(field.unseen({200, 310}), 0.5, 1e-9);
  EXPECT_EQ(field.unseen({400, 200}), 1);
  EXPECT_NEAR(field.unseen({306, 308}), 0.5, 1e-9);  // beyond a corner
}

}  // namespace
