// Transmittances among the drawdowns of a paste.

#include <array>
#include <cmath>
#include <fstream>
#include <random>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/drawdown.h"

#include "base/numbers.h"
#include "drawdown_samples.h"
#include "material/reading_model.h"

namespace mamelon {
namespace {

using test::flat;
using test::visible;

Drawdown passing(const std::string& specimen, double mm, Face face = Face::smooth) {
  Drawdown one;
  one.specimen = specimen;
  one.thickness_mm = mm;
  one.geometry = Geometry::transmittance;
  one.contact = Backing::air_gap;
  one.backing = flat(0);
  one.lower_face = face;
  return one;
}

// As that many streams have it of constants that are the same in every band.
double read(const Drawdown& one, double absorption, double reduced, double g, int streams,
            Engine engine = Engine::transport) {
  const detail::ReadingModel model(std::span(&one, 1), {.engine = engine, .streams = streams});
  return model.read(model.prepare({std::vector<double>(visible.count, absorption),
                                   std::vector<double>(visible.count, reduced), g}),
                    0, one.thickness_mm)[0];
}

TEST(Transmittance, AgreesWithAddingDoubling) {
  // iadpython (S. Prahl), tests/python/reference_optics/slab_totals.py.
  std::ifstream file(MAMELON_TEST_DATA_DIR "/slab_totals.csv");
  std::string line;
  std::getline(file, line);
  double largest = 0;
  double largest_of_few = 0;
  int rows = 0;
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::vector<double> v;
    for (std::string cell; std::getline(cells, cell, ',');) {
      v.push_back(detail::parse_number(cell).value());
    }
    if (v.at(4) != 1.5) continue;
    ++rows;
    const Drawdown one = passing("slab", v.at(3));
    const double reduced = v.at(1) * (1 - v.at(2));
    largest = std::max(largest, std::abs(read(one, v.at(0), reduced, v.at(2), 32) - v.at(6)));
    // The fewest that a fit takes between two mirroring faces.
    largest_of_few =
        std::max(largest_of_few, std::abs(read(one, v.at(0), reduced, v.at(2), 4) - v.at(6)));
  }
  EXPECT_EQ(rows, 36);
  EXPECT_LT(largest, 0.002);
  EXPECT_LT(largest_of_few, 0.02);
}

TEST(Transmittance, WithoutAbsorptionWhatEntersComesOut) {
  // All but the first reflection of the upper face, k1, is sent back or passes.
  for (const Face face : {Face::smooth, Face::rough}) {
    for (const double mm : {0.3, 2.0}) {
      const Drawdown through = passing("slab", mm, face);
      Drawdown back = through;
      back.geometry = Geometry::diffuse_8_excluded;
      EXPECT_NEAR(read(through, 0, 1.5, 0.7, 16) + read(back, 0, 1.5, 0.7, 16), 0.96, 1e-6);
      if (face == Face::smooth) continue;
      EXPECT_NEAR(read(through, 0, 1.5, 0, 4, Engine::kubelka_munk) +
                      read(back, 0, 1.5, 0, 4, Engine::kubelka_munk),
                  0.96, 1e-6);
    }
  }
  // Of a clear slab Fresnel's part of a ray, twice refused.
  EXPECT_NEAR(read(passing("slab", 1), 0, 1e-6, 0, 16), 0.96 / 1.04, 1e-3);
}

struct Truth {
  double g = 0.8;
  double index = 1.5;
  double scale = 1;  // of the transmittances
};

double reduced_at(double nm) {
  return 1.3 * std::pow(550 / nm, 0.6);
}
double absorption_at(double nm) {
  return 0.01 + 0.12 / (1 + std::exp((nm - 460) / 25));
}

// Three discs, by 16 streams, with noise: over each backing, and what passes.
std::vector<Drawdown> measure(const Truth& truth, const std::vector<double>& backings,
                              bool transmittances) {
  std::mt19937 random(9);
  std::normal_distribution<double> normal;
  std::vector<Drawdown> all;
  for (const double mm : {0.5, 1.0, 2.0}) {
    const double true_mm = mm + 0.01 * normal(random);
    std::vector<Drawdown> of_disc;
    if (transmittances) of_disc.push_back(passing(detail::format_short(mm), mm));
    for (const double backing : backings) {
      Drawdown one = passing(detail::format_short(mm), mm);
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = Backing::seen_in_air;
      one.backing = flat(backing);
      of_disc.push_back(one);
    }
    for (Drawdown& one : of_disc) {
      one.thickness_sd_mm = 0.01;
      if (one.geometry != Geometry::transmittance) one.aperture = Aperture{1000, 500};
      std::vector<double> k;
      std::vector<double> s;
      for (std::size_t i = 0; i < visible.count; ++i) {
        k.push_back(absorption_at(visible.wavelength_nm(i)));
        s.push_back(reduced_at(visible.wavelength_nm(i)));
      }
      const detail::ReadingModel model(std::span(&one, 1),
                                       {.engine = Engine::transport, .streams = 16});
      std::vector<double> seen =
          model.read(model.prepare({k, s, truth.g, truth.index}), 0, true_mm);
      for (double& value : seen) {
        value = (one.geometry == Geometry::transmittance ? truth.scale : 1) * value +
                0.002 * normal(random);
      }
      one.measured = Reflectance(visible, std::move(seen));
      all.push_back(one);
    }
  }
  return all;
}

PasteFitOptions by_transport() {
  PasteFitOptions options;
  options.engine = Engine::transport;
  options.model_sd = transport_model_sd;
  return options;
}

// The largest error of ln µs′ and of ln µa in sds, between 430 and 670 nm.
double worst_in_sds(const PasteFit& fit) {
  double worst = 0;
  for (std::size_t i = 3; i + 3 < visible.count; ++i) {
    const double nm = visible.wavelength_nm(i);
    worst = std::max(
        {worst, std::abs(std::log(fit.scattering[i] / reduced_at(nm))) / fit.ln_scattering_sd[i],
         std::abs(std::log(fit.absorption[i] / absorption_at(nm))) / fit.ln_absorption_sd[i]});
  }
  return worst;
}

TEST(Transmittance, IsFittedWithReflectancesOverOneBacking) {
  const PasteFit fit = fit_paste(measure({}, {0.045}, true), by_transport());
  EXPECT_LT(worst_in_sds(fit), 4);
  EXPECT_LT(fit.chi_square / fit.degrees_of_freedom, 1.3);
  EXPECT_LT(fit.ln_scattering_sd[15], 0.05);
  EXPECT_NO_THROW((void)two_fluxes_like(fit, measure({}, {0.045}, true)));
}

TEST(Transmittance, HasAScaleOfItsOwn) {
  const PasteFit fit = fit_paste(measure({.scale = 0.985}, {0.045, 0.82}, true), by_transport());
  EXPECT_LT(worst_in_sds(fit), 4);
  EXPECT_LT(std::abs(fit.scale - 1), 0.006);
}

TEST(Transmittance, OneBackingAtSeveralThicknessesIsEnough) {
  for (const double backing : {0.045, 0.82}) {
    const PasteFit fit = fit_paste(measure({}, {backing}, false), by_transport());
    EXPECT_LT(worst_in_sds(fit), 4) << backing;
  }
}

void expect_refused(const std::vector<Drawdown>& drawdowns, const char* part) {
  try {
    (void)fit_paste(drawdowns, by_transport());
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const ArgumentError& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr(part));
  }
}

TEST(Transmittance, OfAPartOrOverSomethingIsRefused) {
  std::vector<Drawdown> all = measure({}, {0.045}, true);
  all.front().contact = Backing::seen_in_air;
  expect_refused(all, "in air with nothing behind");
  all = measure({}, {0.045}, true);
  all.front().backing = flat(0.1);
  expect_refused(all, "in air with nothing behind");
  all = measure({}, {0.045}, true);
  all.front().aperture = Aperture{8, 4};
  expect_refused(all, "counts all the light");
  all.resize(1);
  expect_refused(all, "at least two backings or thicknesses");
}

TEST(Transmittance, RepeatsHaveTheirOwnNoise) {
  std::vector<Drawdown> all = measure({}, {0.045}, true);
  std::vector<Drawdown> twice;
  for (Drawdown& one : all) {
    const double apart = one.geometry == Geometry::transmittance ? 0.01 : 0.001;
    for (const double sign : {-1.0, 1.0}) {
      std::vector<double> values = one.measured.values();
      for (double& value : values) value += sign * apart;
      twice.push_back(one);
      twice.back().measured = Reflectance(visible, std::move(values));
    }
  }
  for (const Drawdown& one : average_repeats(twice)) {
    EXPECT_NEAR(one.reflectance_sd, one.geometry == Geometry::transmittance ? 0.01 : 0.001, 1e-9);
  }
}

}  // namespace
}  // namespace mamelon
