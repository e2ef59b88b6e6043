// A tooth read through a small window, against photons that leave it beside the window.

#include "case/tooth_edge.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/solve.h"
#include "mamelon/transport.h"

#include "../../bench/slab_photons.h"
#include "samples.h"

namespace mamelon {
namespace {

constexpr double mm = 3.3;
constexpr double reduced = 1.1;
constexpr double g = 0.85;
constexpr double index = 1.6;
constexpr double behind = 0.2;

// Of the light that comes back, what comes from where the instrument both lights and sees.
double share_within(const Aperture& aperture, double absorption) {
  bench::Random random(22);
  const double outside = bench::diffuse_outside(index);
  const bench::Slab slab{reduced / (1 - g) * mm, g, index, false};
  double all = 0;
  double within = 0;
  for (int i = 0; i < 20000; ++i) {
    const bench::Exit exit = bench::follow(slab, outside, random);
    const double from = aperture.seen_mm / 2 * std::sqrt(random.next());
    const double angle = 2 * std::numbers::pi * random.next();
    if (!exit.out) continue;
    const double weight =
        bench::power(behind, exit.bounces) * std::exp(-absorption * mm * exit.path);
    all += weight;
    if (std::hypot(from + exit.distance * mm * std::cos(angle),
                   exit.distance * mm * std::sin(angle)) < aperture.lit_mm / 2) {
      within += weight;
    }
  }
  return within / all;
}

class ToothOf : public ::testing::TestWithParam<double> {};

TEST_P(ToothOf, AWindowsReadingIsBroughtBackWithinItsInterval) {
  const double absorption = GetParam();
  const Grid grid{400, 10, 31};
  Paste tooth;
  tooth.name = "tooth";
  tooth.refractive_index = index;
  tooth.absorption = PerMm(grid, std::vector<double>(grid.count, absorption));
  tooth.scattering = PerMm(grid, std::vector<double>(grid.count, reduced));
  tooth.transport = TransportConstants{tooth.absorption, tooth.scattering, g};
  const Reflectance floor(grid, std::vector<double>(grid.count, behind));
  const Reflectance whole = predict(Stack{floor, {{tooth, mm}}, false}, Engine::transport, 16);
  const double truth = to_lab(whole, test::d65()).l;
  double before = 100;
  for (const Aperture& aperture : {Aperture{13, 8}, Aperture{8, 4}, Aperture{5, 3}}) {
    std::vector<double> values = whole.values();
    const double share = share_within(aperture, absorption);
    for (double& value : values) value *= share;
    const Reading read = read_spectrum("tooth", Reflectance(grid, values), test::d65());
    const Reading mended = detail::seen_widely(read, aperture, false);
    const double sd = mended.lab.sd()[0];
    EXPECT_LT(read.lab.value.l, truth - 0.5);
    EXPECT_NEAR(mended.lab.value.l, truth, 1.96 * sd);
    EXPECT_LT(std::abs(mended.lab.value.l - truth), truth - read.lab.value.l);
    EXPECT_LT(read.lab.value.l, before);
    before = read.lab.value.l;
  }
}

// µa per mm, the same in every band: L* 68 as most teeth, and 60.
INSTANTIATE_TEST_SUITE_P(ToothEdge, ToothOf, ::testing::Values(0.015, 0.05));

TEST(ToothEdge, AWideWindowChangesNothing) {
  const Reading read = test::read_at("tooth", "middle", {72, 2, 18});
  const Reading mended = detail::seen_widely(read, {1000, 500}, false);
  EXPECT_EQ(mended.lab.value, read.lab.value);
  EXPECT_EQ(mended.lab.shared, read.lab.shared);
}

TEST(ToothEdge, APlanAimsAtTheWholeColourAndTabsAreRankedAsRead) {
  Case given = test::two_teeth();
  given.restoration = test::restoration();
  const Report wide = solve(given);
  given.aperture = Aperture{5, 3};
  const Report small = solve(given);
  const auto target = [](const Report& report) {
    return report.first().best()->predicted.front().target;
  };
  EXPECT_GT(target(small).l, target(wide).l + 0.5);
  EXPECT_EQ(small.first().matches[1].ranked.front().de00,
            wide.first().matches[1].ranked.front().de00);
  EXPECT_EQ(small.first().readings[1].lab.value, wide.first().readings[1].lab.value);
  EXPECT_EQ(small.notes.size(), wide.notes.size() + 2);
}

TEST(ToothEdge, AnUnstatedWindowIsNamedWhereAnInstrumentRead) {
  Case given = test::two_teeth();
  given.restoration = test::restoration();
  const auto named = [](const Report& report) {
    return std::any_of(report.notes.begin(), report.notes.end(), [](const std::string& note) {
      return note.find("lights and sees is not stated") != std::string::npos;
    });
  };
  EXPECT_FALSE(named(solve(given)));
  for (CaseTooth& tooth : given.teeth) {
    for (Reading& reading : tooth.readings) {
      reading.reflectance =
          estimate_reflectance(reading.lab.value, reading.viewing, Grid{400, 10, 31});
    }
  }
  EXPECT_TRUE(named(solve(given)));
}

TEST(Shift, APlanIsOfTheColourAfterIt) {
  Case given = test::two_teeth();
  given.restoration = test::restoration();
  const Report measured = solve(given);
  for (Paste& paste : given.restoration->pastes.pastes) {
    paste.shifts = {{.name = "week", .change = {-2, 0, 1.5}, .change_sd = {0.8, 0.3, 0.8}}};
  }
  EXPECT_EQ(solve(given).first().best()->de00_rms, measured.first().best()->de00_rms);
  given.restoration->after = "week";
  const Report after = solve(given);
  // The same layers look darker and less certain after the week.
  const Plan& plan = *measured.first().best();
  const Plan later = predict_plan(*after.request, plan.layers);
  EXPECT_LT(later.predicted.front().lab.l, plan.predicted.front().lab.l - 0.5);
  EXPECT_EQ(after.notes.size(), measured.notes.size() + 1);
  given.restoration->after = "month";
  EXPECT_THROW((void)solve(given), ArgumentError);
}

}  // namespace
}  // namespace mamelon
