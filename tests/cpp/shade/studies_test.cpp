// Whether what calibration, drift and match say of their own certainty is true, over simulated
// studies. A few studies run with the other tests; MAMELON_STUDIES=1000 gives the figures of the
// project's claims, which every test prints.

#include "studies.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <map>

#include <gtest/gtest.h>

#include "mamelon/audit.h"
#include "mamelon/match.h"

#include "shade/distributions.h"
#include "shade/pair_metric.h"
#include "shade_helpers.h"

namespace mamelon {
namespace {

using detail::Generator;
using test::StudyDesign;
using test::StudyErrors;

// A share within `low`–`high`, give or take three standard errors of what was simulated.
void expect_share(double share, double low, double high, double cases, const char* what) {
  std::printf("%s: %.4f of %.0f\n", what, share, cases);
  EXPECT_GE(share, low - 3 * test::share_error(low, cases)) << what;
  EXPECT_LE(share, high + 3 * test::share_error(high, cases)) << what;
}

class Study : public testing::TestWithParam<std::size_t> {};

TEST_P(Study, CalibrationTellsItsOwnCertainty) {
  const std::size_t studies = test::study_count(40);
  StudyDesign design;
  design.instruments = GetParam();
  const StudyErrors errors;
  Generator random(100 + GetParam());
  double covered = 0, intervals = 0;
  double found = 0, gross = 0, false_alarms = 0, sound = 0, placements = 0;
  std::map<std::string, double> ratio, part_covered;
  const std::map<std::string, const Mat3*> true_parts{{"repeat", &errors.repeat},
                                                      {"day", &errors.day},
                                                      {"operator", &errors.operators},
                                                      {"instrument", &errors.instrument}};
  for (std::size_t s = 0; s < studies; ++s) {
    const auto tabs = test::random_tabs(design.tabs, random);
    const auto study = test::simulate(tabs, design, errors, random);
    const Calibration result = test::calibrated(study);

    for (std::size_t t = 0; t < tabs.size(); ++t) {
      const TabRecord& record = result.records[t];
      const Lab& lab = study.truth[t];
      const Vec3 truth{lab.l, lab.a, lab.b};
      for (std::size_t axis = 0; axis < 3; ++axis)
        covered += truth[axis] >= record.low[axis] && truth[axis] <= record.high[axis];
    }
    intervals += 3 * static_cast<double>(tabs.size());

    std::vector<bool> listed(study.readings.size(), false);
    for (const SetAside& aside : result.set_aside) listed[aside.row - 1] = true;
    for (std::size_t i = 0; i < listed.size(); ++i) {
      (study.gross[i] ? gross : sound) += 1;
      if (listed[i]) (study.gross[i] ? found : false_alarms) += 1;
    }

    Mat3 metric{};
    for (const Lab& lab : tabs)
      metric =
          add(metric, scale(detail::local_metric(lab, {}), 1 / static_cast<double>(tabs.size())));
    for (const VariancePart& part : result.parts) {
      if (part.source == "placement") {  // there is none in truth: a false alarm of its test
        placements += 1;
        continue;
      }
      const double truth = detail::mean_square(metric, *true_parts.at(part.source));
      ratio[part.source] += part.variance / truth / static_cast<double>(studies);
      part_covered[part.source] += truth >= part.variance_low && truth <= part.variance_high;
    }
  }
  const auto count = static_cast<double>(studies);
  // The three coordinates of a study's common error are the independent cases.
  std::printf("%zu studies, %zu instrument(s)\n", studies, design.instruments);
  expect_share(covered / intervals, 0.93, 0.97, 3 * count, "95 % intervals of tab means");
  expect_share(found / gross, 0.95, 1, gross, "gross errors found");
  expect_share(false_alarms / sound, 0, 0.005, sound, "sound readings set aside");
  expect_share(placements / count, 0, 0.02, count,
               "studies with an effect of placement that is none");
  EXPECT_EQ(ratio.size(), design.instruments == 1 ? 3U : 4U);
  for (const auto& [source, mean] : ratio) {
    // Relative standard error of a mean of χ² with as many degrees of freedom as levels less one;
    // one axis is the worst case.
    const std::map<std::string, double> dof{
        {"repeat", 600}, {"day", 4}, {"operator", 2}, {"instrument", 1}};
    std::printf("variance of the %s: mean %.3f of the truth\n", source.c_str(), mean);
    EXPECT_NEAR(mean, 1, 0.10 + 3 * std::sqrt(2 / dof.at(source) / count)) << source;
    expect_share(part_covered[source] / count, 0.90, 0.97, count,
                 ("95 % intervals of the variance of the " + source).c_str());
  }
}

INSTANTIATE_TEST_SUITE_P(OneAndTwoInstruments, Study, testing::Values(1U, 2U));

// Two operators with four days each of their own, who differ by nothing, as much as the days of one
// operator, or twice as much (sd).
TEST(Study, IntervalsHoldWhereOperatorsHaveDaysOfTheirOwn) {
  const std::size_t studies = test::study_count(200);
  const StudyErrors errors;
  for (const double ratio : {0.0, 1.0, 2.0}) {
    Generator random(6);
    double covered = 0, intervals = 0;
    for (std::size_t s = 0; s < studies; ++s) {
      const auto tabs = test::random_tabs(4, random);
      std::vector<RepeatReading> readings;
      for (int by = 0; by < 2; ++by) {
        const Lab hand = test::with_error({}, scale(errors.day, ratio * ratio), random);
        for (int d = 0; d < 4; ++d) {
          const Lab day = test::with_error(hand, errors.day, random);
          for (std::size_t t = 0; t < tabs.size(); ++t)
            for (int r = 0; r < 2; ++r)
              readings.push_back(
                  {.reading = test::reading(
                       std::to_string(t),
                       test::with_error({tabs[t].l + day.l, tabs[t].a + day.a, tabs[t].b + day.b},
                                        errors.repeat, random)),
                   .operator_name = std::to_string(by),
                   .day = std::to_string(4 * by + d),
                   .instrument = {}});
        }
      }
      const Calibration result = calibrate(readings);
      for (std::size_t t = 0; t < tabs.size(); ++t) {
        const Vec3 truth{tabs[t].l, tabs[t].a, tabs[t].b};
        for (std::size_t axis = 0; axis < 3; ++axis)
          covered += truth[axis] >= result.records[t].low[axis] &&
                     truth[axis] <= result.records[t].high[axis];
        intervals += 3;
      }
    }
    const std::string what =
        "95 % intervals of means, operators differ " + std::to_string(ratio) + " as much as days";
    expect_share(covered / intervals, 0.94, 0.97, 3 * static_cast<double>(studies), what.c_str());
  }
}

TEST(Study, DriftKeepsItsFalseAlarmRateAndItsPower) {
  const std::size_t studies = test::study_count(60);
  StudyDesign design;
  design.days = 3;
  design.operators = 2;
  const StudyErrors errors;
  Generator random(5);
  double alarms = 0, caught = 0, expected = 0;
  for (std::size_t s = 0; s < studies; ++s) {
    auto tabs = test::random_tabs(design.tabs, random);
    const auto first = test::calibrated(test::simulate(tabs, design, errors, random));
    // One tab moves along a random direction by 4 standard errors of the difference.
    const double n = static_cast<double>(design.repeats * design.days * design.operators);
    const Mat3 of_difference = scale(errors.repeat, 2 / (n * (1 - design.gross_share)));
    const Vec3 way{random.normal(), random.normal(), random.normal()};
    const double length = std::sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2]);
    constexpr double size = 4;
    const Vec3 move =
        multiply(detail::lower_root(of_difference),
                 Vec3{size * way[0] / length, size * way[1] / length, size * way[2] / length});
    tabs[0] = {tabs[0].l + move[0], tabs[0].a + move[1], tabs[0].b + move[2]};
    const auto second = test::calibrated(test::simulate(tabs, design, errors, random));
    const Drift result = drift(first.tabs, second.tabs);
    bool any = false;
    for (std::size_t t = 0; t < tabs.size(); ++t) {
      const bool said = result.tabs[t].verdict != DriftVerdict::steady;
      if (t == 0)
        caught += said;
      else
        any = any || said;
    }
    alarms += any;
    // Non-central F; the mean of the 15 others adds a fifteenth of the variance.
    const double share = 1 / (1 + 1 / static_cast<double>(design.tabs - 1));
    const double dof = 2 * (n * static_cast<double>(design.tabs) * 0.98 - 19);
    const double cut = detail::f_quantile(1 - 0.05 / 16, 3, dof - 2);
    expected += 1 - test::noncentral_f_cdf(cut, 3, dof - 2, size * size * share);
  }
  const auto count = static_cast<double>(studies);
  expect_share(alarms / count, 0, 0.055, count, "sets with a steady tab accused, at 5 %");
  std::printf("drifted tabs found: %.3f, in theory %.3f\n", caught / count, expected / count);
  EXPECT_NEAR(caught / count, expected / count,
              0.03 + 3 * test::share_error(expected / count, count));
}

class MatchStudy : public testing::TestWithParam<std::size_t> {};

TEST_P(MatchStudy, ChancesAndIntervalsAreCalibrated) {
  const std::size_t studies = test::study_count(25);
  StudyDesign design;
  design.instruments = GetParam();
  const StudyErrors errors;
  constexpr std::size_t teeth = 8;
  Generator random(40 + GetParam());
  double said = 0, right = 0, covered = 0, first_covered = 0, of_band = 0, right_of_band = 0;
  std::array<double, 10> said_in{}, right_in{}, count_in{};
  MatchOptions options;
  options.draws = 2048;
  for (std::size_t s = 0; s < studies; ++s) {
    const auto tabs = test::random_tabs(design.tabs, random);
    const auto study = test::simulate(tabs, design, errors, random);
    const Calibration set = test::calibrated(study);
    // The tooth is read once, on another day, by another hand, and by another instrument unless
    // the set belongs to the one it was measured with.
    Mat3 anew = add(add(errors.repeat, errors.day), errors.operators);
    if (design.instruments > 1) anew = add(anew, errors.instrument);
    for (std::size_t k = 0; k < teeth; ++k) {
      const Lab tooth = test::random_tooth(random);
      Reading read = test::reading("tooth", test::with_error(tooth, anew, random));
      read.lab.random = set.new_reading;
      read.lab.dof = set.new_reading_dof;
      const Match found = match(read, set.tabs, options);
      std::size_t best = 0;
      std::vector<double> truth;
      for (const Lab& t : study.truth) truth.push_back(de00(t, tooth));
      for (std::size_t t = 1; t < truth.size(); ++t)
        if (truth[t] < truth[best]) best = t;
      const auto index = [&](const std::string& name) {
        return static_cast<std::size_t>(std::stoul(name.substr(4)));
      };
      for (const RankedTab& ranked : found.ranked) {
        const double de = truth[index(ranked.tab)];
        covered += de >= ranked.low && de <= ranked.high;
      }
      const RankedTab& first = found.ranked.front();
      const double first_de = truth[index(first.tab)];
      first_covered += first_de >= first.low && first_de <= first.high;
      const bool hit = index(first.tab) == best;
      said += first.chance_best;
      right += hit;
      if (first.chance_best >= 0.7 && first.chance_best < 0.8) {
        of_band += 1;
        right_of_band += hit;
      }
      const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(first.chance_best * 10));
      said_in[bin] += first.chance_best;
      right_in[bin] += hit;
      count_in[bin] += 1;
    }
  }
  const double picks = static_cast<double>(studies * teeth);
  std::printf("%zu studies, %zu instrument(s): first tab said best %.4f, was best %.4f\n", studies,
              design.instruments, said / picks, right / picks);
  for (std::size_t b = 0; b < 10; ++b)
    if (count_in[b] > 0)
      std::printf("  said %.3f was %.3f of %.0f\n", said_in[b] / count_in[b],
                  right_in[b] / count_in[b], count_in[b]);
  EXPECT_NEAR(said / picks, right / picks, 0.02 + 3 * test::share_error(right / picks, picks));
  expect_share(right_of_band / of_band, 0.70, 0.80, of_band, "picks said to be best at 70–80 %");
  // Intervals of one reading share its error: three cases a tooth.
  expect_share(covered / picks / static_cast<double>(design.tabs), 0.93, 0.97, 3 * picks,
               "95 % intervals of ΔE00");
  expect_share(first_covered / picks, 0.93, 0.97, picks, "95 % intervals of the first tab's ΔE00");
}

INSTANTIATE_TEST_SUITE_P(OneAndTwoInstruments, MatchStudy, testing::Values(1U, 2U));

}  // namespace
}  // namespace mamelon
