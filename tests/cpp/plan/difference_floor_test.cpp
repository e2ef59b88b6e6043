#include "plan/difference_floor.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <gtest/gtest.h>

#include "plan/least_square.h"
#include "plan/small_algebra.h"

namespace mamelon::detail {
namespace {

struct Draw {
  std::mt19937 random{7};
  double operator()(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  }
  Lab colour(double widest) {
    return {(*this)(20, 99), (*this)(-widest, widest), (*this)(-widest, widest)};
  }
};

double under(const Mat3& m, const Lab& target, const Lab& c) {
  return norm(multiply(m, Vec3{c.l - target.l, c.a - target.a, c.b - target.b}));
}

TEST(LeastDifference, IsBelowTheDifferenceEverywhereInTheBox) {
  Draw draw;
  for (int i = 0; i < 4000; ++i) {
    const DifferenceWeights weights{draw(0.5, 2), 1, draw(0.5, 2)};
    const Lab target = draw.colour(60);
    const ColourBox box{draw.colour(60), {draw(0, 8), draw(0, 8), draw(0, 8)}};
    const Mat3 m = least_difference(target, box, weights);
    for (int n = 0; n < 20; ++n) {
      const Lab c{box.centre.l + box.half[0] * draw(-1, 1),
                  box.centre.a + box.half[1] * draw(-1, 1),
                  box.centre.b + box.half[2] * draw(-1, 1)};
      ASSERT_LE(under(m, target, c), de00(target, c, weights) * (1 + 1e-12) + 1e-12);
    }
  }
}

TEST(LeastDifference, IsTheDifferenceForOneColourOfAHueNotFarFromTheTargets) {
  Draw draw;
  for (int i = 0; i < 2000; ++i) {
    const Lab target{draw(55, 90), draw(0, 6), draw(8, 30)};
    const Lab c{draw(55, 90), draw(0, 8), draw(6, 35)};
    const Mat3 m = least_difference(target, {c, {}}, {});
    EXPECT_NEAR(under(m, target, c), de00(target, c), 1e-4 * de00(target, c));
  }
}

TEST(DistanceFloor, IsBelowTheDifferenceAtEveryDistance) {
  Draw draw;
  for (int i = 0; i < 30; ++i) {
    const Lab target{draw(50, 95), draw(-3, 8), draw(3, 30)};
    const Mat3 root{{{draw(0.6, 1), 0, 0}, {0, draw(0.8, 1.4), draw(-0.3, 0.3)}, {0, 0, 0.6}}};
    const DistanceFloor floor(target, inverse_upper(root), {});
    for (int n = 0; n < 500; ++n) {
      const double share = draw(0, 1);
      const Lab c{target.l + share * draw(-40, 8), target.a + share * draw(-30, 30),
                  target.b + share * draw(-30, 60)};
      const double distance = under(root, target, c);
      const double de = de00(target, c);
      ASSERT_LE(floor(distance), de + 1e-12);
      // Whatever lies within `de` lies within its reach.
      ASSERT_GE(floor.reach(de * (1 + 1e-9) + 1e-12), std::min(distance, 1e9) * (1 - 1e-9));
    }
  }
}

TEST(DistanceFloor, OfAnyDistanceTheSearchCanAskForIsAFiniteNumber) {
  const DistanceFloor floor({72, 2, 16}, {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}, {});
  const double infinity = std::numeric_limits<double>::infinity();
  double last = 0;
  for (const double distance : {0.0, 1.0, 159.0, 160.0, 161.0, 1e9, 1e300, infinity}) {
    EXPECT_TRUE(std::isfinite(floor(distance))) << distance;
    EXPECT_GE(floor(distance), last) << distance;
    last = floor(distance);
  }
}

TEST(SumOfSquares, LeastIsThatOfADenseGrid) {
  Draw draw;
  for (int i = 0; i < 300; ++i) {
    SumOfSquares sum;
    std::vector<std::pair<Vec3, std::array<Vec3, 2>>> rows;
    const auto vector = [&] { return Vec3{draw(-2, 2), draw(-2, 2), draw(-2, 2)}; };
    for (int n = 0; n < 2; ++n) {
      rows.push_back({vector(), {vector(), vector()}});
      sum.add(0.5, rows.back().first, rows.back().second);
    }
    Region region{2, {draw(-1, 0), draw(-1, 0)}, {draw(0, 1), draw(0, 1)}, draw(-1, 0), draw(0, 1)};
    double least = 1e9;
    constexpr int steps = 200;
    for (int a = 0; a <= steps; ++a) {
      for (int b = 0; b <= steps; ++b) {
        const double x = region.low[0] + (region.high[0] - region.low[0]) * a / steps;
        const double y = region.low[1] + (region.high[1] - region.low[1]) * b / steps;
        if (x + y < region.least_sum || x + y > region.greatest_sum) {
          continue;
        }
        double here = 0;
        for (const auto& [v, c] : rows) {
          for (std::size_t k = 0; k < 3; ++k) {
            const double one = v[k] + x * c[0][k] + y * c[1][k];
            here += 0.5 * one * one;
          }
        }
        least = std::min(least, here);
      }
    }
    EXPECT_LE(sum.least(region), least + 1e-12);
    EXPECT_GE(sum.least(region), least - 0.15);
  }
}

TEST(Stretch, BoundsWhatAMatrixDoes) {
  Draw draw;
  for (int i = 0; i < 1000; ++i) {
    Mat3 m{};
    for (Vec3& row : m) {
      row = {draw(-1, 1), draw(-1, 1), draw(-1, 1)};
    }
    const Stretch stretch = stretch_of(m);
    const Vec3 x{draw(-1, 1), draw(-1, 1), draw(-1, 1)};
    EXPECT_LE(norm(multiply(m, x)), stretch.greatest * norm(x) * (1 + 1e-9));
    EXPECT_GE(norm(multiply(m, x)), stretch.least * norm(x) * (1 - 1e-9) - 1e-7);
  }
}

}  // namespace
}  // namespace mamelon::detail
