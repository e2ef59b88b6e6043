#include "mamelon/match.h"

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <numeric>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "shade/distributions.h"
#include "shade/sample.h"
#include "shade_helpers.h"

namespace mamelon {
namespace {

using test::d65;
using test::eight_tabs;
using test::reading;
using test::tab;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

double chance_sum(const Match& match) {
  double sum = 0;
  for (const RankedTab& ranked : match.ranked) sum += ranked.chance_best;
  return sum;
}

TEST(Match, RanksByCiede2000AndSaysTheDifference) {
  const Reading tooth = reading("tooth", {74, 1.0, 17});
  const TabSet tabs = eight_tabs();
  const Match found = match(tooth, tabs);
  ASSERT_EQ(found.ranked.size(), 8U);
  for (std::size_t i = 0; i < 8; ++i) {
    const RankedTab& ranked = found.ranked[i];
    EXPECT_EQ(ranked.de00, de00(ranked.lab, tooth.lab.value));
    EXPECT_DOUBLE_EQ(ranked.difference.l, 74 - ranked.lab.l);
    EXPECT_EQ(ranked.grade, grade(ranked.de00));
    if (i > 0) {
      EXPECT_LE(found.ranked[i - 1].de00, ranked.de00);
    }
  }
  EXPECT_EQ(found.label, "tooth");
}

TEST(Match, WithoutErrorsNamesOneTabForCertain) {
  const Match found = match(reading("tooth", {74, 1.0, 17}), eight_tabs());
  EXPECT_EQ(found.ranked[0].chance_best, 1);
  EXPECT_THAT(found.indistinguishable, ElementsAre(found.ranked[0].tab));
  for (const RankedTab& ranked : found.ranked) {
    EXPECT_NEAR(ranked.low, ranked.de00, 1e-9);
    EXPECT_NEAR(ranked.high, ranked.de00, 1e-9);
    EXPECT_EQ(ranked.chance_perceptible, ranked.de00 <= threshold::perceptible_de00 ? 1 : 0);
    EXPECT_EQ(ranked.chance_acceptable, ranked.de00 <= threshold::acceptable_de00 ? 1 : 0);
  }
  EXPECT_THAT(found.warnings, testing::Contains(HasSubstr("no uncertainty")));
}

TEST(Match, EqualTabsShareTheChanceAndKeepTheSetsOrder) {
  TabSet tabs = eight_tabs();
  tabs.tabs.push_back(tab("twin", tabs.tabs[3].lab.value));
  const Match found = match(reading("tooth", {72.1, 1.6, 16.5}), tabs);
  EXPECT_EQ(found.ranked[0].tab, "husk");
  EXPECT_EQ(found.ranked[1].tab, "twin");
  EXPECT_EQ(found.ranked[0].chance_best, 0.5);
  EXPECT_EQ(found.ranked[1].chance_best, 0.5);
  EXPECT_THAT(found.indistinguishable, ElementsAre("husk", "twin"));
  EXPECT_THAT(found.warnings, testing::Contains(HasSubstr("'husk' and 'twin'")));
}

TEST(Match, ChancesAddUpToOne) {
  for (const double sd : {0.1, 0.3, 1.0, 3.0}) {
    const Mat3 c = diagonal({sd * sd, sd * sd / 4, sd * sd});
    const Match found = match(reading("tooth", {73, 1.3, 17.5}, c), eight_tabs(scale(c, 0.1)));
    EXPECT_NEAR(chance_sum(found), 1, 1e-12) << sd;
  }
}

// Two tabs above and below L* 50, about which ΔE00 is symmetric in lightness: the lighter is best
// exactly when the true lightness is above 50, so the chance is Φ(distance from 50 / sd).
TEST(Match, ChanceOfTheNearerOfTwoIsTheNormalIntegral) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("light", {52, 1, 17}), tab("dark", {48, 1, 17})};
  for (const double offset : {0.0, 0.2, 0.5, 1.0}) {
    const Match found = match(reading("tooth", {50 + offset, 1, 17}, diagonal({0.25, 0, 0})), tabs);
    EXPECT_NEAR(found.ranked[0].chance_best, detail::normal_cdf(offset / 0.5), 0.004) << offset;
  }
}

// The middle between the tabs moves by half of each tab's own error, and by all of the shared one.
TEST(Match, TabErrorsCountAsTheyShould) {
  TabSet tabs = eight_tabs();
  const Mat3 own = diagonal({0.3, 0, 0});
  tabs.tabs = {tab("light", {52, 1, 17}, own), tab("dark", {48, 1, 17}, own)};
  const Match independent = match(reading("tooth", {50.4, 1, 17}), tabs);
  EXPECT_NEAR(independent.ranked[0].chance_best, detail::normal_cdf(0.4 / std::sqrt(0.15)), 0.006);

  tabs.tabs = {tab("light", {52, 1, 17}, {}, own), tab("dark", {48, 1, 17}, {}, own)};
  const Match common = match(reading("tooth", {50.4, 1, 17}), tabs);
  EXPECT_NEAR(common.ranked[0].chance_best, detail::normal_cdf(0.4 / std::sqrt(0.3)), 0.006);
}

// Errors whose covariance was estimated from few readings follow Student's t: here of one tab
// with 3 degrees of freedom along lightness, compared with the quantiles of t.
TEST(Match, FewDegreesOfFreedomWidenTheInterval) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("one", {60, 1, 17}, diagonal({0.04, 0, 0}))};
  tabs.tabs[0].lab.dof = 3;
  const double per_l =
      (de00({59.99, 1, 17}, {66, 1, 17}) - de00({60.01, 1, 17}, {66, 1, 17})) / 0.02;
  MatchOptions options;
  options.draws = 65536;
  const Match found = match(reading("tooth", {66, 1, 17}), tabs, options);
  EXPECT_NEAR((found.ranked[0].high - found.ranked[0].de00) / per_l,
              0.2 * detail::t_quantile(0.975, 3), 0.01);
  EXPECT_THAT(found.warnings, testing::Contains(HasSubstr("one tab only")));
}

// Plain Monte Carlo through the exact formula, with independent pseudo-random numbers, is the
// truth here (standard error of a chance 0.002, or 0.0005 with the million draws of the studies).
TEST(Match, AgreesWithPlainMonteCarlo) {
  detail::Generator random(20250117);
  for (const double sd : {0.35, 1.2}) {
    const Mat3 cr{{{sd * sd, 0.2 * sd * sd, 0.3 * sd * sd},
                   {0.2 * sd * sd, 0.4 * sd * sd, 0.1 * sd * sd},
                   {0.3 * sd * sd, 0.1 * sd * sd, 0.8 * sd * sd}}};
    const Mat3 ct = diagonal({0.1 * sd * sd, 0.05 * sd * sd, 0.1 * sd * sd});
    const Mat3 cs = diagonal({0.2 * sd * sd, 0.1 * sd * sd, 0.3 * sd * sd});
    const TabSet tabs = eight_tabs(ct, cs);
    const Reading tooth = reading("tooth", {73.2, 1.3, 17.4}, cr);
    MatchOptions without_prior;
    without_prior.prior = {};
    const Match found = match(tooth, tabs, without_prior);

    const Mat3 lr = detail::lower_root(cr);
    const std::size_t draws = std::getenv("MAMELON_STUDIES") != nullptr ? 1'000'000 : 60'000;
    const auto error = [&](const Mat3& root) {
      return multiply(root, Vec3{random.normal(), random.normal(), random.normal()});
    };
    const Mat3 lt = detail::lower_root(ct);
    const Mat3 ls = detail::lower_root(cs);
    std::vector<double> wins(8, 0.0), perceptible(8, 0.0), acceptable(8, 0.0);
    for (std::size_t d = 0; d < draws; ++d) {
      const Vec3 r = error(lr);
      const Vec3 s = error(ls);
      std::size_t best = 0;
      double least = 1e9;
      for (std::size_t j = 0; j < 8; ++j) {
        const Vec3 t = error(lt);
        const Lab& at = tabs.tabs[j].lab.value;
        const double de = de00({at.l + t[0] + s[0], at.a + t[1] + s[1], at.b + t[2] + s[2]},
                               {73.2 + r[0], 1.3 + r[1], 17.4 + r[2]});
        if (de < least) {
          least = de;
          best = j;
        }
        perceptible[j] += de <= threshold::perceptible_de00;
        acceptable[j] += de <= threshold::acceptable_de00;
      }
      wins[best] += 1;
    }
    for (const RankedTab& ranked : found.ranked)
      for (std::size_t j = 0; j < 8; ++j) {
        if (tabs.tabs[j].name != ranked.tab) continue;
        EXPECT_NEAR(ranked.chance_best, wins[j] / static_cast<double>(draws), 0.01)
            << ranked.tab << " at " << sd;
        EXPECT_NEAR(ranked.chance_perceptible, perceptible[j] / static_cast<double>(draws), 0.01)
            << ranked.tab;
        EXPECT_NEAR(ranked.chance_acceptable, acceptable[j] / static_cast<double>(draws), 0.01)
            << ranked.tab;
      }
  }
}

// The same under the prior, by weights: teeth that may have given the reading count as much as the
// prior's density at them (19 in 20 normal, one in twenty four times as wide). No posterior is
// worked out here, and the numbers come from the standard library's generator.
TEST(Match, UnderThePriorAgreesWithTeethWeighedByIt) {
  const ToothPrior prior = generated_prior();
  const Mat3 root = detail::lower_root(prior.covariance);
  const auto density = [&](const Lab& tooth) {
    const double x = (tooth.l - prior.mean.l) / root[0][0];
    const double y = (tooth.a - prior.mean.a - root[1][0] * x) / root[1][1];
    const double z = (tooth.b - prior.mean.b - root[2][0] * x - root[2][1] * y) / root[2][2];
    const double squared = x * x + y * y + z * z;
    return 0.95 * std::exp(-squared / 2) + 0.05 * std::exp(-squared / 2 / 16) / 64;
  };
  const Vec3 sd{1.5, 0.6, 1.2};  // of a photo
  const TabSet tabs = eight_tabs(diagonal({0.02, 0.01, 0.02}), diagonal({0.05, 0.02, 0.05}));
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  const auto three = [&] { return Vec3{normal(random), normal(random), normal(random)}; };
  // Among the teeth of the prior, at its edge, and where only its wide part reaches.
  for (const Lab& at : {Lab{73.2, 1.3, 17.4}, Lab{64.5, 3.6, 22.5}, Lab{56, 6, 27}}) {
    const Match found =
        match(reading("tooth", at, diagonal({sd[0] * sd[0], sd[1] * sd[1], sd[2] * sd[2]})), tabs);
    std::vector<double> wins(8, 0.0), perceptible(8, 0.0), acceptable(8, 0.0);
    double all = 0, squares = 0;
    for (int d = 0; d < 60'000; ++d) {
      const Vec3 e = three();
      const Lab tooth{at.l + sd[0] * e[0], at.a + sd[1] * e[1], at.b + sd[2] * e[2]};
      const double weight = density(tooth);
      const Vec3 common = three();
      std::size_t best = 0;
      double least = 1e9;
      for (std::size_t j = 0; j < 8; ++j) {
        const Vec3 own = three();
        const Lab& of = tabs.tabs[j].lab.value;
        const double de = de00({of.l + std::sqrt(0.02) * own[0] + std::sqrt(0.05) * common[0],
                                of.a + std::sqrt(0.01) * own[1] + std::sqrt(0.02) * common[1],
                                of.b + std::sqrt(0.02) * own[2] + std::sqrt(0.05) * common[2]},
                               tooth);
        if (de < least) {
          least = de;
          best = j;
        }
        perceptible[j] += de <= threshold::perceptible_de00 ? weight : 0;
        acceptable[j] += de <= threshold::acceptable_de00 ? weight : 0;
      }
      wins[best] += weight;
      all += weight;
      squares += weight * weight;
    }
    // Four standard errors of a share of so many equal draws, and what `draws` of 4096 leave.
    const double near = 4 * std::sqrt(0.25 * squares / (all * all)) + 0.01;
    ASSERT_LT(near, 0.025);
    for (const RankedTab& ranked : found.ranked)
      for (std::size_t j = 0; j < 8; ++j) {
        if (tabs.tabs[j].name != ranked.tab) continue;
        EXPECT_NEAR(ranked.chance_best, wins[j] / all, near) << ranked.tab << " at " << at.l;
        EXPECT_NEAR(ranked.chance_perceptible, perceptible[j] / all, near) << ranked.tab;
        EXPECT_NEAR(ranked.chance_acceptable, acceptable[j] / all, near) << ranked.tab;
      }
  }
}

bool same_bits(const Match& a, const Match& b) {
  if (a.ranked.size() != b.ranked.size() || a.indistinguishable != b.indistinguishable ||
      a.provenance != b.provenance)
    return false;
  for (std::size_t i = 0; i < a.ranked.size(); ++i) {
    const RankedTab& p = a.ranked[i];
    const RankedTab& q = b.ranked[i];
    if (p.tab != q.tab || p.de00 != q.de00 || p.low != q.low || p.high != q.high ||
        p.chance_best != q.chance_best || p.chance_perceptible != q.chance_perceptible ||
        p.chance_acceptable != q.chance_acceptable)
      return false;
  }
  return true;
}

std::vector<Reading> many_teeth(std::size_t count, double variance) {
  detail::Generator random(3);
  std::vector<Reading> teeth;
  for (std::size_t i = 0; i < count; ++i)
    teeth.push_back(
        reading("t" + std::to_string(i),
                {72 + 4 * random.normal(), 1.5 + random.normal(), 17 + 4 * random.normal()},
                diagonal({variance, variance / 2, variance})));
  return teeth;
}

TEST(Match, SameBitsForAnyThreadCountAndInAnyCompany) {
  const TabSet tabs = eight_tabs(diagonal({0.01, 0.01, 0.01}), diagonal({0.02, 0.01, 0.02}));
  const std::vector<Reading> teeth = many_teeth(100, 0.1);
  MatchOptions options;
  options.draws = 1024;
  options.threads = 1;
  const auto one = match_all(teeth, tabs, options);
  options.threads = 7;
  const auto seven = match_all(teeth, tabs, options);
  for (std::size_t i = 0; i < teeth.size(); ++i) {
    EXPECT_TRUE(same_bits(one[i], seven[i])) << i;
    if (i % 20 == 0) {
      EXPECT_TRUE(same_bits(one[i], match(teeth[i], tabs, options))) << i;
    }
  }
}

// Reporting only the nearest must not change what is said of them.
TEST(Match, KeepingFewTellsTheSameOfThem) {
  TabSet tabs = eight_tabs();
  tabs.tabs.clear();
  detail::Generator random(11);
  for (std::size_t i = 0; i < 200; ++i)
    tabs.tabs.push_back(
        tab("tab " + std::to_string(i),
            {72 + 5 * random.normal(), 1.5 + 1.4 * random.normal(), 17 + 4 * random.normal()},
            diagonal({0.02, 0.01, 0.02}), diagonal({0.02, 0.01, 0.02})));
  for (const double variance : {0.0, 0.1, 1.0}) {
    const auto teeth = many_teeth(40, variance);
    MatchOptions all;
    all.draws = 1024;
    MatchOptions few = all;
    few.keep = 3;
    const auto whole = match_all(teeth, tabs, all);
    const auto head = match_all(teeth, tabs, few);
    for (std::size_t i = 0; i < teeth.size(); ++i) {
      ASSERT_EQ(head[i].ranked.size(), 3U);
      for (std::size_t k = 0; k < 3; ++k) {
        EXPECT_EQ(head[i].ranked[k].tab, whole[i].ranked[k].tab);
        EXPECT_EQ(head[i].ranked[k].de00, whole[i].ranked[k].de00);
        EXPECT_NEAR(head[i].ranked[k].chance_best, whole[i].ranked[k].chance_best, 0.005);
      }
    }
  }
}

// Vectors are held to be right for colours only; a slip of the pen is not one.
TEST(Match, RanksWhatIsNoColourToo) {
  const TabSet tabs = eight_tabs(diagonal({0.01, 0.01, 0.01}));
  for (const double far : {5e3, 1e5, 1e60}) {
    const Reading slip = reading("slip", {70, far, 15}, diagonal({0.1, 0.1, 0.1}));
    MatchOptions all;
    all.draws = 256;
    MatchOptions few = all;
    few.keep = 2;
    const Match whole = match(slip, tabs, all);
    const Match head = match(slip, tabs, few);
    ASSERT_EQ(head.ranked.size(), 2U);
    for (std::size_t k = 0; k < 2; ++k) {
      EXPECT_EQ(head.ranked[k].tab, whole.ranked[k].tab) << far;
    }
  }
}

TEST(Match, SeedChangesTheSampleOnly) {
  const TabSet tabs = eight_tabs(diagonal({0.05, 0.02, 0.05}));
  const Reading tooth = reading("tooth", {73, 1.3, 17.5}, diagonal({0.2, 0.1, 0.2}));
  MatchOptions other;
  other.seed = 99;
  const Match a = match(tooth, tabs);
  const Match b = match(tooth, tabs, other);
  EXPECT_NE(a.provenance.digest, b.provenance.digest);
  for (std::size_t i = 0; i < a.ranked.size(); ++i) {
    EXPECT_EQ(a.ranked[i].tab, b.ranked[i].tab);
    EXPECT_NEAR(a.ranked[i].chance_best, b.ranked[i].chance_best, 0.01);
  }
}

TEST(Match, WeightOfLightnessHalvesItsPart) {
  MatchOptions two_one_one;
  two_one_one.weights.kl = 2;
  const Reading tooth = reading("tooth", {70, 1, 16});
  const Match one = match(tooth, eight_tabs());
  const Match two = match(tooth, eight_tabs(), two_one_one);
  for (const RankedTab& p : one.ranked)
    for (const RankedTab& q : two.ranked)
      if (p.tab == q.tab) {
        EXPECT_DOUBLE_EQ(p.dl, 2 * q.dl);
      }
}

TEST(Match, RefusesWhatItCannotCompare) {
  Reading other = reading("tooth", {70, 1, 16});
  other.viewing = viewing_from_string("D50/2");
  EXPECT_THROW((void)match(other, eight_tabs()), ArgumentError);
  EXPECT_THROW((void)match(reading("tooth", {std::nan(""), 1, 16}), eight_tabs()), ArgumentError);
  EXPECT_THROW((void)match(reading("tooth", {70, 1, 16}, diagonal({-1, 0, 0})), eight_tabs()),
               ArgumentError);
  MatchOptions few;
  few.draws = 3;
  EXPECT_THROW((void)match(reading("tooth", {70, 1, 16}), eight_tabs(), few), ArgumentError);
  MatchOptions weightless;
  weightless.weights.kc = 0;
  EXPECT_THROW((void)match(reading("tooth", {70, 1, 16}), eight_tabs(), weightless), ArgumentError);
}

TEST(Match, FindsThePlaceBetweenTwoTabs) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("flax", {78, 0, 13}), tab("oat", {72, 1, 17}), tab("rye", {60, 5, 30})};
  const Match found = match(reading("tooth", {76.2, 0.3, 14.2}), tabs);
  ASSERT_TRUE(found.between);
  EXPECT_EQ(found.between->nearer, "flax");
  EXPECT_EQ(found.between->other, "oat");
  EXPECT_NEAR(found.between->share_of_other, 0.3, 0.01);
  EXPECT_LT(found.between->de00, 0.05);
  EXPECT_EQ(between_in_words(*found.between), "between flax and oat, nearer flax");
  EXPECT_EQ(between_in_words({"oat", "flax", 0.46, 0.1}), "between oat and flax, midway");
  // Where one tab already fits, nothing is mixed.
  EXPECT_FALSE(match(reading("tooth", {77.9, 0, 13}), tabs).between);
}

// The tooth lies on the line between two tabs that are both farther than a third one.
TEST(Match, ThePlaceBetweenTwoTabsIsBesideTheNearest) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("oat", {70, 2.2, 15}), tab("hazel", {74.5, 0, 15}), tab("amber", {65.5, 0, 15})};
  const Match found = match(reading("tooth", {70, 0, 15}), tabs);
  ASSERT_EQ(found.ranked.front().tab, "oat");
  if (found.between) EXPECT_EQ(found.between->nearer, "oat");
}

// A curve without colour under `viewing`: `values` less their part in the space of the weights.
std::vector<double> metameric_black(std::vector<double> values, const Grid& grid,
                                    const Viewing& viewing) {
  const auto w = weights(grid, viewing);
  std::vector<std::vector<double>> basis;
  for (const auto* row : {&w->x, &w->y, &w->z}) {
    std::vector<double> v = *row;
    for (const auto& e : basis) {
      const double part = std::inner_product(v.begin(), v.end(), e.begin(), 0.0);
      for (std::size_t i = 0; i < v.size(); ++i) v[i] -= part * e[i];
    }
    const double size = std::sqrt(std::inner_product(v.begin(), v.end(), v.begin(), 0.0));
    for (double& x : v) x /= size;
    basis.push_back(v);
  }
  for (const auto& e : basis) {
    const double part = std::inner_product(values.begin(), values.end(), e.begin(), 0.0);
    for (std::size_t i = 0; i < values.size(); ++i) values[i] -= part * e[i];
  }
  return values;
}

// One tab is a metamer of the tooth under D65; the other is the tooth's curve, a little lighter,
// and so differs by about the same under every light.
TEST(Match, WarnsWhereTheLightDecides) {
  const Grid grid{400, 10, 31};
  std::vector<double> tooth_values, spikes;
  for (std::size_t i = 0; i < grid.count; ++i) {
    tooth_values.push_back(0.3 + 0.01 * static_cast<double>(i));
    spikes.push_back(i % 6 < 3 ? 0.2 : -0.2);
  }
  const auto black = metameric_black(spikes, grid, d65());
  std::vector<double> metamer = tooth_values;
  std::vector<double> lighter = tooth_values;
  for (std::size_t i = 0; i < grid.count; ++i) {
    metamer[i] += black[i];
    lighter[i] *= 1.01;
  }
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("metamer", {}), tab("lighter", {})};
  tabs.tabs[0].reflectance = Reflectance(grid, metamer);
  tabs.tabs[1].reflectance = Reflectance(grid, lighter);
  Reading tooth = reading("tooth", {});
  tooth.reflectance = Reflectance(grid, tooth_values);
  tooth.lab.value = to_lab(*tooth.reflectance, d65());
  for (Tab& t : tabs.tabs) t.lab.value = to_lab(*t.reflectance, d65());

  const Match found = match(tooth, tabs);
  ASSERT_EQ(found.picks_under.size(), 3U);
  EXPECT_EQ(found.ranked[0].tab, "metamer");
  EXPECT_NEAR(found.ranked[0].de00, 0, 1e-9);
  for (const PickUnder& pick : found.picks_under) {
    const Viewing light{standard_illuminant(pick.illuminant), Observer::deg2};
    const Lab seen = to_lab(*tooth.reflectance, light);
    const double of_metamer = de00(to_lab(*tabs.tabs[0].reflectance, light), seen);
    const double of_lighter = de00(to_lab(*tabs.tabs[1].reflectance, light), seen);
    EXPECT_EQ(pick.nearest_de00, std::min(of_metamer, of_lighter));
    EXPECT_EQ(pick.first_de00, of_metamer);
    EXPECT_EQ(pick.nearest, of_metamer < of_lighter ? "metamer" : "lighter");
  }
  EXPECT_EQ(found.picks_under[0].nearest, "metamer");
  EXPECT_EQ(found.picks_under[1].nearest, "lighter");
  EXPECT_THAT(found.warnings, testing::Contains(HasSubstr("lighter under A")));

  tooth.reflectance.reset();
  EXPECT_THAT(match(tooth, tabs).picks_under, IsEmpty());
}

RankedTab difference_of(const Lab& tab_lab, const Lab& tooth) {
  TabSet tabs = eight_tabs();
  tabs.tabs = {tab("one", tab_lab)};
  return match(reading("tooth", tooth), tabs).ranked[0];
}

TEST(Words, SayTheDirectionInTheTermsOfTheTrade) {
  EXPECT_EQ(difference_in_words(difference_of({72, 2, 18}, {72.3, 2, 18})),
            "no visible difference");
  EXPECT_EQ(difference_in_words(difference_of({72, 2, 18}, {76, 2, 18})), "lighter");
  EXPECT_EQ(difference_in_words(difference_of({72, 2, 18}, {69, 2.5, 22.5})),
            "darker, more chromatic");
  EXPECT_EQ(difference_in_words(difference_of({72, 2, 18}, {75, 3.8, 21})),
            "lighter, more chromatic, redder");
  EXPECT_EQ(difference_in_words(difference_of({72, 3, 18}, {72, 0.5, 18})), "yellower");
  EXPECT_EQ(difference_in_words(difference_of({72, -1, 18}, {72, -4, 17.5})), "greener");
}

}  // namespace
}  // namespace mamelon
