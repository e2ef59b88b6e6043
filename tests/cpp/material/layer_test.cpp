#include <array>
#include <cmath>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/stack.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

struct Constants {
  double k = 0;
  double s = 0;
  double d = 0;
};

double on_floor(const std::vector<Constants>& layers, double floor) {
  for (const Constants& c : layers) {
    floor = over(layer_optics(c.k, c.s, c.d), floor);
  }
  return floor;
}

Constants random_constants(std::mt19937& random) {
  std::uniform_real_distribution<double> exponent(-3, 0.7);
  std::uniform_real_distribution<double> thickness(0.05, 4);
  const double k = std::pow(10, exponent(random));
  const double s = std::pow(10, exponent(random));
  return {k, s, thickness(random)};
}

double number(const std::string& text) {
  return detail::parse_number(text).value();
}

TEST(Layer, ThickLayersReachTheRationalLimits) {
  // R∞ = 1 + K/S − √((K/S)² + 2K/S) (Kubelka and Munk 1931) is rational for these ratios.
  const std::array<std::array<double, 2>, 5> cases{{{1.0 / 60, 5.0 / 6},
                                                    {1.0 / 12, 2.0 / 3},
                                                    {1.0 / 4, 1.0 / 2},
                                                    {2.0 / 3, 1.0 / 3},
                                                    {8.0 / 5, 1.0 / 5}}};
  for (const auto& [ratio, limit] : cases) {
    for (const double s : {0.5, 40.0, 5000.0}) {
      const LayerOptics layer = layer_optics(ratio * s, s, 400);
      EXPECT_NEAR(layer.r0, limit, 1e-14);
      EXPECT_NEAR(layer.t, 0, 1e-14);
    }
  }
}

TEST(Layer, AgreesWithValuesComputedFromTheTextbookForm) {
  // Computed from the sinh/coth form of Kubelka 1948 in double precision, ten digits.
  struct Row {
    Constants c;
    double r0, t, on_dark, on_grey, on_white;
  };
  const std::array<Row, 4> rows{{
      {{.10, .70, 1.0}, .3784792303, .5274003642, .3840846842, .4726128608, .7270433362},
      {{.40, .90, 1.0}, .3491823107, .3364214447, .3514618178, .3871091407, .4859899890},
      {{.02, 1.20, 2.0}, .6849871252, .2764058739, .6865363533, .7138353954, .8404352997},
      {{.05, .50, 0.5}, .1954084980, .7799267821, .2076219459, .3892581972, .8154363143},
  }};
  for (const Row& row : rows) {
    const LayerOptics layer = layer_optics(row.c.k, row.c.s, row.c.d);
    EXPECT_NEAR(layer.r0, row.r0, 1e-10);
    EXPECT_NEAR(layer.t, row.t, 1e-10);
    EXPECT_NEAR(over(layer, .02), row.on_dark, 1e-10);
    EXPECT_NEAR(over(layer, .30), row.on_grey, 1e-10);
    EXPECT_NEAR(over(layer, .85), row.on_white, 1e-10);
  }
}

TEST(Layer, AgreesWithAnotherLibrarysPublishedCases) {
  // painty, modules/core/test/src/kubelka_munk_test.cpp (layers of 0.5); its S = 0 case is clamped,
  // so the exact R_g e^(−2Kd) stands here instead.
  EXPECT_NEAR(on_floor({{.2, .124, .5}}, .65), .541596, 5e-7);
  EXPECT_NEAR(on_floor({{.1, .658, .5}}, .2), .343822, 5e-7);
  EXPECT_NEAR(on_floor({{.22, .123, .5}}, .2146), .206651, 5e-7);
  EXPECT_NEAR(on_floor({{.2, 0, .5}}, .65), .65 * std::exp(-.2), 1e-15);
}

TEST(Layer, AgreesWithFortyDigitIntegration) {
  // tests/python/reference_optics/kubelka_munk_stacks.py integrates the differential equations.
  std::ifstream file(MAMELON_TEST_DATA_DIR "/kubelka_munk_stacks.csv");
  std::string line;
  ASSERT_TRUE(std::getline(file, line));
  int rows = 0;
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::string floor, stack, reflectance, transmittance;
    std::getline(cells, floor, ',');
    std::getline(cells, stack, ',');
    std::getline(cells, reflectance, ',');
    std::getline(cells, transmittance, ',');
    std::vector<Constants> layers;
    std::istringstream parts(stack);
    for (std::string part; std::getline(parts, part, ';');) {
      std::istringstream words(part);
      std::string k, s, d;
      words >> k >> s >> d;
      layers.push_back({number(k), number(s), number(d)});
    }
    EXPECT_NEAR(on_floor(layers, number(floor)), number(reflectance), 1e-14) << line;
    const Constants& last = layers.back();
    EXPECT_NEAR(layer_optics(last.k, last.s, last.d).t, number(transmittance), 1e-14) << line;
    ++rows;
  }
  EXPECT_EQ(rows, 14);
}

TEST(Layer, LimitsAreExact) {
  for (const double d : {0.001, 0.7, 30.0}) {
    const LayerOptics clear = layer_optics(0, 0, d);
    EXPECT_EQ(clear.r0, 0);
    EXPECT_EQ(clear.t, 1);
    const LayerOptics white = layer_optics(0, 2, d);
    EXPECT_DOUBLE_EQ(white.r0, 2 * d / (1 + 2 * d));
    EXPECT_DOUBLE_EQ(white.t, 1 / (1 + 2 * d));
    const LayerOptics dye = layer_optics(2, 0, d);
    EXPECT_EQ(dye.r0, 0);
    EXPECT_NEAR(dye.t, std::exp(-2 * d), 1e-15);
  }
  const LayerOptics none = layer_optics(0.3, 1.1, 0);
  EXPECT_EQ(none.r0, 0);
  EXPECT_EQ(none.t, 1);
  const LayerOptics chalk = layer_optics(1e-6, 9000, 30);
  EXPECT_TRUE(std::isfinite(chalk.r0) && std::isfinite(chalk.t));
  EXPECT_NEAR(chalk.r0, 1 + 1e-6 / 9000 - std::sqrt(1e-6 / 9000 * (2 + 1e-6 / 9000)), 1e-5);
}

TEST(Layer, TheSeriesMeetsTheQuotientWhereItTakesOver) {
  const double s = 0.8;
  for (const double x : {0.999999e-3, 1.000001e-3}) {
    const double k = -s + std::sqrt(s * s + x * x);
    const LayerOptics layer = layer_optics(k, s, 1);
    const double expected_u = static_cast<double>(std::tanh(static_cast<long double>(x)) / x);
    EXPECT_NEAR(layer.r0, s * expected_u / (1 + (k + s) * expected_u), 1e-15);
  }
}

TEST(Layer, SplittingALayerChangesNothing) {
  EXPECT_NEAR(on_floor({{.1, .7, 2.0}}, .02), .5034846172, 1e-10);
  std::mt19937 random(1);
  std::uniform_real_distribution<double> fraction(0, 1);
  for (int i = 0; i < 2000; ++i) {
    const Constants c = random_constants(random);
    const double cut = c.d * fraction(random);
    const double floor = fraction(random);
    EXPECT_NEAR(on_floor({c}, floor), on_floor({{c.k, c.s, cut}, {c.k, c.s, c.d - cut}}, floor),
                1e-13);
  }
}

TEST(Layer, EnergyIsKept) {
  std::mt19937 random(2);
  for (int i = 0; i < 2000; ++i) {
    const Constants c = random_constants(random);
    const LayerOptics absorbing = layer_optics(c.k, c.s, c.d);
    EXPECT_GE(absorbing.r0, 0);
    EXPECT_GE(absorbing.t, 0);
    EXPECT_LT(absorbing.r0 + absorbing.t, 1);
    const LayerOptics clear = layer_optics(0, c.s, c.d);
    EXPECT_NEAR(clear.r0 + clear.t, 1, 1e-15);
  }
}

TEST(Layer, MoreAbsorptionNeverLightensAndAWhiterFloorNeverDarkens) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int i = 0; i < 2000; ++i) {
    const Constants c = random_constants(random);
    const double floor = uniform(random);
    const double r = on_floor({c}, floor);
    EXPECT_LE(on_floor({{c.k * (1 + uniform(random)), c.s, c.d}}, floor), r);
    EXPECT_GE(on_floor({c}, floor + (1 - floor) * uniform(random)), r);
  }
}

TEST(Stacked, AddingFromAboveEqualsGrowingFromTheFloor) {
  // Dentine-like under enamel-like; computed from the formulas, both ways, ten digits.
  EXPECT_NEAR(on_floor({{.10, .90, 1.0}, {.03, .45, .5}}, .02), .4907859029, 1e-10);
  EXPECT_NEAR(on_floor({{.03, .45, .5}, {.10, .90, 1.0}}, .02), .4831588210, 1e-10);
  std::mt19937 random(4);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int i = 0; i < 2000; ++i) {
    const Constants lower = random_constants(random);
    const Constants upper = random_constants(random);
    const LayerOptics l = layer_optics(lower.k, lower.s, lower.d);
    const LayerOptics u = layer_optics(upper.k, upper.s, upper.d);
    const double floor = uniform(random);
    const TwoSidedOptics both = stacked({u.r0, u.r0, u.t}, {l.r0, l.r0, l.t});
    EXPECT_NEAR(both.r_top + both.t * both.t * floor / (1 - both.r_bottom * floor),
                on_floor({lower, upper}, floor), 1e-13);
    // Kubelka 1954: the transmittance of a stack is the same from both sides.
    const TwoSidedOptics turned = stacked({l.r0, l.r0, l.t}, {u.r0, u.r0, u.t});
    EXPECT_NEAR(both.t, turned.t, 1e-15);
    EXPECT_NEAR(both.r_top, turned.r_bottom, 1e-15);
  }
}

}  // namespace
}  // namespace mamelon
