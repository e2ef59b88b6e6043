// From a case to its report: what belongs to one tooth stays with it, what is too uncertain decides
// nothing, and the work can be stopped.

#include "mamelon/solve.h"

#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "samples.h"

namespace mamelon {
namespace {

using test::read_at;
using test::restoration;
using test::tab_at;
using test::two_teeth;

TEST(Solve, EachToothHasItsOwnMatchesAndPlan) {
  Case given = two_teeth();
  given.restoration = restoration();
  given.headline = "21";
  const Report report = solve(given);
  ASSERT_EQ(report.teeth.size(), 2U);
  EXPECT_EQ(report.first().name, "21");
  EXPECT_EQ(report.teeth[0].matches[1].ranked.front().tab, "reed");
  EXPECT_EQ(report.teeth[1].matches[1].ranked.front().tab, "clay");
  for (const ToothReport& tooth : report.teeth) {
    EXPECT_EQ(tooth.readings[tooth.planned].zone, "middle");
    ASSERT_NE(tooth.best(), nullptr);
    // The plan is for this tooth's own colour.
    EXPECT_EQ(tooth.best()->predicted.front().target.l, tooth.readings[tooth.planned].lab.value.l);
  }
  EXPECT_EQ(report.request->target.label, "21");
}

TEST(Solve, EqualNamesOfZonesAreNoTie) {
  Case given = two_teeth();
  given.restoration = restoration();
  Case other = given;
  std::swap(other.teeth[0], other.teeth[1]);
  const Report one = solve(given);
  const Report two = solve(other);
  EXPECT_EQ(one.teeth[0].best()->de00_rms, two.teeth[1].best()->de00_rms);
  EXPECT_EQ(one.teeth[1].best()->de00_rms, two.teeth[0].best()->de00_rms);
}

TEST(Solve, TheSameCaseGivesTheSameReport) {
  Case given = two_teeth();
  given.restoration = restoration();
  EXPECT_EQ(solve(given).provenance.digest, solve(given).provenance.digest);
}

TEST(Solve, RepeatsOfOnePlaceAreAveraged) {
  Case given = two_teeth();
  given.teeth = teeth_of({read_at("a", "", {70, 1, 15}), read_at("a", "", {71, 1, 15})});
  const Report report = solve(given);
  ASSERT_EQ(report.teeth[0].readings.size(), 1U);
  EXPECT_EQ(report.teeth[0].readings[0].count, 2U);
  EXPECT_DOUBLE_EQ(report.teeth[0].readings[0].lab.value.l, 70.5);
}

TEST(Solve, APosteriorToothIsPlannedForItsOcclusalThird) {
  Case given = two_teeth();
  given.restoration = restoration();
  given.teeth =
      teeth_of({read_at("36", "cervical", {66, 3, 22}), read_at("36", "middle", {70, 2, 19}),
                read_at("36", "occlusal", {72, 1, 16})});
  const Report report = solve(given);
  EXPECT_EQ(report.first().readings[report.first().planned].zone, "occlusal");
}

TEST(Solve, OneDepthAReadingGoesWithItsReading) {
  Case given = two_teeth();
  given.restoration = restoration();
  given.restoration->depths_mm = {2.4, 2, 1.2};
  given.restoration->every_zone = true;
  const Report report = solve(given);
  for (const ToothReport& tooth : report.teeth) {
    ASSERT_EQ(tooth.zone_plans.size(), 3U);
    for (std::size_t i = 0; i < 3; ++i) {
      double depth = 0;
      for (const PlannedLayer& layer : tooth.zone_plans[i].layers) depth += layer.thickness_mm;
      EXPECT_NEAR(depth, given.restoration->depths_mm[i], 1e-9);
    }
  }
  given.restoration->depths_mm = {2.4, 2};
  EXPECT_THROW((void)solve(given), ArgumentError);
}

TEST(Solve, StopsWhereItIsToldTo) {
  Case given = two_teeth();
  given.restoration = restoration();
  std::vector<std::string> steps;
  (void)solve(given, [&](double share, std::string_view step) {
    EXPECT_GE(share, 0);
    EXPECT_LE(share, 1);
    steps.emplace_back(step);
    return true;
  });
  ASSERT_GE(steps.size(), 4U);
  for (std::size_t last = 0; last < steps.size(); ++last) {
    std::size_t told = 0;
    EXPECT_THROW((void)solve(given, [&](double, std::string_view) { return told++ < last; }),
                 StoppedError);
    EXPECT_EQ(told, last + 1);
  }
}

TEST(Solve, AReadingTooUncertainDecidesNothing) {
  Case given = two_teeth();
  given.restoration = restoration();
  // As an over-exposed photo read it: b* ± 6.3.
  given.teeth[0].readings[1].lab.random = diagonal({4, 1, 6.3 * 6.3});
  const Report report = solve(given);
  const ToothReport& tooth = report.teeth[0];
  EXPECT_FALSE(tooth.decides(1));
  EXPECT_TRUE(tooth.decides(0));
  EXPECT_FALSE(tooth.plans.has_value());
  EXPECT_TRUE(report.teeth[1].plans.has_value());
  EXPECT_FALSE(is_answered(report));
  ASSERT_FALSE(report.warnings.empty());
  EXPECT_NE(report.warnings.front().find("no plan is made"), std::string::npos);
  EXPECT_NE(report.warnings.front().find("three readings or more"), std::string::npos);
  // Reading and ranking are shown all the same.
  EXPECT_EQ(tooth.matches[1].ranked.size(), 2U);
  EXPECT_LT(tooth.matches[1].ranked[0].low, tooth.matches[1].ranked[0].high);
}

TEST(Solve, AColourThatNoSurfaceHasIsRefusedByItsOwnName) {
  Case given = two_teeth();
  given.teeth[0].readings[1].lab.value.a = 200;
  try {
    (void)solve(given);
    FAIL() << "accepted a* 200";
  } catch (const ArgumentError& error) {
    const std::string text = error.what();
    EXPECT_NE(text.find("has a* 200"), std::string::npos) << text;
    EXPECT_EQ(text.find("met exactly"), std::string::npos) << text;
  }
}

// The rule against its own meaning, without the library's sample: truths drawn around the reading
// are acceptable to a colour that meets it exactly in more than half of the draws, or they are not.
TEST(Solve, TheRuleIsTheChanceThatItStates) {
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  for (const double sd : {0.5, 1.0, 1.4, 1.8, 2.2, 3.0}) {
    Case given = two_teeth();
    const Lab at = given.teeth[0].readings[1].lab.value;
    given.teeth[0].readings[1].lab.random = diagonal({sd * sd, sd * sd / 4, sd * sd});
    int acceptable = 0;
    constexpr int draws = 4000;
    for (int i = 0; i < draws; ++i) {
      const Lab truth{at.l + sd * normal(random), at.a + sd / 2 * normal(random),
                      at.b + sd * normal(random)};
      acceptable += de00(at, truth) <= 1.8 ? 1 : 0;
    }
    // Too near to call by that many draws: 3 standard errors.
    if (std::abs(acceptable - draws / 2) < 95) continue;
    EXPECT_EQ(solve(given).teeth[0].decides(1), 2 * acceptable > draws) << sd;
  }
}

TEST(Solve, ATableFromTabToPasteNeedsBoth) {
  Case given = two_teeth();
  EXPECT_THROW((void)solve_crosswalk(given), ArgumentError);
  given.restoration = restoration();
  const CrosswalkReport report = solve_crosswalk(given);
  ASSERT_EQ(report.rows.size(), 2U);
  EXPECT_EQ(report.rows[1].tab, "clay");
  given.tabs.reset();
  EXPECT_THROW((void)solve_crosswalk(given), ArgumentError);
}

}  // namespace
}  // namespace mamelon
