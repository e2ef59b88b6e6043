#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/plan.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

Reading floor_reading(const Lab& lab, const Mat3& covariance) {
  Reading reading = test::target_lab(lab);
  reading.lab.random = covariance;
  return reading;
}

TEST(Floor, OfAColourHasThatColour) {
  const Lab lab{48, 7, 22};
  const Floor floor = floor_of(floor_reading(lab, {}), test::visible);
  EXPECT_TRUE(floor.estimated);
  EXPECT_TRUE(floor.errors.empty());
  EXPECT_LT(de76(to_lab(floor.reflectance, test::d65()), lab), 0.02);
}

TEST(Floor, OfACurveIsThatCurve) {
  Reading reading = test::target_curve(test::flat_floor(0.3));
  EXPECT_FALSE(floor_of(reading, test::visible).estimated);
  EXPECT_EQ(floor_of(reading, test::visible).reflectance, test::flat_floor(0.3));
}

TEST(Floor, ItsErrorsCarryTheCovarianceOfItsColour) {
  const Mat3 covariance{{{4, 0.5, 1}, {0.5, 1, 0.2}, {1, 0.2, 2.25}}};
  const Floor floor = floor_of(floor_reading({48, 7, 22}, covariance), test::visible);
  ASSERT_EQ(floor.errors.size(), 3U);
  Mat3 back{};
  const Lab at = to_lab(floor.reflectance, test::d65());
  for (const Reflectance& error : floor.errors) {
    std::vector<double> moved = floor.reflectance.values();
    for (std::size_t i = 0; i < moved.size(); ++i) {
      moved[i] += 0.01 * error[i];
    }
    const Lab there = to_lab(Reflectance(test::visible, moved), test::d65());
    const Vec3 d{100 * (there.l - at.l), 100 * (there.a - at.a), 100 * (there.b - at.b)};
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        back[i][j] += d[i] * d[j];
      }
    }
  }
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      EXPECT_NEAR(back[i][j], covariance[i][j], 0.3) << i << j;
    }
  }
}

TEST(Floor, ItsUncertaintyIsTheMonteCarlosInAPlan) {
  const PasteSet set = test::sample_set(10, 5);
  PlanRequest request = test::sample_request(set, test::target_lab({66, 3, 18}), 1.2);
  const Floor floor = floor_of(floor_reading({50, 5, 15}, diagonal({16, 4, 9})), test::visible);
  request.floor = floor.reflectance;
  request.floor_errors = floor.errors;
  request.thickness_sd_mm = 0;
  request.max_layers = 1;
  for (Paste& paste : request.pastes.pastes) {
    paste.reflectance_sd = 0;
  }
  const Plan best = plan(request).plans.front();
  const auto paste = std::find_if(set.pastes.begin(), set.pastes.end(),
                                  [&](const Paste& p) { return p.name == best.layers[0].paste; });
  std::mt19937 random(1);
  std::normal_distribution<double> normal;
  double sum = 0;
  constexpr int draws = 20000;
  const Interface surface = interface_of(1.54, false);
  for (int i = 0; i < draws; ++i) {
    std::vector<double> seen = floor.reflectance.values();
    for (const Reflectance& error : floor.errors) {
      const double z = normal(random);
      for (std::size_t k = 0; k < seen.size(); ++k) {
        seen[k] += z * error[k];
      }
    }
    for (double& r : seen) {
      r = to_internal(std::max(0.0, r), surface);
    }
    const Stack stack{Reflectance(test::visible, seen), {{*paste, 1.2}}, false};
    const double de = de00({66, 3, 18}, to_lab(predict(stack), test::d65()));
    sum += de * de;
  }
  EXPECT_GT(best.de00_rms, best.de00 + 0.02);
  EXPECT_NEAR(best.de00_rms, std::sqrt(sum / draws), 0.05 * best.de00_rms);
}

}  // namespace
}  // namespace mamelon
