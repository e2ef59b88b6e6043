// How well stacks are predicted from constants that were fitted to noisy drawdowns. By hand:
// MAMELON_STUDIES=100 test_material --gtest_filter='*Study*'

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>

#include <Eigen/Dense>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/drawdown.h"

#include "base/numbers.h"
#include "drawdown_samples.h"

namespace mamelon {
namespace {

using test::flat;
using test::visible;

int runs() {
  const char* text = std::getenv("MAMELON_STUDIES");  // NOLINT(concurrency-mt-unsafe)
  return text == nullptr ? 0 : static_cast<int>(detail::parse_number(text).value_or(0));
}

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

struct Truth {
  Engine engine;
  double g = 0;
  int streams = 4;
  double density = 1;  // of the pastes' scattering
};

// An invented paste whose K and S, or µa = K/2 and µs′ = 4/3 S, are of the order of composites.
Paste draw_paste(const Truth& truth, std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  const double s550 = truth.density * 0.5 * std::pow(4, uniform(random));
  const double exponent = 0.2 + 0.8 * uniform(random);
  const double k550 = 0.01 + 0.05 * uniform(random);
  const double blue = 0.05 + 0.5 * uniform(random);
  const double tint = 0.1 * uniform(random);
  std::vector<double> k;
  std::vector<double> s;
  for (std::size_t i = 0; i < visible.count; ++i) {
    const double nm = visible.wavelength_nm(i);
    k.push_back(k550 * std::pow(nm / 550, -1.2) + blue * std::exp(-std::pow((nm - 380) / 85, 2)) +
                tint * std::exp(-std::pow((nm - 525) / 45, 2)));
    s.push_back(s550 * std::pow(nm / 550, -exponent));
  }
  Paste paste;
  paste.name = "drawn";
  paste.absorption = PerMm(visible, k);
  paste.scattering = PerMm(visible, s);
  if (truth.engine == Engine::transport) {
    for (double& value : k) value /= 2;
    for (double& value : s) value /= 0.75;
    paste.transport = TransportConstants{PerMm(visible, k), PerMm(visible, s), truth.g};
  }
  return paste;
}

constexpr double noise = 0.002;
constexpr double thickness_sd = 0.02;

std::vector<Drawdown> simulate(const Paste& paste, const Truth& truth,
                               const std::vector<double>& thicknesses, std::mt19937& random) {
  return test::simulate(paste, thicknesses, noise, thickness_sd, random, [&](const Stack& stack) {
    return predict(stack, truth.engine, truth.streams);
  });
}

// The readings' colours in their place, with noise of their own in place of the reflectances'.
void as_colours(std::vector<Drawdown>& drawdowns, double lab_noise, std::mt19937& random) {
  std::normal_distribution<double> normal;
  for (Drawdown& one : drawdowns) {
    Lab lab = to_lab(one.measured, d65());
    lab = {lab.l + lab_noise * normal(random), lab.a + lab_noise * normal(random),
           lab.b + lab_noise * normal(random)};
    one.measured_lab = lab;
    one.lab_sd = std::hypot(lab_noise, 0.03);
    one.measured = {};
  }
}

struct Score {
  std::vector<double> de;
  int inside = 0;      // coordinates within ±1.96 sd
  int ellipsoids = 0;  // colours within the 95 % ellipsoid
  void add(const Lab& truth, const FittedPrediction& predicted) {
    de.push_back(de00(truth, predicted.lab.value));
    const Mat3 c = predicted.lab.covariance();
    const Eigen::Vector3d off(truth.l - predicted.lab.value.l, truth.a - predicted.lab.value.a,
                              truth.b - predicted.lab.value.b);
    Eigen::Matrix3d covariance;
    for (int i = 0; i < 3; ++i) {
      for (int k = 0; k < 3; ++k) {
        covariance(i, k) = c.at(static_cast<std::size_t>(i)).at(static_cast<std::size_t>(k));
      }
      inside += std::abs(off[i]) < 1.96 * std::sqrt(covariance(i, i)) ? 1 : 0;
    }
    constexpr double chi_square_3_95 = 7.815;
    ellipsoids += off.dot(covariance.ldlt().solve(off)) < chi_square_3_95 ? 1 : 0;
  }
  void print(const char* what) {
    std::sort(de.begin(), de.end());
    const auto n = static_cast<double>(de.size());
    double sum = 0;
    for (const double value : de) sum += value;
    std::printf(
        "  %-8s mean %.3f p95 %.3f max %.3f  coordinates in 95 %%: %.1f  ellipsoids: %.1f\n", what,
        sum / n, de[static_cast<std::size_t>(0.95 * n)], de.back(), 100 * inside / (3 * n),
        100 * ellipsoids / n);
  }
};

void study(const char* name, const Truth& truth, const std::vector<double>& thicknesses,
           Engine engine, double model_sd, double lab_noise = 0) {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> uniform(0, 1);
  Score single;
  Score bilayer;
  PasteFitOptions options;
  options.engine = engine;
  options.model_sd = model_sd;
  options.viewing = d65();
  const auto drawdowns = [&](const Paste& paste) {
    std::vector<Drawdown> all = simulate(paste, truth, thicknesses, random);
    if (lab_noise > 0) as_colours(all, lab_noise, random);
    return all;
  };
  double chi_square = 0;
  int g_told = 0;
  for (int run = 0; run < runs(); ++run) {
    const Paste lower = draw_paste(truth, random);
    const Paste upper = draw_paste(truth, random);
    const PasteFit lower_fit = fit_paste(drawdowns(lower), options);
    const PasteFit upper_fit = fit_paste(drawdowns(upper), options);
    chi_square += lower_fit.chi_square / lower_fit.degrees_of_freedom / runs();
    g_told += lower_fit.anisotropy_fitted ? 1 : 0;
    const Reflectance floor = flat(0.05 + 0.5 * uniform(random));
    const double d1 = 0.6 + 1.4 * uniform(random);
    const double d2 = 0.3 + 0.9 * uniform(random);
    const auto seen = [&](const std::vector<Layer>& layers) {
      return to_lab(predict(Stack{floor, layers, false}, truth.engine, truth.streams), d65());
    };
    const std::vector<FittedLayer> one{{&lower_fit, d1, 0}};
    const std::vector<FittedLayer> two{{&lower_fit, d1, 0}, {&upper_fit, d2, 0}};
    single.add(seen({{lower, d1}}), predict_fitted(floor, one, d65()));
    bilayer.add(seen({{lower, d1}, {upper, d2}}), predict_fitted(floor, two, d65()));
  }
  std::printf("%s: chi-square/dof %.2f, g told %d of %d\n", name, chi_square, g_told, runs());
  single.print("single");
  bilayer.print("bilayer");
}

TEST(DrawdownStudy, TwoFluxesOnTwoFluxes) {
  if (runs() == 0) GTEST_SKIP() << "set MAMELON_STUDIES to the number of runs";
  for (const double density : {1.0, 2.5}) {
    std::printf("S of %.2f to %.1f per mm\n", 0.5 * density, 2 * density);
    const Truth truth{Engine::kubelka_munk, 0, 4, density};
    study("KM on KM, 0.5 1 2 mm", truth, {0.5, 1, 2}, Engine::kubelka_munk, 0);
    study("KM on KM, 1 mm", truth, {1}, Engine::kubelka_munk, 0);
    study("KM on KM, 2 mm", truth, {2}, Engine::kubelka_munk, 0);
  }
}

TEST(DrawdownStudy, ColoursAlone) {
  if (runs() == 0) GTEST_SKIP() << "set MAMELON_STUDIES to the number of runs";
  const Truth truth{Engine::kubelka_munk, 0, 4};
  for (const double lab_noise : {0.01, 0.15}) {
    std::printf("Lab of 1 mm over black and white, noise %.2f\n", lab_noise);
    study("KM on KM, Lab, 1 mm", truth, {1}, Engine::kubelka_munk, 0, lab_noise);
  }
}

TEST(DrawdownStudy, BothEnginesOnThirtyTwoStreams) {
  if (runs() == 0) GTEST_SKIP() << "set MAMELON_STUDIES to the number of runs";
  for (const double density : {1.0, 2.5}) {
    for (const double g : {0.0, 0.5, 0.8}) {
      std::printf("truth: 32 streams, g = %.1f, density %.1f\n", g, density);
      const Truth truth{Engine::transport, g, 32, density};
      study("KM, 0.5 1 2 mm", truth, {0.5, 1, 2}, Engine::kubelka_munk, kubelka_munk_model_sd);
      study("KM, 1 mm", truth, {1}, Engine::kubelka_munk, kubelka_munk_model_sd);
      study("transport, 0.5 1 2 mm", truth, {0.5, 1, 2}, Engine::transport, transport_model_sd);
      study("transport, 1 mm", truth, {1}, Engine::transport, transport_model_sd);
    }
  }
}

}  // namespace
}  // namespace mamelon
