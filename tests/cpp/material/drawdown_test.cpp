#include "mamelon/drawdown.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/viewing.h"

#include "paste_samples.h"

namespace mamelon {
namespace {

using test::visible;

Reflectance flat(double r) {
  return {visible, std::vector<double>(visible.count, r)};
}

Paste invented_paste() {
  Paste paste;
  paste.name = "fawn";
  std::vector<double> k;
  std::vector<double> s;
  for (std::size_t i = 0; i < visible.count; ++i) {
    const double nm = visible.wavelength_nm(i);
    k.push_back(0.02 + 0.3 / (1 + std::exp((nm - 460) / 25)));
    s.push_back(1.1 * std::pow(550 / nm, 1.2));
  }
  paste.absorption = PerMm(visible, std::move(k));
  paste.scattering = PerMm(visible, std::move(s));
  return paste;
}

// Over black and white at the given thicknesses, with noise and errors of thickness.
std::vector<Drawdown> simulate(const Paste& paste, const std::vector<double>& thicknesses,
                               double noise, double thickness_sd, std::mt19937& random) {
  std::normal_distribution<double> normal;
  std::vector<Drawdown> drawdowns;
  for (const double d : thicknesses) {
    const double true_mm = d + thickness_sd * normal(random);
    for (const double backing : {0.03, 0.85}) {
      Drawdown one;
      one.specimen = std::to_string(d);
      one.thickness_mm = d;
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = Backing::internal;
      one.backing = flat(backing);
      std::vector<double> seen = predict(Stack{flat(backing), {{paste, true_mm}}, false}).values();
      for (double& value : seen) {
        value += noise * normal(random);
      }
      one.measured = Reflectance(visible, std::move(seen));
      drawdowns.push_back(std::move(one));
    }
  }
  return drawdowns;
}

double stack_miss(const Paste& truth, const PasteFit& fit, double thickness_mm) {
  Paste fitted = truth;
  fitted.absorption = fit.absorption;
  fitted.scattering = fit.scattering;
  const Viewing d65{standard_illuminant("D65"), Observer::deg2};
  const auto colour = [&](const Paste& paste) {
    return to_lab(predict(Stack{flat(0.1), {{paste, thickness_mm}}, false}), d65);
  };
  return de00(colour(truth), colour(fitted));
}

TEST(Drawdown, ExactReadingsReturnTheConstants) {
  std::mt19937 random(1);
  const Paste truth = invented_paste();
  PasteFitOptions loose;
  loose.scattering_bend_sd = 1;
  loose.absorption_bend_sd = 10;
  const auto drawdowns = simulate(truth, {0.5, 1, 2}, 0, 0, random);
  const PasteFit fit = fit_paste(drawdowns, loose);
  for (std::size_t i = 0; i < visible.count; ++i) {
    EXPECT_NEAR(fit.absorption[i] / truth.absorption[i], 1, 2e-3);
    EXPECT_NEAR(fit.scattering[i] / truth.scattering[i], 1, 2e-3);
  }
  EXPECT_LT(fit.residual_rms, 1e-5);
  EXPECT_TRUE(fit.warnings.empty());
}

// Mean ΔE00 of predicted 1.5 mm layers after fits to noisy drawdowns.
double mean_miss(const std::vector<double>& thicknesses, unsigned seed) {
  std::mt19937 random(seed);
  const Paste truth = invented_paste();
  double sum = 0;
  constexpr int runs = 16;
  for (int i = 0; i < runs; ++i) {
    sum += stack_miss(truth, fit_paste(simulate(truth, thicknesses, 0.002, 0.02, random)), 1.5);
  }
  return sum / runs;
}

TEST(Drawdown, NoisyReadingsPredictWellBelowWhatCanBeSeen) {
  const double three = mean_miss({0.5, 1, 2}, 2);
  const double one = mean_miss({1}, 2);
  // A quarter of the perceptibility threshold of 0.8.
  EXPECT_LT(three, 0.2);
  EXPECT_LT(three, one);
  RecordProperty("mean_de00_three_thicknesses", std::to_string(three));
  RecordProperty("mean_de00_one_thickness", std::to_string(one));
}

TEST(Drawdown, StandardErrorsAreWhatTheErrorsAre) {
  std::mt19937 random(3);
  const Paste truth = invented_paste();
  int inside = 0;
  int count = 0;
  for (int i = 0; i < 40; ++i) {
    const PasteFit fit = fit_paste(simulate(truth, {0.5, 1, 2}, 0.002, 0.02, random));
    for (const std::size_t band : {5U, 15U, 25U}) {
      const double off = std::log(fit.scattering[band] / truth.scattering[band]);
      inside += std::abs(off) < 1.96 * fit.ln_scattering_sd[band] ? 1 : 0;
      ++count;
    }
  }
  // 95 % of 120, neighbouring bands nearly the same draw: four binomial sd of 40 draws.
  EXPECT_GT(inside, static_cast<int>(0.81 * count));
}

TEST(Drawdown, ThickSpecimensLeaveScatteringUndetermined) {
  std::mt19937 random(4);
  const Paste truth = invented_paste();
  Paste dense = truth;
  dense.scattering = PerMm(visible, std::vector<double>(visible.count, 12));
  dense.absorption = PerMm(visible, std::vector<double>(visible.count, 0.6));
  const PasteFit fit = fit_paste(simulate(dense, {4}, 0.002, 0.02, random));
  EXPECT_THAT(fit.warnings, ::testing::Contains(::testing::HasSubstr("S undetermined")));
}

TEST(Drawdown, GeometryAndBackingChangeWhatIsRead) {
  // A reading of the same specimen through each description gives back the same constants.
  std::mt19937 random(5);
  const Paste truth = invented_paste();
  const auto plain = simulate(truth, {0.5, 1}, 0, 0, random);
  const PasteFit reference = fit_paste(plain);
  std::vector<Drawdown> included = plain;
  for (Drawdown& one : included) {
    one.geometry = Geometry::diffuse_8_included;
    std::vector<double> values = one.measured.values();
    for (double& value : values) {
      value += 0.04;
    }
    one.measured = Reflectance(visible, std::move(values));
  }
  const PasteFit same = fit_paste(included);
  EXPECT_NEAR(same.scattering[10], reference.scattering[10], 1e-6);
  std::vector<Drawdown> angled = plain;
  for (Drawdown& one : angled) {
    one.geometry = Geometry::angle_45_0;
  }
  EXPECT_GT(fit_paste(angled).absorption[20], 1.2 * reference.absorption[20]);
}

void expect_refused(const std::vector<Drawdown>& drawdowns, const char* part) {
  try {
    (void)fit_paste(drawdowns);
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const ArgumentError& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr(part));
  }
}

TEST(Drawdown, WhatIsNotStatedIsAnError) {
  std::mt19937 random(6);
  const auto good = simulate(invented_paste(), {1}, 0, 0, random);
  expect_refused({good[0]}, "at least two");
  auto bad = good;
  bad[0].geometry = Geometry::unstated;
  expect_refused(bad, "geometry");
  bad = good;
  bad[1].contact = Backing::unstated;
  expect_refused(bad, "optical contact");
  bad = good;
  std::swap(bad[0].measured, bad[1].measured);
  expect_refused(bad, "darker over the lighter backing");
  bad = good;
  bad[0].thickness_mm = 0;
  expect_refused(bad, "thickness");
  bad = good;
  bad[0].measured = flat(40);
  expect_refused(bad, "percent");
}

}  // namespace
}  // namespace mamelon
