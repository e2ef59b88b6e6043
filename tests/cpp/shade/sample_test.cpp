#include "shade/sample.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "shade/distributions.h"
#include "shade/order_statistics.h"
#include "shade/pair_metric.h"

namespace mamelon::detail {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

// A (0, m, 1)-net in every coordinate: of 2^m points each of 2^m equal intervals holds one.
TEST(NormalSample, EveryCoordinateIsEvenlyFilled) {
  const NormalSample sample(1024, 5);
  const Draws draws = sample.standard(3);
  for (const auto* axis : {&draws.x, &draws.y, &draws.z}) {
    std::vector<int> held(1024);
    for (const double z : *axis) ++held[static_cast<std::size_t>(normal_cdf(z) * 1024)];
    EXPECT_EQ(std::count(held.begin(), held.end(), 1), 1024);
  }
}

// And every pair of coordinates is a net in base 2: each box of 32 × 32 holds one of 1024 points
// of the first two (Sobol's t is 0 there), none more than two of the others (t is at most 1).
TEST(NormalSample, PairsOfCoordinatesAreEvenlyFilled) {
  const Draws draws = NormalSample(1024, 9).standard(0);
  const auto most = [](const std::vector<double>& u, const std::vector<double>& v) {
    std::vector<int> held(1024);
    for (std::size_t i = 0; i < u.size(); ++i)
      ++held[static_cast<std::size_t>(normal_cdf(u[i]) * 32) * 32 +
             static_cast<std::size_t>(normal_cdf(v[i]) * 32)];
    return *std::max_element(held.begin(), held.end());
  };
  EXPECT_EQ(most(draws.x, draws.y), 1);
  EXPECT_LE(most(draws.x, draws.z), 2);
  EXPECT_LE(most(draws.y, draws.z), 2);
}

TEST(NormalSample, HasTheCovarianceAskedFor) {
  const Mat3 wanted{{{0.5, 0.2, -0.1}, {0.2, 0.3, 0.05}, {-0.1, 0.05, 0.9}}};
  const Draws d = NormalSample(4096, 1).draw(wanted, infinity, 7);
  const std::array<const std::vector<double>*, 3> axes{&d.x, &d.y, &d.z};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < 4096; ++k) sum += (*axes[i])[k] * (*axes[j])[k];
      EXPECT_NEAR(sum / 4096, wanted[i][j], 0.01);
    }
}

TEST(NormalSample, BlocksAreIndependent) {
  const NormalSample sample(4096, 1);
  const Draws p = sample.standard(1);
  const Draws q = sample.standard(2);
  double sum = 0;
  for (std::size_t k = 0; k < 4096; ++k) sum += p.x[k] * q.x[k];
  EXPECT_LT(std::fabs(sum / 4096), 4 / std::sqrt(4096.0));
}

TEST(NormalSample, EstimatedCovarianceGivesStudentsT) {
  const Draws d = NormalSample(65536, 1).draw(diagonal({1, 1, 1}), 4, 2);
  auto x = d.x;
  std::sort(x.begin(), x.end());
  for (const double p : {0.025, 0.2, 0.8, 0.975})
    EXPECT_NEAR(x[static_cast<std::size_t>(p * 65536)], t_quantile(p, 4), 0.04) << p;
}

TEST(LowerRoot, SquaresToTheCovarianceEvenWithoutFullRank) {
  for (const Mat3& c : {Mat3{{{0.5, 0.2, -0.1}, {0.2, 0.3, 0.05}, {-0.1, 0.05, 0.9}}},
                        Mat3{{{1, 2, 3}, {2, 4, 6}, {3, 6, 9}}}, diagonal({0, 2, 0}), Mat3{}}) {
    const Mat3 l = lower_root(c);
    Mat3 transposed{};
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) transposed[i][j] = l[j][i];
    const Mat3 back = multiply(l, transposed);
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) EXPECT_NEAR(back[i][j], c[i][j], 1e-12);
  }
}

TEST(CentralInterval, TakesTheSameOrderStatisticsAsSorting) {
  Generator random(4);
  for (const std::size_t count : {1U, 2U, 40U, 1000U, 4096U})
    for (int heavy = 0; heavy < 2; ++heavy) {
      std::vector<double> values(count);
      for (double& v : values) v = heavy ? std::exp(4 * random.normal()) : random.uniform();
      auto sorted = values;
      std::sort(sorted.begin(), sorted.end());
      const auto rank = static_cast<std::size_t>(0.025 * static_cast<double>(count));
      const auto [low, high] = central_interval(values, 0.025);
      EXPECT_EQ(low, sorted[rank]);
      EXPECT_EQ(high, sorted[count - 1 - rank]);
    }
  const std::vector<double> same(50, 2.5);
  EXPECT_EQ(central_interval(same, 0.025), std::pair(2.5, 2.5));
}

// Against the formula itself for small shifts of both colours.
TEST(PairMetric, FollowsTheFormulaToFirstOrder) {
  for (const auto& [t, r] : {std::pair<Lab, Lab>{{70, 2, 18}, {72, 1, 16}},
                             {{60, 5, 30}, {61, 5.5, 28}},
                             {{50, -20, -30}, {52, -18, -33}},
                             {{75, 0.2, 14}, {75, 0.2, 14}}}) {
    const PairMetric m = pair_metric(t, r, {});
    const Vec3 rho{0.02, -0.01, 0.015};
    const Vec3 tau{-0.01, 0.02, 0.01};
    const Vec3 pr = multiply(m.by_reading, rho);
    const Vec3 pt = multiply(m.by_tab, tau);
    Vec3 w{};
    for (std::size_t i = 0; i < 3; ++i) w[i] = m.w0[i] + pr[i] + pt[i];
    const double linear =
        std::sqrt(w[0] * w[0] + w[1] * w[1] + w[2] * w[2] + m.rotation * w[1] * w[2]);
    const double exact = de00({t.l + tau[0], t.a + tau[1], t.b + tau[2]},
                              {r.l + rho[0], r.a + rho[1], r.b + rho[2]});
    EXPECT_NEAR(linear, exact, 2e-3 * exact + 1e-6);
  }
}

}  // namespace
}  // namespace mamelon::detail
