#include "mamelon/audit.h"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/appearance.h"

#include "shade/sample.h"
#include "shade_helpers.h"
#include "studies.h"

namespace mamelon {
namespace {

using test::eight_tabs;
using test::tab;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

Population teeth_of(std::vector<Lab> teeth) {
  return {.name = "some",
          .teeth = std::move(teeth),
          .viewing = test::d65(),
          .generated = false,
          .note = {}};
}

Population random_teeth(std::size_t count, std::uint64_t seed) {
  detail::Generator random(seed);
  return teeth_of(test::random_tabs(count, random));
}

// Worked example computed from the formula CE = mean over teeth of min over tabs ΔE00 in an
// independent program.
TEST(Audit, CoverageErrorOfTheWorkedExample) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("one", {78, 0, 14}), tab("two", {73, 1, 18}), tab("three", {67, 2.5, 22})};
  const Population teeth =
      teeth_of({{76, .5, 16}, {72, 1, 19}, {69, 2, 23}, {64, 3, 25}, {79, -.5, 12}});
  const Coverage coverage = audit(tabs, teeth).coverage;
  EXPECT_NEAR(coverage.error_de00, 1.82006033, 1e-8);
  EXPECT_NEAR(coverage.worst_de00, 2.866031, 1e-6);
  EXPECT_DOUBLE_EQ(coverage.share_acceptable, 0.6);
  EXPECT_DOUBLE_EQ(coverage.share_perceptible, 0);
  EXPECT_GE(coverage.low, 0.929417);
  EXPECT_LE(coverage.high, 2.866031);
  EXPECT_LT(coverage.low, coverage.error_de00);
}

TEST(Audit, AgreesWithTheColourLayersCoverageError) {
  const Population teeth = random_teeth(200, 1);
  const TabSet tabs = eight_tabs();
  std::vector<Lab> colours;
  for (const Tab& t : tabs.tabs) colours.push_back(t.lab.value);
  EXPECT_NEAR(audit(tabs, teeth).coverage.error_de00, coverage_error(teeth.teeth, colours), 1e-12);
}

// The bootstrap interval of a mean agrees with the normal one for a large sample, and over many
// samples of teeth it covers the coverage error of the whole population.
TEST(Audit, BootstrapIntervalCovers) {
  const TabSet tabs = eight_tabs();
  AuditOptions options;
  options.bootstrap = 500;
  const double whole = audit(tabs, random_teeth(4000, 99), options).coverage.error_de00;
  int covered = 0;
  constexpr int samples = 60;
  for (int s = 0; s < samples; ++s) {
    const Coverage c =
        audit(tabs, random_teeth(60, static_cast<std::uint64_t>(s)), options).coverage;
    covered += whole >= c.low && whole <= c.high;
  }
  EXPECT_GE(covered / static_cast<double>(samples), 0.95 - 3 * test::share_error(0.95, samples));
}

TEST(Audit, NamesNeighboursAndRedundantPairs) {
  TabSet tabs = eight_tabs(diagonal({0.01, 0.01, 0.01}), diagonal({4, 4, 4}));
  tabs.tabs.push_back(tab("twin", {75.3, 0.9, 15.1}, diagonal({0.01, 0.01, 0.01})));
  const Audit result = audit(tabs, random_teeth(50, 2));
  ASSERT_EQ(result.redundant.size(), 1U);
  EXPECT_EQ(result.redundant[0].first, "oat");
  EXPECT_EQ(result.redundant[0].second, "twin");
  // The large shared error moves both tabs alike and leaves the pair as certain as it is.
  EXPECT_GT(result.redundant[0].chance, 0.99);
  EXPECT_EQ(result.neighbours[1].nearest, "twin");
  EXPECT_EQ(result.neighbours.back().nearest, "oat");
  EXPECT_EQ(result.neighbours.size(), 9U);
}

TEST(Audit, OrdersByLightnessAndChroma) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("one", {70, 3, 4}), tab("two", {75, 0, 10}), tab("three", {65, 1, 1})};
  const Audit result = audit(tabs, random_teeth(30, 3));
  EXPECT_THAT(result.by_lightness, ElementsAre("two", "one", "three"));
  EXPECT_THAT(result.by_chroma, ElementsAre("three", "one", "two"));
}

TEST(Audit, FindsTheGapAndTheTabThatWouldFillIt) {
  detail::Generator random(4);
  std::vector<Lab> teeth;
  for (int i = 0; i < 60; ++i)
    teeth.push_back(test::with_error({72, 1, 17}, diagonal({0.04, 0.01, 0.04}), random));
  for (int i = 0; i < 40; ++i)
    teeth.push_back(test::with_error({60, 4, 26}, diagonal({0.04, 0.01, 0.04}), random));
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("only", {72, 1, 17})};
  const Audit result = audit(tabs, teeth_of(teeth));
  ASSERT_EQ(result.gaps.size(), 1U);
  EXPECT_NEAR(result.gaps[0].share, 0.4, 1e-12);
  EXPECT_LT(de00(result.gaps[0].centre, {60, 4, 26}), 0.8);
  EXPECT_EQ(result.gaps[0].nearest, "only");
  EXPECT_LT(de00(result.extra_tab.lab, {60, 4, 26}), 0.2);
  EXPECT_LT(result.extra_tab.error_de00, 0.4);
  EXPECT_EQ(result.neighbours[0].nearest, "");
}

TEST(Audit, SameBitsEveryTime) {
  const Population teeth = random_teeth(300, 5);
  const Audit a = audit(eight_tabs(), teeth);
  const Audit b = audit(eight_tabs(), teeth);
  EXPECT_EQ(a.coverage.low, b.coverage.low);
  EXPECT_EQ(a.coverage.high, b.coverage.high);
  EXPECT_EQ(a.extra_tab.lab, b.extra_tab.lab);
  EXPECT_EQ(a.provenance, b.provenance);
}

TEST(Audit, RefusesAPopulationItCannotUse) {
  EXPECT_THROW((void)audit(eight_tabs(), teeth_of({})), ArgumentError);
  Population other = random_teeth(10, 6);
  other.viewing = viewing_from_string("A/2");
  EXPECT_THROW((void)audit(eight_tabs(), other), ArgumentError);
}

TEST(Population, GeneratedOneIsLabelledAndFollowsItsSources) {
  const Population teeth = generated_population(test::d65(), 3000);
  EXPECT_TRUE(teeth.generated);
  EXPECT_THAT(teeth.note, HasSubstr("not measured"));
  ASSERT_EQ(teeth.teeth.size(), 3000U);
  Lab mean{};
  for (const Lab& lab : teeth.teeth) {
    EXPECT_TRUE(lab.l >= 55 && lab.l <= 90 && lab.a >= -2 && lab.a <= 8 && lab.b >= 5 &&
                lab.b <= 35);
    mean = {mean.l + lab.l / 3000, mean.a + lab.a / 3000, mean.b + lab.b / 3000};
  }
  // Mean of the thirds 72.1, 1.2, 15.8; cutting at the envelope moves it a little.
  EXPECT_NEAR(mean.l, 72.13, 0.4);
  EXPECT_NEAR(mean.a, 1.2, 0.2);
  EXPECT_NEAR(mean.b, 15.8, 0.3);
  EXPECT_THAT(audit(eight_tabs(), teeth).warnings, Contains(HasSubstr("generated population")));
  EXPECT_THAT(generated_population(viewing_from_string("A/10")).note, HasSubstr("A/10"));
  EXPECT_EQ(generated_population(test::d65(), 50).teeth,
            generated_population(test::d65(), 50).teeth);
}

double error_of(const TabSet& tabs, const std::vector<std::string>& names,
                const Population& teeth) {
  std::vector<Lab> colours;
  for (const Tab& t : tabs.tabs)
    if (std::find(names.begin(), names.end(), t.name) != names.end())
      colours.push_back(t.lab.value);
  return coverage_error(teeth.teeth, colours);
}

TEST(BestTabs, IsTheBestOfAllChoicesInASmallSet) {
  const TabSet tabs = eight_tabs();
  const Population teeth = random_teeth(60, 7);
  const TabChoice choice = best_tabs(tabs, teeth, 3);
  EXPECT_TRUE(choice.exact);
  EXPECT_NEAR(choice.error_de00, error_of(tabs, choice.tabs, teeth), 1e-12);
  for (std::size_t i = 0; i < 8; ++i)
    for (std::size_t j = i + 1; j < 8; ++j)
      for (std::size_t k = j + 1; k < 8; ++k)
        EXPECT_GE(error_of(tabs, {tabs.tabs[i].name, tabs.tabs[j].name, tabs.tabs[k].name}, teeth),
                  choice.error_de00 - 1e-12);
}

TEST(BestTabs, BoundsWhatItCannotEnumerate) {
  detail::Generator random(8);
  TabSet tabs = eight_tabs();
  tabs.tabs.clear();
  for (int i = 0; i < 60; ++i)
    tabs.tabs.push_back(tab("tab " + std::to_string(i), test::random_tooth(random)));
  const Population teeth = random_teeth(150, 9);
  const TabChoice choice = best_tabs(tabs, teeth, 12);
  ASSERT_EQ(choice.tabs.size(), 12U);
  EXPECT_NEAR(choice.error_de00, error_of(tabs, choice.tabs, teeth), 1e-12);
  EXPECT_LE(choice.bound_de00, choice.error_de00);
  EXPECT_GE(choice.bound_de00, 0.97 * choice.error_de00);
  // No random choice beats the bound.
  for (int trial = 0; trial < 200; ++trial) {
    std::vector<std::string> names;
    while (names.size() < 12) {
      const std::string& name = tabs.tabs[random.below(60)].name;
      if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    }
    EXPECT_GE(error_of(tabs, names, teeth), choice.bound_de00);
  }
}

TEST(BestTabs, RefusesAnImpossibleCount) {
  const Population teeth = random_teeth(10, 10);
  EXPECT_THROW((void)best_tabs(eight_tabs(), teeth, 0), ArgumentError);
  EXPECT_THROW((void)best_tabs(eight_tabs(), teeth, 9), ArgumentError);
  EXPECT_EQ(best_tabs(eight_tabs(), teeth, 8).tabs.size(), 8U);
}

}  // namespace
}  // namespace mamelon
