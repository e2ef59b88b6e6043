// A try-in beside its target and its prediction: every figure is the library's own difference, and
// what is too early or too uncertain judges no plan.

#include "mamelon/outcome.h"

#include <string>

#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "samples.h"

namespace mamelon {
namespace {

using test::read_at;
using test::restoration;
using test::two_teeth;

Case planned_case() {
  Case given = two_teeth();
  given.restoration = restoration();
  given.headline = "21";
  return given;
}

// As the recommended plan says, read a given step of lightness away from its target.
TryIn placed(const Report& report, double away, double sd = 0.05) {
  const Reading& target = report.first().readings[report.first().planned];
  Lab lab = target.lab.value;
  lab.l += away;
  TryIn out;
  out.reading = read_at("try-in", target.zone, lab, sd);
  for (const PlannedLayer& layer : report.first().best()->layers) {
    out.layers.push_back({layer.paste, layer.thickness_mm});
  }
  return out;
}

TEST(Outcome, DifferencesAreThoseOfTheThreeColours) {
  const Case given = planned_case();
  const Report report = solve(given);
  const TryIn seen = placed(report, 3);
  const TryInReport found = compare_try_in(given, report, seen);
  const Plan& plan = *report.first().best();
  const Lab target = report.first().readings[report.first().planned].lab.value;
  EXPECT_EQ(found.to_target.de00, de00(target, found.seen.lab.value));
  EXPECT_GT(found.to_target.dl, 0);
  EXPECT_EQ(difference_in_words(found.to_target), "lighter");
  ASSERT_TRUE(found.predicted && found.to_prediction && found.stated_p95);
  EXPECT_EQ(*found.predicted, plan.predicted.front().lab);
  EXPECT_EQ(found.to_prediction->de00, de00(plan.predicted.front().lab, found.seen.lab.value));
  EXPECT_EQ(*found.stated_p95, plan.de00_p95);
  EXPECT_LE(found.to_target.low, found.to_target.de00);
  EXPECT_GE(found.to_target.high, found.to_target.de00);
}

TEST(Outcome, TheIntervalCountsBothReadings) {
  Case given = planned_case();
  const auto width = [&](double sd) {
    const Report report = solve(given);
    const RankedTab to_target = compare_try_in(given, report, placed(report, 3, sd)).to_target;
    return to_target.high - to_target.low;
  };
  const double narrow = width(0.05);
  EXPECT_GT(width(1), 1.5 * narrow);
  for (CaseTooth& tooth : given.teeth) {
    for (Reading& reading : tooth.readings) reading.lab.random = diagonal({1, 1, 1});
  }
  EXPECT_GT(width(0.05), 1.5 * narrow);
}

TEST(Outcome, TheVerdictFollowsWhatWasStated) {
  const Case given = planned_case();
  const Report report = solve(given);
  const double stated = report.first().best()->de00_p95;
  EXPECT_NE(compare_try_in(given, report, placed(report, 0.1)).verdict.find("as the plan allowed"),
            std::string::npos);
  EXPECT_NE(compare_try_in(given, report, placed(report, 3 * stated + 6))
                .verdict.find("look at thicknesses"),
            std::string::npos);
  // A little farther than stated, by a reading that may be off by as much.
  const TryInReport unsure = compare_try_in(given, report, placed(report, 1.5 * stated, 2));
  EXPECT_GT(unsure.to_target.de00, stated);
  EXPECT_NE(unsure.verdict.find("read it again"), std::string::npos) << unsure.verdict;
}

TEST(Outcome, UncuredOrDryJudgesNoPlan) {
  const Case given = planned_case();
  const Report report = solve(given);
  TryIn seen = placed(report, 40);
  seen.cured = false;
  const TryInReport uncured = compare_try_in(given, report, seen);
  EXPECT_NE(uncured.verdict.find("too early"), std::string::npos);
  EXPECT_EQ(uncured.cautions.size(), 1U);
  seen.wet = false;
  EXPECT_EQ(compare_try_in(given, report, seen).cautions.size(), 2U);
}

TEST(Outcome, WithoutLayersThereIsNoPrediction) {
  const Case given = planned_case();
  const Report report = solve(given);
  TryIn seen = placed(report, 1);
  seen.layers.clear();
  const TryInReport found = compare_try_in(given, report, seen);
  EXPECT_FALSE(found.to_prediction || found.predicted || found.stated_p95);
}

TEST(Outcome, ATryInIsOneOfPhotoAndReading) {
  const Case given = planned_case();
  const Report report = solve(given);
  EXPECT_THROW((void)compare_try_in(given, report, TryIn{}), ArgumentError);
  TryIn seen = placed(report, 1);
  seen.photo = CasePhoto{};
  EXPECT_THROW((void)compare_try_in(given, report, seen), ArgumentError);
  seen.reading.reset();  // and the case has no card to read a photo by
  EXPECT_THROW((void)compare_try_in(given, report, seen), ArgumentError);
}

TEST(Outcome, NotesAndTryInsChangeNoFigure) {
  Case given = planned_case();
  const Report before = solve(given);
  given.try_ins.push_back(placed(before, 1));
  given.chair = {.date = "28 November", .operator_code = "ann", .lots = {{"p0", "7"}}};
  const Report after = solve(given);
  EXPECT_EQ(before.provenance.digest, after.provenance.digest);
  EXPECT_EQ(after.chair.operator_code, "ann");
}

}  // namespace
}  // namespace mamelon
