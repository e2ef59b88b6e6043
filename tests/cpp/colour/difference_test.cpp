#include "mamelon/difference.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "sharma_pairs.h"
#include "vectors.h"

namespace mamelon {
namespace {

using testing_data::Pair;
using testing_data::sharma;

TEST(De00, AllPairsOfSharmaWuAndDalalBothWays) {
  static_assert(std::size(sharma) == 34);
  for (const Pair& pair : sharma) {
    EXPECT_NEAR(de00(pair.first, pair.second), pair.de00, 5e-5);
    EXPECT_EQ(de00(pair.first, pair.second), de00(pair.second, pair.first));
  }
}

// 40-digit arithmetic (mpmath, tests/python/reference_colour/de00.py): random pairs, near neutral,
// zero chroma, the half turn and its neighbours in the last place, hues that sum to 360°.
TEST(De00, AgreesWith40DigitsTo1e12) {
  for (const testing_data::Row& row : testing_data::rows_of("de00_40_digits.csv")) {
    std::vector<double> x;
    for (const std::string& cell : row) x.push_back(testing_data::number(cell));
    const Lab p{x[0], x[1], x[2]};
    const Lab q{x[3], x[4], x[5]};
    const SignedDifference parts = de00_parts(p, q, {x[6], 1, 1});
    const std::string pair =
        row[0] + " " + row[1] + " " + row[2] + "; " + row[3] + " " + row[4] + " " + row[5];
    EXPECT_NEAR(parts.de, x[7], 1e-12) << pair;
    EXPECT_NEAR(parts.dl, x[8], 1e-12) << pair;
    EXPECT_NEAR(parts.dc, x[9], 1e-12) << pair;
    EXPECT_NEAR(parts.dh, x[10], 1e-12) << pair;
    EXPECT_EQ(de00(q, p, {x[6], 1, 1}), parts.de) << pair;
  }
}

TEST(De00, SymmetricAndZeroOnItselfToTheBit) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> lightness(0, 100);
  std::uniform_real_distribution<double> opponent(-128, 128);
  for (int i = 0; i < 20000; ++i) {
    const Lab p{lightness(random), opponent(random), opponent(random)};
    const Lab q{lightness(random), opponent(random), opponent(random)};
    ASSERT_EQ(de00(p, q), de00(q, p));
    ASSERT_EQ(de00(p, p), 0);
  }
}

// The parts rebuild the whole, and a kl of 2 halves the lightness part exactly; published pairs of
// thresholds with kl = 1 and kl = 2 agree (1.04 and 0.51, 2.82 and 1.40).
TEST(De00, SignedParts) {
  const Lab p{65, 3, 24};
  const Lab q{68, 2, 20};
  const SignedDifference one = de00_parts(p, q);
  EXPECT_NEAR(one.de, 3.231231, 5e-7);  // computed from the formula
  EXPECT_NEAR(one.dl, 2.42154, 5e-6);
  EXPECT_NEAR(one.dc, -2.06559, 5e-6);
  EXPECT_NEAR(one.dh, 0.55708, 5e-6);
  const SignedDifference two = de00_parts(p, q, {2, 1, 1});
  EXPECT_EQ(two.dl, one.dl / 2);
  EXPECT_EQ(two.dc, one.dc);
  EXPECT_NEAR(two.de, 2.458243, 5e-7);
}

TEST(De00, NanStaysNan) {
  EXPECT_TRUE(std::isnan(de00({std::nan(""), 0, 0}, {50, 0, 0})));
  EXPECT_TRUE(std::isnan(de00({50, 0, 0}, {50, 0, std::nan("")})));
}

}  // namespace
}  // namespace mamelon
