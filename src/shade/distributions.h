#pragma once
// The distributions behind intervals and tests. Boost.Math would do, at the price of 150 MB of
// development headers for these few functions; they are checked against SciPy instead.

namespace mamelon::detail {

// ln Γ(a) for a > 0.
double log_gamma(double a);

// Φ(z) and its inverse for p in (0, 1).
double normal_cdf(double z);
double normal_quantile(double p);

// P(X ≤ x) of χ² with dof > 0, and its inverse for p in (0, 1).
double chi_squared_cdf(double x, double dof);
double chi_squared_quantile(double p, double dof);

// P(X ≤ x) of Fisher's F, and its inverse for p in (0, 1). Infinite dof2 is allowed.
double f_cdf(double x, double dof1, double dof2);
double f_quantile(double p, double dof1, double dof2);

// The inverse of Student's t for p in (0, 1). Infinite dof is the normal.
double t_quantile(double p, double dof);

}  // namespace mamelon::detail
