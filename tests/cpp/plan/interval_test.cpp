#include "plan/interval.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

namespace mamelon::detail {
namespace {

// The colour's errors are those of a lower triangular root, by another generator of normal numbers.
TEST(De00P95, IsThatOfPlainDraws) {
  const Lab target{72, 2, 16};
  const Mat3 root{{{0.6, 0, 0}, {0.2, 0.4, 0}, {-0.3, 0.2, 0.8}}};
  Mat3 covariance{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      for (std::size_t k = 0; k < 3; ++k) covariance[i][j] += root[i][k] * root[j][k];
    }
  }
  for (const Lab& mean : {Lab{72, 2, 16}, Lab{71, 2.5, 17}, Lab{68, 1, 12}}) {
    std::mt19937 random{11};
    std::normal_distribution<double> normal;
    std::vector<double> draws(200'000);
    for (double& draw : draws) {
      const Vec3 shift = multiply(root, Vec3{normal(random), normal(random), normal(random)});
      draw = de00(target, {mean.l + shift[0], mean.a + shift[1], mean.b + shift[2]});
    }
    const auto rank = draws.begin() + static_cast<std::ptrdiff_t>(0.95 * 200'000);
    std::nth_element(draws.begin(), rank, draws.end());
    EXPECT_NEAR(de00_p95(target, mean, covariance, {}), *rank, 0.03 * *rank);
  }
}

TEST(De00P95, OfACertainColourIsItsDifference) {
  EXPECT_DOUBLE_EQ(de00_p95({72, 2, 16}, {70, 2, 16}, Mat3{}, {}), de00({72, 2, 16}, {70, 2, 16}));
}

}  // namespace
}  // namespace mamelon::detail
