#include "mamelon/difference.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "vectors.h"

namespace mamelon {
namespace {

struct Pair {
  Lab first;
  Lab second;
  double de00;
};

// Sharma, Wu, Dalal 2005, Color Res Appl 30:21–30, Table 1.
constexpr Pair sharma[] = {
    {{50.0000, 2.6772, -79.7751}, {50.0000, 0.0000, -82.7485}, 2.0425},
    {{50.0000, 3.1571, -77.2803}, {50.0000, 0.0000, -82.7485}, 2.8615},
    {{50.0000, 2.8361, -74.0200}, {50.0000, 0.0000, -82.7485}, 3.4412},
    {{50.0000, -1.3802, -84.2814}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -1.1848, -84.8006}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -0.9009, -85.5211}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, 0.0000, 0.0000}, {50.0000, -1.0000, 2.0000}, 2.3669},
    {{50.0000, -1.0000, 2.0000}, {50.0000, 0.0000, 0.0000}, 2.3669},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0009}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0010}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0011}, 7.2195},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0012}, 7.2195},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0009, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0010, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0011, -2.4900}, 4.7461},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 0.0000, -2.5000}, 4.3065},
    {{50.0000, 2.5000, 0.0000}, {73.0000, 25.0000, -18.0000}, 27.1492},
    {{50.0000, 2.5000, 0.0000}, {61.0000, -5.0000, 29.0000}, 22.8977},
    {{50.0000, 2.5000, 0.0000}, {56.0000, -27.0000, -3.0000}, 31.9030},
    {{50.0000, 2.5000, 0.0000}, {58.0000, 24.0000, 15.0000}, 19.4535},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.1736, 0.5854}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2972, 0.0000}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 1.8634, 0.5757}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2592, 0.3350}, 1.0000},
    {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
    {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
    {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
    {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
    {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
    {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
    {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
    {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
    {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
    {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
};

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
