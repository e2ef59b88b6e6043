#include "mamelon/drawdown.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/viewing.h"

#include "drawdown_samples.h"
#include "material/reading_model.h"

namespace mamelon {
namespace {

using test::flat;
using test::visible;

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

std::vector<Drawdown> simulate(const Paste& paste, const std::vector<double>& thicknesses,
                               double noise, double thickness_sd, std::mt19937& random) {
  return test::simulate(paste, thicknesses, noise, thickness_sd, random,
                        [](const Stack& stack) { return predict(stack); });
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

Paste invented_turbid(double g) {
  Paste paste = invented_paste();
  std::vector<double> absorption = paste.absorption.values();
  std::vector<double> reduced = paste.scattering.values();
  for (double& value : absorption) value /= 2;
  for (double& value : reduced) value /= 0.75;
  paste.transport = TransportConstants{PerMm(visible, absorption), PerMm(visible, reduced), g};
  return paste;
}

// Without noise, as each geometry reads them; the beam's by 4 streams as the fit has it.
std::vector<Drawdown> exact_turbid(const Paste& paste, const std::vector<double>& thicknesses) {
  std::vector<Drawdown> drawdowns;
  for (const double d : thicknesses) {
    for (const double backing : {0.03, 0.85}) {
      Drawdown one;
      one.specimen = std::to_string(d);
      one.thickness_mm = d;
      one.thickness_sd_mm = 1e-4;
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = Backing::internal;
      one.backing = flat(backing);
      one.reflectance_sd = 1e-5;
      one.measured = predict(Stack{flat(backing), {{paste, d}}, false}, Engine::transport);
      drawdowns.push_back(std::move(one));
    }
  }
  return drawdowns;
}

TEST(Drawdown, ExactReadingsReturnTheTransportConstants) {
  PasteFitOptions options;
  options.engine = Engine::transport;
  options.scattering_bend_sd = 1;
  options.absorption_bend_sd = 10;
  const Paste truth = invented_turbid(0.75);
  const PasteFit fit = fit_paste(exact_turbid(truth, {0.5, 1, 2}), options);
  EXPECT_TRUE(fit.anisotropy_fitted);
  EXPECT_NEAR(fit.anisotropy, 0.75, 2e-3);
  for (std::size_t i = 0; i < visible.count; ++i) {
    EXPECT_NEAR(fit.absorption[i] / truth.transport->absorption[i], 1, 3e-3);
    EXPECT_NEAR(fit.scattering[i] / truth.transport->reduced_scattering[i], 1, 3e-3);
  }
  const Paste paste =
      paste_of("fawn", Role::body, fit_paste(exact_turbid(truth, {0.5, 1, 2})), &fit);
  EXPECT_EQ(paste.fitted_mm, (std::array{0.5, 2.0}));
  EXPECT_EQ(extrapolations({flat(.2), {{paste, 1}, {paste, 2.5}}, false}).size(), 1U);
  EXPECT_THROW((void)paste_of("fawn", Role::body, fit), ArgumentError);
}

TEST(Drawdown, OneThicknessLeavesTheAnisotropyToItsDefault) {
  std::mt19937 random(8);
  PasteFitOptions options;
  options.engine = Engine::transport;
  auto drawdowns = exact_turbid(invented_turbid(0.8), {1});
  for (Drawdown& one : drawdowns) one.reflectance_sd = 0.002;
  const PasteFit fit = fit_paste(drawdowns, options);
  EXPECT_FALSE(fit.anisotropy_fitted);
  EXPECT_GT(fit.anisotropy_sd, 0.1);
  EXPECT_THAT(fit.warnings, ::testing::Contains(::testing::HasSubstr("anisotropy")));
}

TEST(Drawdown, ABeamAt45DegreesIsReadAsTheSaundersonGainSaysOfAThickDiffuser) {
  // An opaque layer scatters evenly inside, so that only the way in differs: 1 − F(45°) against
  // 1 − r_e.
  const Paste paste = invented_turbid(0);
  Paste opaque = paste;
  opaque.transport->absorption = PerMm(visible, std::vector<double>(visible.count, 1e-6));
  opaque.transport->reduced_scattering = PerMm(visible, std::vector<double>(visible.count, 50));
  Drawdown one = exact_turbid(opaque, {20})[1];
  const auto inside = [&](Geometry geometry) {
    one.geometry = geometry;
    const detail::ReadingModel model(std::span(&one, 1),
                                     {.engine = Engine::transport, .streams = 16});
    return model.read(model.prepare({opaque.transport->absorption.values(),
                                     opaque.transport->reduced_scattering.values(), 0}),
                      0, 20)[0];
  };
  const double even = inside(Geometry::diffuse_8_excluded);
  const double beam = inside(Geometry::angle_45_0);
  EXPECT_NEAR(beam / even, detail::instrument_of(Geometry::angle_45_0, 1.5).gain, 0.01);
  EXPECT_NEAR(inside(Geometry::diffuse_8_included) - even, 0.04, 1e-12);
}

TEST(Drawdown, ColoursAloneGiveTheirColoursBack) {
  const Viewing d65{standard_illuminant("D65"), Observer::deg2};
  std::mt19937 random(9);
  const Paste truth = invented_paste();
  auto drawdowns = simulate(truth, {1}, 0, 0, random);
  for (Drawdown& one : drawdowns) {
    one.measured_lab = to_lab(one.measured, d65);
    one.measured = {};
  }
  PasteFitOptions options;
  EXPECT_THROW((void)fit_paste(drawdowns, options), ArgumentError);  // no viewing
  options.viewing = d65;
  const PasteFit fit = fit_paste(drawdowns, options);
  for (const Vec3& left : fit.lab_residual) {
    for (const double value : left) EXPECT_NEAR(value, 0, 0.15);
  }
  const FittedLayer layer{&fit, 1.5, 0};
  const FittedPrediction predicted = predict_fitted(flat(0.2), std::span(&layer, 1), d65);
  const Lab seen = to_lab(predict(Stack{flat(0.2), {{truth, 1.5}}, false}), d65);
  EXPECT_LT(de00(seen, predicted.lab.value), 0.5);
  EXPECT_EQ(predicted.warnings.size(), 1U);
  // Wider than what reflectances give.
  std::mt19937 again(9);
  const PasteFit spectral = fit_paste(simulate(truth, {1}, 0, 0, again));
  EXPECT_GT(fit.ln_scattering_sd[15], spectral.ln_scattering_sd[15]);
}

TEST(Drawdown, SharedErrorsMakeUpTheJointCovariance) {
  std::mt19937 random(21);
  auto drawdowns = simulate(invented_paste(), {1}, 0, 0, random);
  const std::size_t n = 3 * drawdowns.size();
  std::vector<double> covariance(n * n);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < n; ++k) {
      covariance[i * n + k] = 0.3 * static_cast<double>(i == k) + (i % 3 == k % 3 ? 0.5 : 0.1);
    }
  }
  EXPECT_THROW(share_errors(drawdowns, covariance), ArgumentError);  // no colours
  for (Drawdown& one : drawdowns) one.measured_lab = Lab{70, 1, 15};
  EXPECT_THROW(share_errors(drawdowns, std::span(covariance).first(9)), ArgumentError);
  share_errors(drawdowns, covariance);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < n; ++k) {
      const Drawdown& one = drawdowns[i / 3];
      const Drawdown& other = drawdowns[k / 3];
      double sum = i == k ? one.lab_sd * one.lab_sd : 0;
      for (std::size_t e = 0; e < one.lab_shared.size(); ++e) {
        sum += one.lab_shared[e].at(i % 3) * other.lab_shared[e].at(k % 3);
      }
      EXPECT_NEAR(sum, covariance[i * n + k], 1e-9 + (i == k ? one.lab_sd * one.lab_sd : 0));
    }
  }
}

// What a camera misreads, it misreads of all discs in a photo: more discs do not average it away.
TEST(Drawdown, ColoursOfOnePhotoErrTogether) {
  const Viewing d65{standard_illuminant("D65"), Observer::deg2};
  const Paste truth = invented_paste();
  const Lab seen = to_lab(predict(Stack{flat(0.2), {{truth, 1.5}}, false}), d65);
  constexpr double sd = 0.8;
  PasteFitOptions options;
  options.viewing = d65;
  std::mt19937 random(22);
  std::normal_distribution<double> normal;
  constexpr int photos = 40;
  int together = 0;
  int apart = 0;
  for (int i = 0; i < photos; ++i) {
    auto drawdowns = simulate(truth, {0.5, 1, 2}, 0, 0, random);
    const double a = sd * normal(random);
    const double b = sd * normal(random);
    const std::size_t n = 3 * drawdowns.size();
    std::vector<double> covariance(n * n);
    for (std::size_t r = 0; r < n; ++r) {
      for (std::size_t c = r % 3; r % 3 != 0 && c < n; c += 3) covariance[r * n + c] = sd * sd;
    }
    for (Drawdown& one : drawdowns) {
      const Lab lab = to_lab(one.measured, d65);
      one.measured_lab = Lab{lab.l, lab.a + a, lab.b + b};
      one.measured = {};
    }
    const auto held = [&] {
      const PasteFit fit = fit_paste(drawdowns, options);
      const FittedLayer layer{&fit, 1.5, 0};
      const Measured<Lab> told = predict_fitted(flat(0.2), std::span(&layer, 1), d65).lab;
      return static_cast<int>(std::abs(told.value.a - seen.a) < 1.96 * told.sd()[1]) +
             static_cast<int>(std::abs(told.value.b - seen.b) < 1.96 * told.sd()[2]);
    };
    for (Drawdown& one : drawdowns) one.lab_sd = sd;
    apart += held();
    share_errors(drawdowns, covariance);
    together += held();
  }
  // 95 % of 80 by three binomial standard deviations.
  EXPECT_GE(together, 70);
  EXPECT_LT(apart, 70);
}

// Colours leave open much of a curve's shape, which no colour shows: a paste's modes and the sd
// beside them tell of colours what the whole covariance tells.
TEST(Drawdown, APasteFittedToColoursErrsAsItsFitSays) {
  const Viewing d65{standard_illuminant("D65"), Observer::deg2};
  // Dark enough for absorption to be told in all bands: little bends within one sd.
  Paste truth = invented_turbid(0.75);
  std::vector<double> absorption = truth.transport->absorption.values();
  for (double& per_mm : absorption) per_mm += 0.3;
  truth.transport->absorption = PerMm(visible, std::move(absorption));
  auto drawdowns = exact_turbid(truth, {0.5, 1, 2});
  for (Drawdown& one : drawdowns) {
    one.measured_lab = to_lab(one.measured, d65);
    one.measured = {};
    one.lab_sd = 0.1;
  }
  PasteFitOptions options;
  options.viewing = d65;
  const PasteFit two_fluxes = fit_paste(drawdowns, options);
  options.engine = Engine::transport;
  const PasteFit fit = fit_paste(drawdowns, options);
  const Paste paste = paste_of("fawn", Role::body, two_fluxes, &fit);
  for (const double mm : {0.5, 1.0, 1.8}) {
    const FittedLayer layer{&fit, mm, 0};
    const Vec3 whole = predict_fitted(flat(0.25), std::span(&layer, 1), d65).lab.sd();
    const std::array none{0.0};
    const Vec3 by_modes =
        predict_with_error(Stack{flat(0.25), {{paste, mm}}, false}, none, d65, Engine::transport)
            .lab.sd();
    const auto size = [](const Vec3& sd) { return std::hypot(sd[0], sd[1], sd[2]); };
    EXPECT_NEAR(size(by_modes) / size(whole), 1, 0.1) << mm;
  }
}

TEST(Drawdown, RepeatsAreAveragedAndTellTheirNoise) {
  std::mt19937 random(10);
  const Paste truth = invented_paste();
  std::vector<Drawdown> repeats;
  for (int i = 0; i < 8; ++i) {
    std::mt19937 same_thickness(3);
    std::vector<Drawdown> set = simulate(truth, {1}, 0, 0, same_thickness);
    std::normal_distribution<double> normal;
    for (Drawdown& one : set) {
      std::vector<double> values = one.measured.values();
      for (double& value : values) value += 0.004 * normal(random);
      one.measured = Reflectance(visible, std::move(values));
      repeats.push_back(std::move(one));
    }
  }
  const std::vector<Drawdown> means = average_repeats(repeats);
  ASSERT_EQ(means.size(), 2U);
  // 434 degrees of freedom: the pooled sd is right within 3.4 %, so within four of that.
  EXPECT_NEAR(means[0].reflectance_sd, 0.004 / std::sqrt(8), 0.004 / std::sqrt(8) * 0.14);
  repeats[3].thickness_mm = 1.2;
  repeats[3].specimen = repeats[1].specimen;
  EXPECT_THROW((void)average_repeats(repeats), ArgumentError);
}

TEST(Drawdown, PredictionsSayHowFarTheyCanBeOff) {
  const Viewing d65{standard_illuminant("D65"), Observer::deg2};
  std::mt19937 random(12);
  const Paste truth = invented_paste();
  int inside = 0;
  constexpr int runs = 60;
  for (int i = 0; i < runs; ++i) {
    const PasteFit fit = fit_paste(simulate(truth, {0.5, 1, 2}, 0.002, 0.02, random));
    const FittedLayer layer{&fit, 1.5, 0};
    const FittedPrediction predicted = predict_fitted(flat(0.1), std::span(&layer, 1), d65);
    const Lab seen = to_lab(predict(Stack{flat(0.1), {{truth, 1.5}}, false}), d65);
    inside += std::abs(seen.l - predicted.lab.value.l) < 1.96 * predicted.lab.sd()[0] ? 1 : 0;
  }
  // 95 % of 60 within four binomial sd.
  EXPECT_GE(inside, 50);
  // An interval that covers all by being far too wide would not do either.
  const PasteFit fit = fit_paste(simulate(truth, {0.5, 1, 2}, 0.002, 0.02, random));
  const FittedLayer sure{&fit, 1.5, 0};
  const FittedLayer unsure{&fit, 1.5, 0.2};
  const auto sd = [&](const FittedLayer& layer) {
    return predict_fitted(flat(0.1), std::span(&layer, 1), d65).lab.sd()[0];
  };
  EXPECT_LT(sd(sure), 0.3);
  EXPECT_GT(sd(unsure), 3 * sd(sure));
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
  bad = good;
  bad[1].backing = flat(0.85 - 0.82);
  expect_refused(bad, "at least two");
  bad = good;
  bad[0].measured_lab = Lab{70, 1, 10};
  expect_refused(bad, "either the measured reflectance or the measured Lab");
  bad = good;
  bad[0].measured = Reflectance(Grid{400, 20, 16}, std::vector<double>(16, 0.4));
  expect_refused(bad, "one wavelength grid");
  bad = good;
  bad[0].geometry = Geometry::diffuse_8_included;
  bad[0].contact = Backing::seen_in_air;
  bad[0].backing = flat(0.02);
  expect_refused(bad, "described as it was read");
  bad = good;
  bad[1].thickness_mm = 2;
  expect_refused(bad, "two thicknesses");
}

}  // namespace
}  // namespace mamelon
