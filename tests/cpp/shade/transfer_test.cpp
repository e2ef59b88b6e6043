#include "mamelon/transfer.h"

#include <cmath>
#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"

#include "shade/sample.h"
#include "shade_helpers.h"
#include "studies.h"

namespace mamelon {
namespace {

using testing::Contains;
using testing::HasSubstr;

struct TwoSets {
  TabSet from, to;
};

// The same tabs on two instruments, the second a map of the first plus noise.
TwoSets two_sets(std::size_t count, const std::function<Lab(const Lab&)>& map, double sd,
                 std::uint64_t seed) {
  detail::Generator random(seed);
  TwoSets sets{test::eight_tabs(), test::eight_tabs()};
  sets.from.tabs.clear();
  sets.to.tabs.clear();
  sets.from.name = "first";
  sets.to.name = "second";
  const Mat3 noise = diagonal({sd * sd, sd * sd / 4, sd * sd});
  for (std::size_t i = 0; i < count; ++i) {
    const Lab lab = test::random_tooth(random);
    sets.from.tabs.push_back(test::tab("tab " + std::to_string(i), lab));
    sets.to.tabs.push_back(
        test::tab("tab " + std::to_string(i), test::with_error(map(lab), noise, random)));
  }
  return sets;
}

Lab shifted(const Lab& lab) {
  return {lab.l - 2, lab.a + 0.4, lab.b + 1};
}
Lab scaled(const Lab& lab) {
  return {1.15 * lab.l - 9, 0.7 * lab.a, 1.25 * lab.b - 1};
}
Lab mixed(const Lab& lab) {
  return {lab.l + 0.25 * lab.b - 5, lab.a + 0.2 * (lab.b - 17), lab.b - 0.2 * (lab.l - 72)};
}

TEST(Transfer, TakesTheSimplestFormThatTheTabsJustify) {
  struct Case {
    std::function<Lab(const Lab&)> map;
    TransferForm form;
  };
  const std::vector<Case> cases{{[](const Lab& lab) { return lab; }, TransferForm::none},
                                {shifted, TransferForm::offset},
                                {scaled, TransferForm::diagonal},
                                {mixed, TransferForm::affine}};
  for (const Case& c : cases) {
    int right = 0;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
      const TwoSets sets = two_sets(16, c.map, 0.2, seed);
      right += fit_transfer(sets.from, sets.to).form == c.form;
    }
    EXPECT_GE(right, 34) << to_string(c.form);  // the one-standard-error rule may err
  }
}

TEST(Transfer, RecoversAMapWithoutNoise) {
  const TwoSets sets = two_sets(12, mixed, 0, 3);
  const Transfer transfer = fit_transfer(sets.from, sets.to);
  EXPECT_EQ(transfer.form, TransferForm::affine);
  EXPECT_LT(transfer.residual_de00, 1e-6);
  const Reading tooth = test::reading("tooth", {73, 1, 18}, diagonal({0.04, 0.01, 0.04}));
  const Reading seen = apply(transfer, tooth);
  const Lab expected = mixed(tooth.lab.value);
  EXPECT_NEAR(seen.lab.value.l, expected.l, 1e-8);
  EXPECT_NEAR(seen.lab.value.a, expected.a, 1e-8);
  EXPECT_NEAR(seen.lab.value.b, expected.b, 1e-8);
  // Var(L + b/4) of independent L and b.
  EXPECT_NEAR(seen.lab.random[0][0], 0.04 + 0.04 / 16, 1e-8);
}

// The interval that a transferred reading states covers where the second instrument reads it.
TEST(Transfer, StatesHowWellItKnows) {
  detail::Generator random(77);
  double covered = 0, cases = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    const TwoSets sets = two_sets(14, scaled, 0.3, 1000 + seed);
    const Transfer transfer = fit_transfer(sets.from, sets.to);
    const Lab tooth = test::random_tooth(random);
    const Lab truth = test::with_error(scaled(tooth), diagonal({0.09, 0.0225, 0.09}), random);
    const Reading seen = apply(transfer, test::reading("tooth", tooth));
    const Vec3 sd = seen.lab.sd();
    covered += std::fabs(seen.lab.value.l - truth.l) < 1.96 * sd[0];
    covered += std::fabs(seen.lab.value.b - truth.b) < 1.96 * sd[2];
    cases += 2;
  }
  // 14 tabs less 2 unknowns: the normal's 1.96 covers 92.6 % of Student's t on 12.
  EXPECT_NEAR(covered / cases, 0.926, 3 * test::share_error(0.926, cases));
}

TEST(Transfer, WarnsOutsideItsColours) {
  const TwoSets sets = two_sets(12, shifted, 0.1, 4);
  const Transfer transfer = fit_transfer(sets.from, sets.to);
  EXPECT_THAT(apply(transfer, test::reading("dark", {30, 1, 17})).warnings,
              Contains(HasSubstr("outside the colours")));
  EXPECT_TRUE(apply(transfer, test::reading("usual", {72, 1.5, 17})).warnings.empty());
}

TEST(Transfer, MovesAWholeSet) {
  const TwoSets sets = two_sets(12, shifted, 0.1, 5);
  const Transfer transfer = fit_transfer(sets.from, sets.to);
  const TabSet moved = apply(transfer, sets.from);
  for (std::size_t i = 0; i < moved.tabs.size(); ++i)
    EXPECT_LT(de00(moved.tabs[i].lab.value, sets.to.tabs[i].lab.value), 0.4);
  EXPECT_NE(moved.provenance.digest, sets.from.provenance.digest);
}

TEST(Transfer, RefusesWhatTheDataCannotSupport) {
  TwoSets few = two_sets(3, shifted, 0.1, 6);
  EXPECT_THROW((void)fit_transfer(few.from, few.to), ModelError);
  const TwoSets noise = two_sets(12, shifted, 4, 7);
  EXPECT_THROW((void)fit_transfer(noise.from, noise.to), ModelError);
  TwoSets other = two_sets(12, shifted, 0.1, 8);
  other.to.viewing = viewing_from_string("D50/2");
  EXPECT_THROW((void)fit_transfer(other.from, other.to), ArgumentError);
  const TwoSets good = two_sets(12, shifted, 0.1, 9);
  Reading tooth = test::reading("tooth", {72, 1, 17});
  tooth.viewing = viewing_from_string("D50/2");
  EXPECT_THROW((void)apply(fit_transfer(good.from, good.to), tooth), ArgumentError);
}

// Equal tabs cannot tell a scale: only shifts are tried.
TEST(Transfer, TriesNoScaleOnEqualTabs) {
  TwoSets sets = two_sets(8, shifted, 0.1, 10);
  for (std::size_t i = 0; i < 8; ++i) {
    sets.from.tabs[i].lab.value = {72, 1, 17};
    sets.to.tabs[i].lab.value = {70, 1.4, 18};
  }
  const Transfer transfer = fit_transfer(sets.from, sets.to);
  EXPECT_EQ(transfer.form, TransferForm::offset);
  EXPECT_EQ(transfer.scores.size(), 2U);
  EXPECT_THAT(transfer.warnings, Contains(HasSubstr("too alike")));
}

}  // namespace
}  // namespace mamelon
