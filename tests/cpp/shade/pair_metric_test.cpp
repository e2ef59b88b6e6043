#include "shade/pair_metric.h"

#include <gtest/gtest.h>

#include "mamelon/difference.h"

namespace mamelon {
namespace {

constexpr Mat3 covariance = {{{0.5, 0.1, -0.2}, {0.1, 0.3, 0.15}, {-0.2, 0.15, 0.8}}};

// The mean of a quadratic form over errors is the trace of its matrix times their covariance, here
// written as the sum over all pairs of coordinates.
TEST(PairMetric, MeanSquareIsTheMeanOfTheQuadraticForm) {
  const Mat3 metric = detail::local_metric({70, 2, 16}, {});
  double expected = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t k = 0; k < 3; ++k) expected += metric[i][k] * covariance[i][k];
  }
  EXPECT_NEAR(detail::mean_square(metric, covariance), expected, 1e-12 * expected);
}

// Between colours that lie close together CIEDE2000 is a quadratic form.
TEST(PairMetric, IsCiede2000OfSmallDifferences) {
  for (const Lab& at : {Lab{70, 2, 16}, Lab{62, -1, 8}, Lab{80, 6, 30}}) {
    const Mat3 metric = detail::local_metric(at, {});
    for (const Vec3& way :
         {Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}, Vec3{0.5, -0.7, 0.4}, Vec3{0.1, 0.9, 0.8}}) {
      constexpr double step = 1e-3;
      const Lab one{at.l - step / 2 * way[0], at.a - step / 2 * way[1], at.b - step / 2 * way[2]};
      const Lab other{at.l + step / 2 * way[0], at.a + step / 2 * way[1], at.b + step / 2 * way[2]};
      const double square = de00(one, other) * de00(one, other) / (step * step);
      EXPECT_NEAR(detail::quadratic(metric, way), square, 1e-4 * square);
    }
  }
}

}  // namespace
}  // namespace mamelon
