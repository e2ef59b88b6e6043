#include "capture/tone.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace {

using mamelon::detail::apply_tone;
using mamelon::detail::fit_tone;
using mamelon::detail::Tone;
using mamelon::detail::TrainingPatch;

// A smooth S-shaped rendering of light 0–1.
double rendered(double light) {
  const double x = std::pow(light, 1 / 2.2);
  return std::pow(x + 0.05 * std::sin(2 * M_PI * (x - 0.5)), 2.2);
}

std::vector<TrainingPatch> neutrals(std::initializer_list<double> lights) {
  std::vector<TrainingPatch> patches;
  for (const double light : lights) {
    TrainingPatch p;
    p.raw.setConstant(rendered(light));
    p.raw_cov = Eigen::Matrix3d::Identity() * 1e-8;
    p.xyz.setConstant(light);
    p.neutral = true;
    patches.push_back(p);
  }
  return patches;
}

TEST(Tone, GoesThroughItsNeutrals) {
  const auto patches = neutrals({0.03, 0.09, 0.22, 0.4, 0.6, 0.85});
  const Tone tone = fit_tone(patches);
  for (const auto& p : patches) EXPECT_NEAR(tone(p.raw)[1], p.xyz[1], 1e-12);
}

TEST(Tone, UndoesASmoothRenderingBetweenThem) {
  const Tone tone = fit_tone(neutrals({0.03, 0.09, 0.22, 0.4, 0.6, 0.85}));
  for (double light = 0.05; light < 0.85; light += 0.01) {
    EXPECT_NEAR(tone(Eigen::Vector3d::Constant(rendered(light)))[0], light, 0.012 * light) << light;
  }
}

// The white base of a card and its lightest neutral may come out all but equal. What parts them
// then is noise, and once their secant carried the light of everything brighter away.
TEST(Tone, GoesOnBeyondTwoEqualNeutralsAsBefore) {
  auto patches = neutrals({0.03, 0.09, 0.22, 0.4, 0.6, 0.85, 0.853});
  const Eigen::Vector3d beyond = Eigen::Vector3d::Constant(rendered(0.95));
  for (const double noise : {-0.004, 0.004, 0.012}) {
    patches.back().xyz.setConstant(0.853 + noise);
    EXPECT_NEAR(fit_tone(patches)(beyond)[1], 0.95, 0.03) << noise;
  }
}

TEST(Tone, IsMonotoneAndItsSlopeIsItsDerivative) {
  const Tone tone = fit_tone(neutrals({0.03, 0.09, 0.1, 0.4, 0.41, 0.85}));
  double last = -1;
  for (double v = 0.002; v < 0.99; v += 0.0037) {
    const Eigen::Vector3d at = Eigen::Vector3d::Constant(v);
    const double value = tone(at)[2];
    EXPECT_GT(value, last);
    last = value;
    const double h = 1e-7;
    const double slope = (tone(at.array() + h)[2] - tone(at.array() - h)[2]) / (2 * h);
    EXPECT_NEAR(tone.slope(at)[2], slope, 2e-3 * slope + 1e-6);
  }
}

TEST(Tone, NeedsFiveNeutrals) {
  EXPECT_THROW((void)fit_tone(neutrals({0.1, 0.2, 0.4, 0.8})), mamelon::CaptureError);
}

}  // namespace
