#include "mamelon/transport.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/numbers.h"
#include "hwy/targets.h"
#include "material/ordinates.h"
#include "material/quadrature.h"
#include "paste_samples.h"

namespace mamelon {
namespace {

struct Row {
  Medium medium;
  double thickness_mm = 0;
  double index = 1;
  SlabTotals totals;
};

// tests/python/reference_optics/slab_totals.py: adding–doubling by iadpython with 24 points.
std::vector<Row> reference_rows() {
  std::ifstream file(MAMELON_TEST_DATA_DIR "/slab_totals.csv");
  std::vector<Row> rows;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::vector<double> v;
    for (std::string cell; std::getline(cells, cell, ',');) {
      v.push_back(detail::parse_number(cell).value());
    }
    rows.push_back(
        {{v.at(0), v.at(1), v.at(2)}, v.at(3), v.at(4), {v.at(5), v.at(6), v.at(7), v.at(8)}});
  }
  return rows;
}

double largest_miss(const SlabTotals& a, const SlabTotals& b) {
  return std::max({std::abs(a.r_normal - b.r_normal), std::abs(a.t_normal - b.t_normal),
                   std::abs(a.r_diffuse - b.r_diffuse), std::abs(a.t_diffuse - b.t_diffuse)});
}

TEST(Transport, MatchedSlabsAgreeWithAddingDoubling) {
  int rows = 0;
  for (const Row& row : reference_rows()) {
    if (row.index != 1) {
      continue;
    }
    SCOPED_TRACE(row.medium.anisotropy);
    const auto miss = [&](int streams) {
      return largest_miss(slab_totals(row.medium, row.thickness_mm, 1, streams), row.totals);
    };
    EXPECT_LE(miss(4), row.medium.anisotropy == 0 ? 1e-4 : 2.5e-3);
    EXPECT_LE(miss(16), 1.5e-5);
    ++rows;
  }
  EXPECT_EQ(rows, 36);
}

TEST(Transport, SlabsUnderASurfaceAgreeWithAddingDoubling) {
  int rows = 0;
  for (const Row& row : reference_rows()) {
    if (row.index == 1) {
      continue;
    }
    SCOPED_TRACE(row.medium.anisotropy);
    const SlabTotals sixteen = slab_totals(row.medium, row.thickness_mm, row.index, 16);
    const SlabTotals fine = slab_totals(row.medium, row.thickness_mm, row.index, 32);
    // With 24 points the reference itself holds Fresnel's transmittance to some 3e-4 of diffuse
    // light and 1e-4 of a beam: it does not put its quadrature right.
    EXPECT_LE(largest_miss(fine, row.totals), 3e-4);
    EXPECT_LE(std::abs(fine.r_normal - row.totals.r_normal), 1e-4);
    // At g = 0.8 the forward peak that 16 moments cannot hold still shows in a beam.
    EXPECT_LE(largest_miss(sixteen, fine), row.medium.anisotropy > 0.6 ? 3e-4 : 1.5e-4);
    ++rows;
  }
  EXPECT_EQ(rows, 36);
}

TEST(Transport, DirectionsCarryTheMomentsOfEveryIndex) {
  for (const int streams : {4, 6, 8, 16, 32}) {
    for (int step = 0; step <= 100; ++step) {
      const double index = step == 0 ? 1.0 : 1 + step / 100.0;
      const detail::Directions points =
          detail::directions(static_cast<std::size_t>(streams), index);
      double sum = 0;
      double flux = 0;
      for (std::size_t i = 0; i < points.mu.size(); ++i) {
        EXPECT_GT(points.weight[i], 0) << streams << ' ' << index;
        EXPECT_GT(points.mu[i], i == 0 ? 0 : points.mu[i - 1]);
        sum += points.weight[i];
        flux += 2 * points.weight[i] * points.mu[i];
      }
      EXPECT_NEAR(sum, 1, 1e-12);
      EXPECT_NEAR(flux, 1, 1e-12);
      EXPECT_EQ(points.mu.back(), 1);
    }
  }
}

TEST(Transport, EnergyIsKept) {
  for (const double g : {0.0, 0.6, 0.9}) {
    for (const double index : {1.0, 1.3, 1.5, 1.7}) {
      for (const int streams : {4, 6, 8, 16, 32}) {
        const SlabTotals clear = slab_totals({0, 4 / (1 - g), g}, 1.3, index, streams);
        EXPECT_NEAR(clear.r_diffuse + clear.t_diffuse, 1, 1e-9) << streams;
        const SlabTotals dyed = slab_totals({0.1, 4 / (1 - g), g}, 1.3, index, streams);
        EXPECT_LT(dyed.r_diffuse + dyed.t_diffuse, 1);
        EXPECT_GT(dyed.r_diffuse, 0);
        EXPECT_GT(dyed.t_diffuse, 0);
      }
    }
  }
}

Paste transport_paste(const std::string& name, double absorption, double reduced, double g) {
  Paste paste = test::flat_paste(name, 2 * absorption, 0.75 * reduced);
  const std::size_t bands = test::visible.count;
  paste.transport =
      TransportConstants{PerMm(test::visible, std::vector<double>(bands, absorption)),
                         PerMm(test::visible, std::vector<double>(bands, reduced)), g};
  return paste;
}

Reflectance floor_of(double r) {
  return {test::visible, std::vector<double>(test::visible.count, r)};
}

TEST(Transport, LayersAreReciprocalAndKeepTheFlux) {
  for (const double index : {1.3, 1.5, 1.8}) {
    for (const int streams : {4, 8, 16}) {
      const detail::Ordinates ordinates(streams, index);
      for (const double g : {0.0, 0.85}) {
        const double clear = 0;
        const double reduced = 1.7;
        const detail::Modes modes =
            detail::modes_of(ordinates, std::span(&clear, 1), std::span(&reduced, 1), g);
        const detail::LayerMatrices layer = detail::layer_matrices({&modes, 0.8});
        const std::size_t n = ordinates.size();
        for (std::size_t i = 0; i < n; ++i) {
          double back = 0;
          for (std::size_t j = 0; j < n; ++j) {
            EXPECT_NEAR(layer.reflection[i * n + j], layer.reflection[j * n + i], 1e-12);
            EXPECT_NEAR(layer.transmission[i * n + j], layer.transmission[j * n + i], 1e-12);
            back +=
                ordinates.flux[j] * (layer.reflection[j * n + i] + layer.transmission[j * n + i]);
          }
          EXPECT_NEAR(back, ordinates.flux[i], 1e-9);
        }
      }
    }
  }
}

TEST(Transport, PreparedPastesGiveTheSameBits) {
  Paste upper = transport_paste("upper", 0.03, 1.4, 0.8);
  upper.refractive_index = 1.53;
  const std::vector<Paste> pastes{transport_paste("lower", 0.2, 2.6, 0.6), upper};
  for (const int streams : {4, 8}) {
    const PreparedPastes prepared(pastes, streams);
    for (const bool specular : {false, true}) {
      const Stack stack{floor_of(.2), {{pastes[0], 1.3}, {pastes[1], 0.5}}, specular};
      const std::vector<PreparedLayer> layers{{0, 1.3}, {1, 0.5}};
      EXPECT_EQ(prepared.predict(stack.floor, layers, specular),
                predict(stack, Engine::transport, streams));
    }
  }
  const PreparedPastes prepared(pastes);
  const std::vector<PreparedLayer> unknown{{2, 1}};
  EXPECT_THROW((void)prepared.predict(floor_of(.2), unknown), ArgumentError);
  EXPECT_THROW((void)prepared.predict(floor_of(.2), {}), ArgumentError);
  EXPECT_THROW(PreparedPastes(std::vector<Paste>{test::flat_paste("dun", .1, .7)}), ArgumentError);
}

TEST(Transport, EveryInstructionSetGivesTheSameBits) {
  const Stack stack{
      floor_of(.2),
      {{transport_paste("a", 0.2, 2.6, 0.6), 1.3}, {transport_paste("b", 0.01, 0.9, 0.85), 0.4}},
      false};
  const Reflectance four = predict(stack, Engine::transport, 4);
  const Reflectance eight = predict(stack, Engine::transport, 8);
  int sets = 0;
  for (const auto target : hwy::SupportedAndGeneratedTargets()) {
    hwy::SetSupportedTargetsForTest(target);
    EXPECT_EQ(predict(stack, Engine::transport, 4), four);
    EXPECT_EQ(predict(stack, Engine::transport, 8), eight);
    ++sets;
  }
  hwy::SetSupportedTargetsForTest(0);
  EXPECT_GT(sets, 0);
}

TEST(Transport, SplittingALayerChangesNothing) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int i = 0; i < 60; ++i) {
    const Paste paste = transport_paste("fawn", 0.3 * uniform(random), 0.2 + 4 * uniform(random),
                                        0.9 * uniform(random));
    const double d = 0.3 + 3 * uniform(random);
    const double cut = d * (0.1 + 0.8 * uniform(random));
    const Reflectance floor = floor_of(uniform(random));
    const double whole = predict(Stack{floor, {{paste, d}}, false}, Engine::transport)[3];
    const double split =
        predict(Stack{floor, {{paste, cut}, {paste, d - cut}}, false}, Engine::transport)[3];
    EXPECT_NEAR(whole, split, 1e-11);
  }
}

TEST(Transport, MoreAbsorptionNeverLightensAndAWhiterFloorNeverDarkens) {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> uniform(0, 1);
  for (int i = 0; i < 60; ++i) {
    const double absorption = 0.3 * uniform(random);
    const double reduced = 0.2 + 4 * uniform(random);
    const double g = 0.9 * uniform(random);
    const double floor = 0.8 * uniform(random);
    const auto seen = [&](double a, double f) {
      return predict(Stack{floor_of(f), {{transport_paste("x", a, reduced, g), 1}}, false},
                     Engine::transport)[0];
    };
    EXPECT_LT(seen(absorption + 0.05, floor), seen(absorption, floor));
    EXPECT_GE(seen(absorption, floor + 0.1), seen(absorption, floor));
  }
}

TEST(Transport, AWhiteThickLayerReturnsWhatThePerfectDiffuserWould) {
  // Nothing is absorbed, so even light in is even light out: the factor is 1 but for what the
  // surface reflected specularly outside.
  const Paste white = transport_paste("white", 0, 40, 0.6);
  const Reflectance r = predict(Stack{floor_of(1), {{white, 20}}, false}, Engine::transport, 16);
  EXPECT_NEAR(r[0], 1 - interface_of(1.5, false).k1, 1e-3);
}

TEST(Transport, MissingConstantsAndStrangeNumbersAreRefused) {
  const Stack plain{floor_of(.3), {{test::flat_paste("dun", .1, .7), 1}}, false};
  EXPECT_EQ(predict(plain, Engine::kubelka_munk), predict(plain));
  try {
    (void)predict(plain, Engine::transport);
    FAIL();
  } catch (const ArgumentError& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr("'dun' has no transport constants"));
  }
  const Stack good{floor_of(.3), {{transport_paste("fawn", .1, 2, .6), 1}}, false};
  EXPECT_THROW((void)predict(good, Engine::transport, 5), ArgumentError);
  EXPECT_THROW((void)slab_totals({-1, 1, 0}, 1, 1), ArgumentError);
  EXPECT_THROW((void)slab_totals({1, 1, 1}, 1, 1), ArgumentError);
  EXPECT_THROW((void)slab_totals({1, 1, 0}, 0, 1), ArgumentError);
  EXPECT_THROW((void)slab_totals({1, 1, 0}, 1, 1.005), ArgumentError);
  Stack bad = good;
  bad.layers[0].paste.transport->anisotropy = 1;
  EXPECT_THROW((void)predict(bad, Engine::transport), ArgumentError);
}

}  // namespace
}  // namespace mamelon
