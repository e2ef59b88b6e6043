#include <cmath>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/plan.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

Placing lamp(double irradiance_mw_cm2) {
  return {PlacingOrder::flat, false, irradiance_mw_cm2};
}

TEST(Increments, ObeyThePastesLimitAndAddUp) {
  std::mt19937 random(1);
  std::uniform_real_distribution<double> uniform(0, 1);
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  for (int i = 0; i < 1000; ++i) {
    paste.increment_limit_mm = 1 + 4 * uniform(random);
    const double thickness = 0.1 + 12 * uniform(random);
    const auto increments = increments_of(paste, thickness, {}, 3);
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
  EXPECT_EQ(increments_of(paste, 3 * 0.7 - 0.1, {}, 1).size(), 1U);
  EXPECT_EQ(increments_of(paste, 4.0 + 1e-13, {}, 1).size(), 2U);
}

TEST(Increments, ExposureIsDoseOverIrradiance) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  paste.radiant_exposure_j_cm2 = 16;
  const auto increments = increments_of(paste, 1.5, lamp(800), 1);
  ASSERT_EQ(increments.size(), 1U);
  EXPECT_DOUBLE_EQ(increments[0].exposure_s.value(), 20);
  EXPECT_DOUBLE_EQ(increments[0].exposure_j_cm2, 16);
}

TEST(Increments, SecondsAreRoundedUp) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  paste.radiant_exposure_j_cm2 = 16;
  EXPECT_EQ(increments_of(paste, 1.5, lamp(1100), 1)[0].exposure_s.value(), 15);  // 14.5
  EXPECT_EQ(increments_of(paste, 1.5, lamp(1000), 1)[0].exposure_s.value(), 16);
}

TEST(Increments, AreWholeTenthsWhereTheLayerIs) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  const auto parts = [&](double mm) {
    std::vector<double> all;
    for (const Increment& step : increments_of(paste, mm, {}, 1)) all.push_back(step.thickness_mm);
    return all;
  };
  EXPECT_EQ(parts(3.1), (std::vector<double>{1.6, 1.5}));
  EXPECT_EQ(parts(4.7), (std::vector<double>{1.6, 1.6, 1.5}));
  paste.increment_limit_mm = 1.55;
  EXPECT_EQ(parts(3.1), (std::vector<double>{1.1, 1.0, 1.0}));  // 1.6 would be above the limit
}

TEST(Increments, LimitsThatNoLightReachesAreRefused) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  paste.increment_limit_mm = 20;
  EXPECT_THROW((void)increments_of(paste, 10, lamp(800), 1), ArgumentError);
  EXPECT_THROW(check_paste(paste, "fawn"), ArgumentError);
  paste.increment_limit_mm = 2;
  paste.radiant_exposure_j_cm2 = 0.001;
  EXPECT_THROW((void)increments_of(paste, 1, lamp(800), 1), ArgumentError);
  EXPECT_THROW(check_paste(paste, "fawn"), ArgumentError);
}

TEST(Increments, NonsenseIsRefused) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  EXPECT_THROW((void)increments_of(paste, 0, lamp(800), 1), ArgumentError);
  EXPECT_THROW((void)increments_of(paste, std::nan(""), lamp(800), 1), ArgumentError);
  paste.increment_limit_mm = 0;
  EXPECT_THROW((void)increments_of(paste, 1, lamp(800), 1), ArgumentError);
}

TEST(Increments, OfWholeStacksObeyEveryLimitInEveryOrder) {
  std::mt19937 random(2);
  std::uniform_real_distribution<double> uniform(0, 1);
  const PasteSet set = test::sample_set(10, 4);
  for (int i = 0; i < 600; ++i) {
    const Placing placing{static_cast<PlacingOrder>(i % 3), i % 2 == 1, 1000};
    std::vector<Layer> layers;
    double depth = 0;
    for (std::size_t j = 0; j <= static_cast<std::size_t>(i) % 3; ++j) {
      Layer layer{set.pastes[random() % set.pastes.size()], 0.3 + 6 * uniform(random)};
      layer.paste.increment_limit_mm = 1 + 3 * uniform(random);
      layer.paste.name += std::to_string(j);
      depth += layer.thickness_mm;
      layers.push_back(layer);
    }
    const auto increments = increments_of(layers, placing);
    double filled = 0;
    double wall = 0;
    std::size_t at = 0;
    for (std::size_t n = 0; n < increments.size(); ++n) {
      const Increment& step = increments[n];
      EXPECT_EQ(step.order, static_cast<int>(n) + 1);
      EXPECT_EQ(step.contour, n + 1 == increments.size());
      const bool is_wall = step.portion == Portion::contact_wall;
      while (!is_wall && layers[at].paste.name != step.paste) {
        ASSERT_LT(++at, layers.size());  // the layers come from the floor outward
      }
      const Paste& paste = is_wall ? layers.back().paste : layers[at].paste;
      EXPECT_EQ(step.paste, paste.name);
      EXPECT_LE(step.thickness_mm, paste.increment_limit_mm + 1e-8);
      EXPECT_DOUBLE_EQ(step.exposure_s.value(), paste.radiant_exposure_j_cm2);
      EXPECT_GT(step.blue_share, 0);
      EXPECT_LT(step.blue_share, 1);
      EXPECT_TRUE(step.blue_measured);
      filled += step.share * step.thickness_mm;
      wall += is_wall ? step.thickness_mm : 0;
      if (is_wall) {
        EXPECT_EQ(wall > depth + 1e-9, false);
        EXPECT_EQ(filled, 0);  // the wall comes first
      }
    }
    EXPECT_NEAR(filled, depth, 1e-9);
    EXPECT_NEAR(wall, placing.contact_wall ? depth : 0, 1e-9);
  }
}

TEST(Increments, BlueLightFadesAsTheConstantsAt460Say) {
  Paste paste = test::sample_paste("fawn", Role::body, 1, 1);
  const std::size_t band = 6;  // 460 nm
  const auto through = [&](double mm) { return increments_of(paste, mm, {}, 1)[0].blue_share; };
  EXPECT_DOUBLE_EQ(through(1.5),
                   layer_optics(paste.absorption[band], paste.scattering[band], 1.5).t);
  EXPECT_GT(through(0.5), through(1.5));
  // Between two bands: their mean.
  const Grid odd{405, 10, 30};
  std::vector<double> k(30);
  std::vector<double> s(30);
  for (std::size_t i = 0; i < 30; ++i) {
    k[i] = 0.5 / (1 + static_cast<double>(i));
    s[i] = 1 + 0.05 * static_cast<double>(i);
  }
  paste.absorption = PerMm(odd, k);
  paste.scattering = PerMm(odd, s);
  EXPECT_NEAR(through(1.5), layer_optics((k[5] + k[6]) / 2, (s[5] + s[6]) / 2, 1.5).t, 1e-12);
  // Without 460 nm: Beer and Lambert, so that equal layers pass equal shares.
  const Grid red{480, 10, 23};
  paste.absorption = PerMm(red, std::vector<double>(23, 0.2));
  paste.scattering = PerMm(red, std::vector<double>(23, 1.3));
  EXPECT_FALSE(increments_of(paste, 1, {}, 1)[0].blue_measured);
  EXPECT_NEAR(through(1), std::exp(-std::sqrt(0.2 * (0.2 + 2 * 1.3))), 1e-12);
  EXPECT_NEAR(through(2), through(1) * through(1), 1e-12);
}

TEST(Increments, OrdersHaveNames) {
  for (const PlacingOrder order :
       {PlacingOrder::flat, PlacingOrder::oblique, PlacingOrder::wall_first}) {
    EXPECT_EQ(from_string<PlacingOrder>(to_string(order)), order);
  }
  EXPECT_THROW((void)from_string<PlacingOrder>("sideways"), ArgumentError);
}

}  // namespace
}  // namespace mamelon
