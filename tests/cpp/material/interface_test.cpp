#include <array>
#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/stack.h"

namespace mamelon {
namespace {

TEST(Interface, SaundersonMapsComputedFromTheFormula) {
  // Saunderson 1942, J Opt Soc Am 32:727; ten digits computed from the formula.
  const Interface in{.04, .6, true};
  const std::array<double, 5> internal{0, .25, .5, .75, 1};
  const std::array<double, 5> measured{.04, .1529411765, .3142857143, .5636363636, 1};
  const Interface theory{.04, .59635, true};
  const std::array<double, 5> by_theory{.04, .1538495439, .3160688206, .5657975079, 1};
  for (std::size_t i = 0; i < internal.size(); ++i) {
    EXPECT_NEAR(to_measured(internal[i], in), measured[i], 1e-10);
    EXPECT_NEAR(to_measured(internal[i], theory), by_theory[i], 1e-10);
  }
  EXPECT_NEAR(to_measured(.5, {.04, .6, false}), .2742857143, 1e-10);
}

TEST(Interface, FresnelConstantsOfUsualIndices) {
  // Index, k1, diffuse external and internal reflectance: Fresnel's equations integrated
  // numerically over the hemisphere, unpolarised, four digits.
  struct Row {
    double n, k1, external, internal;
  };
  const std::array<Row, 6> rows{{{1.45, .0337, .0844, .5645},
                                 {1.50, .0400, .0918, .5963},
                                 {1.52, .0426, .0947, .6082},
                                 {1.54, .0452, .0976, .6195},
                                 {1.56, .0479, .1005, .6304},
                                 {1.62, .0560, .1091, .6605}}};
  for (const Row& row : rows) {
    const Interface surface = interface_of(row.n, false);
    EXPECT_NEAR(surface.k1, row.k1, 5.1e-5);
    EXPECT_NEAR(surface.k2, row.internal, 5.1e-5);
    EXPECT_NEAR(1 - (1 - surface.k2) * row.n * row.n, row.external, 2e-4);
  }
}

TEST(Interface, ClosedFormEqualsTheFresnelIntegral) {
  for (const double n : {1.01, 1.1, 1.33, 1.5, 1.7, 2.0}) {
    // Midpoint sum of 2 µ R(µ) over the cosine of incidence from air.
    const int steps = 200000;
    double external = 0;
    for (int i = 0; i < steps; ++i) {
      const double mu = (i + 0.5) / steps;
      const double inside = std::sqrt(1 - (1 - mu * mu) / (n * n));
      const double rs = (mu - n * inside) / (mu + n * inside);
      const double rp = (inside - n * mu) / (inside + n * mu);
      external += mu * (rs * rs + rp * rp) / steps;
    }
    EXPECT_NEAR(interface_of(n, false).k2, 1 - (1 - external) / (n * n), 1e-9) << n;
  }
}

TEST(Interface, InverseReturnsTheInternalValue) {
  for (const bool specular : {false, true}) {
    const Interface surface = interface_of(1.54, specular);
    for (double r = 0; r <= 1; r += 0.01) {
      EXPECT_NEAR(to_internal(to_measured(r, surface), surface), r, 1e-14);
    }
  }
  EXPECT_LT(to_internal(.01, interface_of(1.5, true)), 0);
}

TEST(Interface, IndicesOutsideTheDomainAreRefused) {
  EXPECT_THROW((void)interface_of(1, false), ArgumentError);
  EXPECT_THROW((void)interface_of(2.1, false), ArgumentError);
  EXPECT_THROW((void)interface_of(std::nan(""), false), ArgumentError);
}

}  // namespace
}  // namespace mamelon
