// Given pastes: a stack moved by hand, and one cavity of several depths.

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "plan_samples.h"

namespace mamelon {
namespace {

PlanRequest request_of(bool transport) {
  const PasteSet set = test::sample_set(8, 3);
  return test::sample_request(transport ? test::with_transport(set) : set,
                              test::target_lab({74, 2, 19}), 2.4);
}

TEST(PredictPlan, IsThePlanOfItsLayers) {
  for (const bool transport : {false, true}) {
    const PlanRequest request = request_of(transport);
    for (const Plan& found : plan(request).plans) {
      const Plan again = predict_plan(request, found.layers);
      EXPECT_EQ(again.de00, found.de00);
      EXPECT_EQ(again.de00_rms, found.de00_rms);
      EXPECT_EQ(again.de00_p95, found.de00_p95);
      EXPECT_EQ(again.engine, found.engine);
      EXPECT_EQ(again.increments.size(), found.increments.size());
    }
  }
}

TEST(PredictPlan, TakesThicknessesAsTheyAre) {
  const PlanRequest request = request_of(true);
  std::vector<PlannedLayer> layers = plan(request).plans.back().layers;
  layers[0].thickness_mm = 0.37;
  const Plan moved = predict_plan(request, layers);
  EXPECT_EQ(moved.layers[0].thickness_mm, 0.37);
  layers[0].paste = "nobody";
  EXPECT_THROW((void)predict_plan(request, layers), ArgumentError);
  layers.clear();
  EXPECT_THROW((void)predict_plan(request, layers), ArgumentError);
  const PlannedLayer none{request.pastes.pastes[0].name, Role::body, 0, 0, false};
  EXPECT_THROW((void)predict_plan(request, std::span(&none, 1)), ArgumentError);
}

TEST(PlanDepths, HasTheSamePastesEverywhereAndFillsEachDepth) {
  const PlanRequest request = request_of(true);
  const double depths[] = {2.8, 1.5};
  const DepthPlans found = plan_depths(request, depths);
  ASSERT_EQ(found.plans.size(), 2U);
  double mean_square = 0;
  for (std::size_t d = 0; d < 2; ++d) {
    double sum = 0;
    ASSERT_EQ(found.plans[d].layers.size(), found.pastes.size());
    for (std::size_t j = 0; j < found.pastes.size(); ++j) {
      EXPECT_EQ(found.plans[d].layers[j].paste, found.pastes[j]);
      sum += found.plans[d].layers[j].thickness_mm;
    }
    EXPECT_NEAR(sum, depths[d], 1e-9);
    mean_square += found.plans[d].de00_rms * found.plans[d].de00_rms / 2;
  }
  EXPECT_NEAR(found.de00_rms, std::sqrt(mean_square), 1e-9);
  ASSERT_EQ(found.differences.size(), 1U);
  EXPECT_THAT(found.differences[0], ::testing::HasSubstr("where it is 1.5 mm deep"));
}

// No sequence of the same number of layers does better at both depths together.
TEST(PlanDepths, ChoosesForAllDepthsTogether) {
  PlanRequest request = request_of(true);
  request.max_layers = 2;
  const double depths[] = {2.8, 1.2};
  const DepthPlans found = plan_depths(request, depths);
  const std::vector<Reading> readings(2, request.target);
  for (const Paste& a : request.pastes.pastes) {
    for (const Paste& b : request.pastes.pastes) {
      if (found.pastes.size() != 2 || a.name == b.name || a.role > b.role) continue;
      const std::vector<std::string> names{a.name, b.name};
      const auto others = plan_zones(request, names, readings, depths);
      const double other =
          std::sqrt((std::pow(others[0].de00_rms, 2) + std::pow(others[1].de00_rms, 2)) / 2);
      const bool acceptable = std::max(others[0].de00, others[1].de00) <= 1.8;
      if (acceptable) EXPECT_GE(other, found.de00_rms - 0.03) << a.name << " " << b.name;
    }
  }
  EXPECT_THROW((void)plan_depths(request, std::vector<double>{2}), ArgumentError);
  EXPECT_THROW((void)plan_depths(request, std::vector<double>{2, -1}), ArgumentError);
}

}  // namespace
}  // namespace mamelon
