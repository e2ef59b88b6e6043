#include "shade/distributions.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace mamelon::detail {
namespace {

void expect_relative(double value, double expected, double tolerance = 1e-12) {
  EXPECT_NEAR(value, expected, tolerance * std::fabs(expected));
}

// All expected values: SciPy 1.17.1 (scipy.stats norm, chi2, f, t; ppf and cdf).
TEST(Distributions, AgreeWithSciPy) {
  expect_relative(normal_quantile(1e-12), -7.034483825301131);
  expect_relative(normal_quantile(0.0013), -3.0114537584997843);
  expect_relative(normal_quantile(0.3), -0.5244005127080409);
  expect_relative(normal_quantile(0.975), 1.959963984540054);
  expect_relative(normal_quantile(0.9999), 3.719016485455709);
  expect_relative(chi_squared_quantile(0.95, 3), 7.814727903251179);
  expect_relative(chi_squared_quantile(1e-05, 1), 1.5707963268771464e-10);
  expect_relative(chi_squared_quantile(0.9999, 250.5), 342.41075713025356);
  expect_relative(chi_squared_quantile(0.025, 2), 0.05063561596857975);
  expect_relative(chi_squared_quantile(0.5, 0.7), 0.21473897172368658);
  expect_relative(chi_squared_quantile(0.975, 40), 59.34170714317118);
  expect_relative(chi_squared_cdf(5.0, 3), 0.8282028557032665);
  expect_relative(chi_squared_cdf(0.02, 1), 0.11246291601828491);
  expect_relative(chi_squared_cdf(260.0, 250.5), 0.673239517987947);
  expect_relative(f_quantile(0.99, 3, 40), 4.312569212492143);
  expect_relative(f_quantile(0.95, 3, 5.5), 5.041596047306825);
  expect_relative(f_quantile(0.025, 2, 9), 0.025389163007041138);
  expect_relative(f_quantile(0.999, 1, 120), 11.380190328628533);
  expect_relative(f_cdf(3.1, 3, 1000000.0), 0.9744425229259276, 1e-10);
  expect_relative(f_cdf(0.4, 2, 7), 0.31528154940459585, 1e-10);
  expect_relative(f_cdf(12.5, 3, 14.2), 0.9997145215362291, 1e-10);
  expect_relative(t_quantile(0.975, 1), 12.706204736174694);
  expect_relative(t_quantile(0.975, 2.5), 3.5746548420036817);
  expect_relative(t_quantile(0.9, 30), 1.3104150253913955);
  expect_relative(t_quantile(0.0005, 12), -4.3177912836061845);
}

TEST(Distributions, QuantilesInvertTheirDistributions) {
  for (const double p : {1e-6, 0.01, 0.3, 0.5, 0.8, 0.999}) {
    EXPECT_NEAR(normal_cdf(normal_quantile(p)), p, 1e-14);
    for (const double dof : {0.5, 1.0, 2.0, 7.3, 400.0}) {
      EXPECT_NEAR(chi_squared_cdf(chi_squared_quantile(p, dof), dof), p, 1e-12) << dof;
      EXPECT_NEAR(f_cdf(f_quantile(p, 3, dof), 3, dof), p, 1e-11) << dof;
    }
  }
  EXPECT_EQ(t_quantile(0.5, 4), 0);
  EXPECT_DOUBLE_EQ(t_quantile(0.1, 4), -t_quantile(0.9, 4));
}

TEST(Distributions, KnowTheirLimits) {
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_DOUBLE_EQ(t_quantile(0.975, infinity), normal_quantile(0.975));
  EXPECT_DOUBLE_EQ(f_cdf(2, 3, infinity), chi_squared_cdf(6, 3));
  EXPECT_EQ(chi_squared_cdf(0, 3), 0);
  EXPECT_EQ(chi_squared_cdf(infinity, 3), 1);
}

}  // namespace
}  // namespace mamelon::detail
