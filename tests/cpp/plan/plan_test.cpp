#include "mamelon/plan.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>
#include <span>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/appearance.h"

#include "plan_samples.h"

namespace mamelon {
namespace {

using test::sample_paste;
using test::sample_request;
using test::sample_set;
using test::target_curve;
using test::target_lab;
using ::testing::HasSubstr;

double total_mm(const Plan& plan) {
  return std::accumulate(
      plan.layers.begin(), plan.layers.end(), 0.0,
      [](double sum, const PlannedLayer& layer) { return sum + layer.thickness_mm; });
}

template <class Failure>
void expect_refused(const PlanRequest& request, const char* part) {
  try {
    (void)plan(request);
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const Failure& error) {
    EXPECT_THAT(error.what(), HasSubstr(part));
  }
}

Reflectance internal_floor(double seen, double index) {
  return test::flat_floor(to_internal(seen, interface_of(index, false)));
}

TEST(Plan, FindsTheStackThatMadeTheTarget) {
  const PasteSet set = sample_set(8, 11);
  const Stack made{internal_floor(0.25, 1.54), {{set.pastes[1], 1.2}, {set.pastes[3], 0.8}}, false};
  PlanRequest request = sample_request(set, target_curve(predict(made)), 2.0);
  request.thickness_sd_mm = 0;
  const PlanSet found = plan(request);
  const auto best =
      std::min_element(found.plans.begin(), found.plans.end(),
                       [](const Plan& a, const Plan& b) { return a.de00_rms < b.de00_rms; });
  ASSERT_EQ(best->layers.size(), 2U);
  EXPECT_EQ(best->layers[0].paste, set.pastes[1].name);
  EXPECT_EQ(best->layers[1].paste, set.pastes[3].name);
  EXPECT_EQ(best->layers[0].thickness_mm, 1.2);
  EXPECT_LT(best->de00, 0.01);
  for (const PredictedColour& colour : best->predicted) {
    EXPECT_LT(colour.de00, 0.05) << to_string(colour.viewing);
  }
}

TEST(Plan, EveryPlanFillsTheDepthWithinTheLimits) {
  PlanRequest request = sample_request(sample_set(10, 3), target_lab({74, 2, 19}), 3.2);
  request.placing.lamp_irradiance_mw_cm2 = 1000;
  for (Paste& paste : request.pastes.pastes) {
    paste.minimum_mm = 0.4;
    paste.maximum_mm = 2.5;
  }
  const PlanSet found = plan(request);
  ASSERT_FALSE(found.plans.empty());
  for (const Plan& plan : found.plans) {
    EXPECT_NEAR(total_mm(plan), 3.2, 1e-9);
    double placed = 0;
    int order = 0;
    for (const Increment& increment : plan.increments) {
      EXPECT_EQ(increment.order, ++order);
      EXPECT_LE(increment.thickness_mm, 2.0 + 1e-9);
      ASSERT_TRUE(increment.exposure_s.has_value());
      EXPECT_DOUBLE_EQ(*increment.exposure_s, 16);
      placed += increment.thickness_mm;
    }
    EXPECT_NEAR(placed, 3.2, 1e-9);
    for (std::size_t i = 0; i < plan.layers.size(); ++i) {
      EXPECT_GE(plan.layers[i].thickness_mm, 0.4 - 1e-9);
      EXPECT_LE(plan.layers[i].thickness_mm, 2.5 + 1e-9);
      if (i > 0) {
        EXPECT_LE(plan.layers[i - 1].role, plan.layers[i].role);
      }
    }
  }
}

TEST(Plan, TheExpectedDifferenceIsTheMonteCarloRootMeanSquare) {
  const PasteSet set = sample_set(10, 5);
  PlanRequest request = sample_request(set, target_lab({72, 2.5, 20}), 2.5);
  request.target.lab.random = diagonal({0.1, 0.04, 0.09});
  for (Paste& paste : request.pastes.pastes) {
    paste.reflectance_sd = 0;
  }
  const Plan best = plan(request).plans.front();
  std::mt19937 random(1);
  std::normal_distribution<double> normal;
  double sum = 0;
  constexpr int draws = 20000;
  for (int i = 0; i < draws; ++i) {
    Stack stack{internal_floor(0.25, 1.54), {}, false};
    for (const PlannedLayer& layer : best.layers) {
      const auto paste = std::find_if(set.pastes.begin(), set.pastes.end(),
                                      [&](const Paste& p) { return p.name == layer.paste; });
      stack.layers.push_back({*paste, std::max(0.01, layer.thickness_mm + 0.15 * normal(random))});
    }
    const Lab target{72 + std::sqrt(0.1) * normal(random), 2.5 + 0.2 * normal(random),
                     20 + 0.3 * normal(random)};
    const double de = de00(target, to_lab(predict(stack), test::d65()));
    sum += de * de;
  }
  const double monte_carlo = std::sqrt(sum / draws);
  EXPECT_NEAR(best.de00_rms, monte_carlo, 0.05 * monte_carlo);
}

TEST(Plan, PrefersTheFewestLayersThatLookTheSame) {
  const PasteSet set = sample_set(10, 7);
  const Stack single{internal_floor(0.25, 1.54), {{set.pastes[2], 2.0}}, false};
  const PlanSet easy = plan(sample_request(set, target_curve(predict(single)), 2.0));
  EXPECT_EQ(easy.plans[easy.recommended].layers.size(), 1U);
  EXPECT_THAT(easy.why, HasSubstr("best of two layers would gain"));

  // A dark floor shows through every single paste; an opaque one beneath hides it.
  const PasteSet two{
      "two",
      {sample_paste("hide", Role::opaque, 6, 0.5), sample_paste("skin", Role::enamel, 0.6, 0.8)},
      {}};
  Stack layered{internal_floor(0.05, 1.54), {{two.pastes[0], 0.8}, {two.pastes[1], 0.8}}, false};
  PlanRequest request = sample_request(two, target_curve(predict(layered)), 1.6);
  request.floor = test::flat_floor(0.05);
  const PlanSet hard = plan(request);
  EXPECT_EQ(hard.plans[hard.recommended].layers.size(), 2U);
  EXPECT_GT(hard.second_layer_gain_de00, threshold::perceptible_de00);
  EXPECT_THAT(hard.why, HasSubstr("is not acceptable"));
}

TEST(Plan, SaysWhatIsOutOfReach) {
  PlanRequest request = sample_request(sample_set(10, 9), target_lab({92, 0, 4}), 1.5);
  request.floor = test::flat_floor(0.05);
  const PlanSet found = plan(request);
  EXPECT_GT(found.plans[found.recommended].de00, threshold::acceptable_de00);
  EXPECT_THAT(found.warnings, ::testing::Contains(HasSubstr("darker than the target")));
  EXPECT_THAT(found.warnings, ::testing::Contains(HasSubstr("another paste is needed")));
}

TEST(Plan, NeverAdvisesMoreDepthForTheSakeOfColour) {
  const PasteSet set{"one", {sample_paste("cover", Role::body, 2, 0.6)}, {}};
  const Stack deep{internal_floor(0.05, 1.54), {{set.pastes[0], 3}}, false};
  PlanRequest request = sample_request(set, target_curve(predict(deep)), 0.5);
  request.floor = test::flat_floor(0.05);
  const PlanSet shallow = plan(request);
  ASSERT_TRUE(shallow.out_of_reach.has_value());
  for (const std::string& warning : shallow.warnings) {
    EXPECT_THAT(warning, ::testing::Not(HasSubstr("a depth of")));
    EXPECT_THAT(warning, ::testing::Not(HasSubstr("more depth")));
  }
}

// Of any plans listed, those that are acceptable come before those that spare a layer.
TEST(Plan, RecommendsAnAcceptablePlanWhereThereIsOne) {
  std::mt19937 random(16);
  std::uniform_real_distribution<double> uniform(0, 1);
  PlanRequest request = sample_request(sample_set(6, 16), target_lab({74, 2, 19}), 4);
  int spared = 0;
  for (int i = 0; i < 60; ++i) {
    request.target =
        target_lab({66 + 16 * uniform(random), 4 * uniform(random), 8 + 16 * uniform(random)});
    request.floor = test::flat_floor(0.05 + 0.2 * uniform(random));
    request.depth_mm = 1 + 0.1 * static_cast<double>(random() % 31);
    const PlanSet found = plan(request);
    const Plan& chosen = found.plans[found.recommended];
    double least = std::numeric_limits<double>::infinity();
    for (const Plan& plan : found.plans) {
      least = std::min(least, plan.de00_rms);
      if (plan.de00 <= threshold::acceptable_de00) {
        EXPECT_LE(chosen.de00, threshold::acceptable_de00) << i;
        EXPECT_FALSE(found.out_of_reach.has_value()) << i;
      }
    }
    // Where the rule of expected ΔE00 alone would have spared a layer at the price of
    // acceptability.
    const Plan& first = found.plans.front();
    spared += first.layers.size() < chosen.layers.size() &&
                      first.de00_rms <= least + threshold::perceptible_de00
                  ? 1
                  : 0;
  }
  EXPECT_GT(spared, 0);
}

TEST(Plan, LayersAreWholeTenthsThatAddUpToTheDepth) {
  for (const double depth : {1.7, 2.3, 2.9}) {
    PlanRequest request = sample_request(sample_set(8, 3), target_lab({74, 2, 19}), depth);
    for (const Plan& plan : plan(request).plans) {
      int tenths = 0;
      for (const PlannedLayer& layer : plan.layers) {
        EXPECT_NEAR(10 * layer.thickness_mm, std::round(10 * layer.thickness_mm), 1e-9);
        tenths += static_cast<int>(std::lround(10 * layer.thickness_mm));
      }
      EXPECT_EQ(tenths, std::lround(10 * depth));
    }
  }
  PlanRequest odd = sample_request(sample_set(8, 3), target_lab({74, 2, 19}), 2.26);
  EXPECT_THAT(plan(odd).warnings, ::testing::Contains(HasSubstr("planned as 2.3 mm")));
  odd.step_mm = 0;
  expect_refused<ArgumentError>(odd, "the plan.step_mm: expected a number from 0.01 to 0.5, got 0");
}

TEST(Plan, WarnsOfPortionsThatTheLightDoesNotCure) {
  Paste dense = sample_paste("slate", Role::body, 8, 9);
  dense.increment_limit_mm = 5;
  PlanRequest request = sample_request({"one", {dense}, {}}, target_lab({60, 2, 25}), 5);
  request.max_layers = 1;
  EXPECT_THAT(plan(request).warnings,
              ::testing::Contains(HasSubstr("of the curing light through to its underside")));
  const PlanRequest usual = sample_request(sample_set(8, 3), target_lab({74, 2, 19}), 1);
  EXPECT_THAT(plan(usual).warnings, ::testing::Not(::testing::Contains(HasSubstr("curing light"))));
}

TEST(Plan, TheContactWallIsPartOfThePlan) {
  PlanRequest request = sample_request(sample_set(8, 3), target_lab({74, 2, 19}), 2.4);
  EXPECT_FALSE(plan(request).plans.front().contact_wall.has_value());
  request.placing.contact_wall = true;
  request.placing.contact_wall_width_mm = 0.8;
  const PlanSet found = plan(request);
  const Plan& best = found.plans[found.recommended];
  ASSERT_TRUE(best.contact_wall.has_value());
  EXPECT_EQ(best.contact_wall->paste, best.layers.back().paste);
  EXPECT_EQ(best.contact_wall->width_mm, 0.8);
  EXPECT_NEAR(best.contact_wall->height_mm, 2.4, 1e-9);
  const PlannedLayer alone{best.contact_wall->paste, Role::body, 2.4, 0, false};
  EXPECT_NEAR(best.contact_wall->in_front.de00, predict_plan(request, std::span(&alone, 1)).de00,
              1e-9);
  EXPECT_THAT(found.warnings, ::testing::Contains(HasSubstr("over the contact wall, 0.8 mm of")));
  request.placing.contact_wall_width_mm = 0.1;
  expect_refused<ArgumentError>(request, "contact_wall_width_mm: expected a number from 0.3 to 3");
}

TEST(Plan, AHandThatKeepsTheTotalErrsLess) {
  const PasteSet set = sample_set(8, 3);
  PlanRequest request = sample_request(set, target_lab({74, 2, 19}), 2.4);
  request.max_layers = 1;
  for (Paste& paste : request.pastes.pastes) paste.reflectance_sd = 0;
  request.total_held = true;
  const Plan held = plan(request).plans.front();
  // One layer that fills a depth that is kept has no error of thickness.
  EXPECT_NEAR(held.de00_rms, held.de00, 1e-6);
  request.total_held = false;
  const PlannedLayer same[] = {held.layers.front()};
  EXPECT_GT(predict_plan(request, same).de00_rms, held.de00_rms);
}

TEST(Plan, StopsWhenItsCallerSaysSo) {
  const PlanRequest request = sample_request(sample_set(10, 3), target_lab({74, 2, 19}), 2.4);
  int asked = 0;
  double last = 0;
  EXPECT_THROW((void)plan(request,
                          [&](double share) {
                            EXPECT_GE(share, last);
                            last = share;
                            return ++asked < 20;
                          }),
               StoppedError);
  EXPECT_EQ(asked, 20);
  (void)plan(request, [&](double share) {
    last = share;
    return true;
  });
  EXPECT_EQ(last, 1);
}

TEST(Plan, SaysThatTheFloorIsInTheWay) {
  const PasteSet set{"clear", {sample_paste("skin", Role::enamel, 0.5, 0.8)}, {}};
  const Stack deep{internal_floor(0.5, 1.54), {{set.pastes[0], 1.2}}, false};
  PlanRequest request = sample_request(set, target_curve(predict(deep)), 1.2);
  request.floor = test::flat_floor(0.05);
  const PlanSet found = plan(request);
  ASSERT_TRUE(found.out_of_reach.has_value());
  EXPECT_EQ(found.out_of_reach->reason,
            "floor too dark for 1.2 mm: needs an opaque layer, which the set lacks");
  EXPECT_EQ(found.out_of_reach->de00, found.plans[found.recommended].de00);
}

TEST(Plan, SaysWhatEachFurtherLayerBuys) {
  PlanRequest request = sample_request(sample_set(8, 3), target_lab({74, 2, 19}), 2.4);
  request.max_layers = 3;
  request.alternatives = 2;
  const PlanSet found = plan(request);
  ASSERT_EQ(found.gains.size(), 3U);
  EXPECT_EQ(found.gains[0].gain_de00, 0);
  for (std::size_t n = 0; n < 3; ++n) {
    EXPECT_EQ(found.gains[n].layers, static_cast<int>(n) + 1);
    const auto best = std::find_if(found.plans.begin(), found.plans.end(),
                                   [&](const Plan& p) { return p.layers.size() == n + 1; });
    EXPECT_EQ(found.gains[n].de00_rms, best->de00_rms);
    if (n > 0) {
      EXPECT_DOUBLE_EQ(found.gains[n].gain_de00,
                       found.gains[n - 1].de00_rms - found.gains[n].de00_rms);
    }
  }
  EXPECT_EQ(found.gains[1].gain_de00, found.second_layer_gain_de00);
}

TEST(Plan, SensitivityIsTheChangeOfColourWithATenthOfAMillimetre) {
  const PasteSet set = sample_set(10, 5);
  const Plan best = plan(sample_request(set, target_lab({72, 2.5, 20}), 2.5)).plans.back();
  for (std::size_t j = 0; j < best.layers.size(); ++j) {
    const auto seen = [&](double more) {
      Stack stack{internal_floor(0.25, 1.54), {}, false};
      for (std::size_t i = 0; i < best.layers.size(); ++i) {
        const auto paste = std::find_if(set.pastes.begin(), set.pastes.end(), [&](const Paste& p) {
          return p.name == best.layers[i].paste;
        });
        stack.layers.push_back({*paste, best.layers[i].thickness_mm + (i == j ? more : 0)});
      }
      return to_lab(predict(stack), test::d65());
    };
    const double change = 50 * de00(seen(-0.001), seen(0.001));
    EXPECT_NEAR(best.layers[j].de00_per_0_1_mm, change, 0.15 * change);
  }
}

TEST(Plan, ZonesKeepThePastesAndFillTheirOwnDepth) {
  PlanRequest request = sample_request(sample_set(10, 3), target_lab({74, 2, 19}), 2.4);
  const PlanSet found = plan(request);
  std::vector<std::string> pastes;
  for (const PlannedLayer& layer : found.plans.back().layers) {
    pastes.push_back(layer.paste);
  }
  const std::vector<Reading> zones{target_lab({74, 2, 19}), target_lab({70, 3, 22}),
                                   target_lab({76, 1, 15})};
  const std::vector<double> depths{2.4, 3.0, 1.5};
  const auto plans = plan_zones(request, pastes, zones, depths);
  ASSERT_EQ(plans.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(total_mm(plans[i]), depths[i], 1e-9);
    for (std::size_t j = 0; j < pastes.size(); ++j) {
      EXPECT_EQ(plans[i].layers[j].paste, pastes[j]);
    }
  }
  // The zone that was planned for has the plan's own thicknesses.
  EXPECT_NEAR(plans[0].de00_rms, found.plans.back().de00_rms, 1e-3);
  EXPECT_THROW((void)plan_zones(request, std::vector<std::string>{"none"}, zones), ArgumentError);
  EXPECT_THROW((void)plan_zones(request, pastes, zones, std::vector<double>{1}), ArgumentError);
  EXPECT_THROW((void)plan_zones(request, pastes, zones, std::vector<double>{0.1, 1, 1}),
               ModelError);
}

TEST(Plan, IsRankedByTransportWhereThePastesCarryIt) {
  const PasteSet set = test::with_transport(sample_set(8, 11));
  Stack made{internal_floor(0.25, 1.54), {{set.pastes[1], 1.2}, {set.pastes[3], 0.8}}, false};
  PlanRequest request = sample_request(set, target_curve(predict(made, Engine::transport)), 2.0);
  request.thickness_sd_mm = 0;
  const PlanSet accurate = plan(request);
  double best = 9;
  for (const Plan& found : accurate.plans) {
    EXPECT_EQ(found.engine, Engine::transport);
    Stack stack{made.floor, {}, false};
    for (const PlannedLayer& layer : found.layers) {
      const auto paste = std::find_if(set.pastes.begin(), set.pastes.end(),
                                      [&](const Paste& p) { return p.name == layer.paste; });
      stack.layers.push_back({*paste, layer.thickness_mm});
    }
    const Lab seen = to_lab(predict(stack, Engine::transport), test::d65());
    EXPECT_NEAR(found.de00, de00(request.target.lab.value, seen), 1e-9);
    best = std::min(best, found.de00);
  }
  EXPECT_LT(best, 0.05);
  // Kubelka and Munk with constants by formula miss it (the same pastes, judged by transport).
  request.rank_by_transport = false;
  const PlanSet quick = plan(request);
  EXPECT_EQ(quick.plans.front().engine, Engine::kubelka_munk);
  EXPECT_NE(quick.provenance.digest, accurate.provenance.digest);
}

TEST(Plan, AStackWithAPasteUnknownToTransportIsPredictedByTwoFluxesAsAWhole) {
  PasteSet set = test::with_transport(sample_set(6, 11));
  set.pastes[3].transport.reset();
  const PlanRequest request = sample_request(set, target_lab({74, 2, 19}), 2.0);
  const PlanSet found = plan(request);
  bool mixed = false;
  bool whole = false;
  for (const Plan& plan : found.plans) {
    const bool unknown =
        std::any_of(plan.layers.begin(), plan.layers.end(),
                    [&](const PlannedLayer& layer) { return layer.paste == set.pastes[3].name; });
    EXPECT_EQ(plan.engine, unknown ? Engine::kubelka_munk : Engine::transport);
    mixed = mixed || unknown;
    whole = whole || !unknown;
  }
  EXPECT_TRUE(mixed && whole);
  set.pastes.erase(set.pastes.begin(), set.pastes.begin() + 3);
  set.pastes.resize(1);
  const PlanRequest alone = sample_request(set, target_lab({74, 2, 19}), 2.0);
  EXPECT_THAT(plan(alone).warnings, ::testing::Contains(HasSubstr("predicted by two fluxes")));
}

TEST(Plan, FlagsThicknessesThatNoSpecimenHad) {
  PlanRequest request = sample_request(sample_set(6, 3), target_lab({74, 2, 19}), 2.4);
  for (Paste& paste : request.pastes.pastes) {
    paste.fitted_mm = {0.5, 2};
  }
  const PlanSet found = plan(request);
  for (const Plan& plan : found.plans) {
    for (const PlannedLayer& layer : plan.layers) {
      EXPECT_EQ(layer.extrapolated, layer.thickness_mm < 0.5 || layer.thickness_mm > 2);
    }
  }
  ASSERT_EQ(found.plans.front().layers.size(), 1U);
  EXPECT_TRUE(found.plans.front().layers.front().extrapolated);
  const auto& layers = found.plans[found.recommended].layers;
  const bool any = std::any_of(layers.begin(), layers.end(),
                               [](const PlannedLayer& layer) { return layer.extrapolated; });
  const auto said = ::testing::Contains(HasSubstr("its colour is extrapolated"));
  if (any) {
    EXPECT_THAT(found.warnings, said);
  } else {
    EXPECT_THAT(found.warnings, ::testing::Not(said));
  }
}

TEST(Plan, SameRequestSameAnswer) {
  const PlanRequest request = sample_request(sample_set(10, 13), target_lab({74, 2, 19}), 2.2);
  const PlanSet a = plan(request);
  const PlanSet b = plan(request);
  EXPECT_EQ(a.why, b.why);
  EXPECT_EQ(a.provenance, b.provenance);
  ASSERT_EQ(a.plans.size(), b.plans.size());
  for (std::size_t i = 0; i < a.plans.size(); ++i) {
    EXPECT_EQ(a.plans[i].de00_rms, b.plans[i].de00_rms);
    EXPECT_EQ(a.plans[i].reflectance, b.plans[i].reflectance);
  }
  PlanRequest other = request;
  other.depth_mm = 2.3;
  EXPECT_NE(plan(other).provenance.digest, a.provenance.digest);
}

// Provenance is of inputs and settings: what was worked out enters by what it was worked out from.
TEST(Plan, ProvenanceKnowsTheFloorByItsOrigin) {
  PlanRequest request = sample_request(sample_set(4, 13), target_lab({74, 2, 19}), 1);
  request.max_layers = 1;
  const auto digest = [&] { return plan(request).provenance.digest; };
  const std::string stated = digest();
  request.floor = test::flat_floor(0.25 + 1e-13);
  EXPECT_NE(digest(), stated);
  request.floor_errors = {test::flat_floor(0.01)};
  const std::string uncertain = digest();
  request.floor_errors = {test::flat_floor(0.02)};
  EXPECT_NE(digest(), uncertain);
  // As it comes from a reading: the reading counts, not the digits of the estimate.
  Reading reading = target_lab({60, 3, 18});
  reading.provenance = make_provenance("a reading", "", {});
  const Floor floor = floor_of(reading, test::visible);
  request.floor = floor.reflectance;
  request.floor_provenance = floor.provenance;
  const std::string estimated = digest();
  std::vector<double> other = floor.reflectance.values();
  other.front() += 1e-13;
  request.floor = Reflectance(test::visible, other);
  EXPECT_EQ(digest(), estimated);
  reading.provenance = make_provenance("another reading", "", {});
  request.floor_provenance = floor_of(reading, test::visible).provenance;
  EXPECT_NE(digest(), estimated);
  // The same of the target.
  request.target.provenance = make_provenance("a tooth", "", {});
  const std::string tooth = digest();
  request.target.lab.value.l += 1e-13;
  EXPECT_EQ(digest(), tooth);
  request.target.provenance = make_provenance("another tooth", "", {});
  EXPECT_NE(digest(), tooth);
}

TEST(Plan, RequestsThatMakeNoSenseAreRefused) {
  const PlanRequest good = sample_request(sample_set(4, 1), target_lab({74, 2, 19}), 2);
  PlanRequest bad = good;
  bad.depth_mm = 0;
  expect_refused<ArgumentError>(bad, "depth is 0 mm");
  bad.depth_mm = -1;
  expect_refused<ArgumentError>(bad, "depth is -1 mm");
  bad.depth_mm = std::numeric_limits<double>::quiet_NaN();
  expect_refused<ArgumentError>(bad, "depth");
  bad.depth_mm = 25;
  expect_refused<ModelError>(bad, "20 mm");
  bad = good;
  bad.max_layers = 4;
  expect_refused<ArgumentError>(bad,
                                "the plan.max_layers: expected a whole number from 1 to 3, got 4");
  bad = good;
  bad.pastes.pastes.clear();
  expect_refused<ArgumentError>(bad, "expected 1 to 1000 items, got 0");
  bad = good;
  bad.thickness_sd_mm = -0.1;
  expect_refused<ArgumentError>(
      bad, "the plan.thickness_sd_mm: expected a number from 0 to 2, got -0.1");
  bad = good;
  bad.floor = Reflectance({400, 20, 16}, std::vector<double>(16, 0.3));
  expect_refused<ArgumentError>(bad, "different wavelength grids");
  bad = good;
  bad.floor = test::flat_floor(35);
  expect_refused<ArgumentError>(bad, "percent");
  bad = good;
  bad.specular_included = true;
  bad.floor = test::flat_floor(0.02);
  expect_refused<ModelError>(bad, "surface reflection");
  bad = good;
  bad.target.lab.value.a = 200;
  expect_refused<ArgumentError>(bad, "the target has a* 200 and b* 19; those of a surface lie");
  bad = good;
  bad.illuminant_weights = {1};
  expect_refused<ArgumentError>(bad, "illuminant weights");
  bad = good;
  for (Paste& paste : bad.pastes.pastes) {
    paste.minimum_mm = 2.5;
  }
  expect_refused<ModelError>(bad, "thinnest layer is 2.5 mm");
}

}  // namespace
}  // namespace mamelon
