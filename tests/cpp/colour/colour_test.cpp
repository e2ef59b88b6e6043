#include "mamelon/colour.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "mamelon/viewing.h"

namespace mamelon {
namespace {

const Xyz white{0.950470, 1, 1.088830};

TEST(Lab, RoundTripsTo1e12) {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> lightness(0, 100);
  std::uniform_real_distribution<double> opponent(-100, 100);
  for (int i = 0; i < 10000; ++i) {
    const Lab lab{lightness(random), opponent(random), opponent(random)};
    const Lab back = to_lab(to_xyz(lab, white), white);
    ASSERT_NEAR(back.l, lab.l, 1e-12);
    ASSERT_NEAR(back.a, lab.a, 1e-12 * 500);
    ASSERT_NEAR(back.b, lab.b, 1e-12 * 500);
    const Lab around = to_lab(to_lch(lab));
    ASSERT_NEAR(around.a, lab.a, 1e-12 * 100);
    ASSERT_NEAR(around.b, lab.b, 1e-12 * 100);
  }
}

TEST(Lab, WhiteIs100AndTheJoinIsContinuous) {
  EXPECT_EQ(to_lab(white, white), (Lab{100, 0, 0}));
  const double join = 216.0 / 24389.0;
  const double below = to_lab({0, join * (1 - 1e-12), 0}, {1, 1, 1}).l;
  const double above = to_lab({0, join * (1 + 1e-12), 0}, {1, 1, 1}).l;
  EXPECT_NEAR(below, 8, 1e-9);  // (6/29)³ is L* = 8
  EXPECT_NEAR(above, 8, 1e-9);
}

TEST(Lab, JacobianMatchesCentralDifferences) {
  const Xyz at{0.42, 0.44, 0.33};
  const Mat3 jacobian = lab_jacobian(at, white);
  const double h = 1e-6;
  for (std::size_t j = 0; j < 3; ++j) {
    Xyz up = at;
    Xyz down = at;
    (j == 0 ? up.x : j == 1 ? up.y : up.z) += h;
    (j == 0 ? down.x : j == 1 ? down.y : down.z) -= h;
    const Lab p = to_lab(up, white);
    const Lab q = to_lab(down, white);
    EXPECT_NEAR(jacobian[0][j], (p.l - q.l) / (2 * h), 1e-5);
    EXPECT_NEAR(jacobian[1][j], (p.a - q.a) / (2 * h), 1e-5);
    EXPECT_NEAR(jacobian[2][j], (p.b - q.b) / (2 * h), 1e-5);
  }
}

TEST(Adaptation, TakesWhiteToWhiteAndBack) {
  const Xyz a = white_point(viewing_from_string("A/2"));
  for (const Adaptation method : {Adaptation::cat16, Adaptation::bradford}) {
    const Xyz there = adapt(white, white, a, method);
    EXPECT_NEAR(there.x, a.x, 1e-12);
    EXPECT_NEAR(there.z, a.z, 1e-12);
    const Xyz back = adapt(adapt({0.3, 0.4, 0.2}, white, a, method), a, white, method);
    EXPECT_NEAR(back.x, 0.3, 1e-12);
    EXPECT_NEAR(back.y, 0.4, 1e-12);
    EXPECT_NEAR(back.z, 0.2, 1e-12);
  }
}

}  // namespace
}  // namespace mamelon
