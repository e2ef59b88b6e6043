#include "shade/distributions.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace mamelon::detail {

// The plain function keeps a sign in a variable that all threads share.
double log_gamma(double a) {
  int sign = 0;
  return lgamma_r(a, &sign);
}

namespace {

constexpr double epsilon = std::numeric_limits<double>::epsilon();
constexpr int most_terms = 10000;

// Regularised lower incomplete gamma function: series below the mean (DLMF 8.11.4), continued
// fraction by Lentz's method above it (DLMF 8.9.2).
double gamma_p(double a, double x) {
  if (x <= 0) return 0;
  if (std::isinf(x)) return 1;
  const double scale = std::exp(a * std::log(x) - x - log_gamma(a));
  if (x < a + 1) {
    double term = 1 / a;
    double sum = term;
    for (int n = 1; n < most_terms && term > sum * epsilon; ++n) {
      term *= x / (a + n);
      sum += term;
    }
    return sum * scale;
  }
  constexpr double tiny = 1e-300;
  double b = x + 1 - a;
  double c = 1 / tiny;
  double d = 1 / b;
  double h = d;
  for (int n = 1; n < most_terms; ++n) {
    const double an = -n * (n - a);
    b += 2;
    d = an * d + b;
    if (std::fabs(d) < tiny) d = tiny;
    c = b + an / c;
    if (std::fabs(c) < tiny) c = tiny;
    d = 1 / d;
    const double step = d * c;
    h *= step;
    if (std::fabs(step - 1) < epsilon) break;
  }
  return 1 - scale * h;
}

// Continued fraction of the incomplete beta function (DLMF 8.17.22), Lentz's method.
double beta_fraction(double a, double b, double x) {
  constexpr double tiny = 1e-300;
  const auto away_from_zero = [](double v) { return std::fabs(v) < tiny ? tiny : v; };
  double c = 1;
  double d = 1 / away_from_zero(1 - (a + b) * x / (a + 1));
  double h = d;
  for (int m = 1; m < most_terms; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / away_from_zero(1 + even * d);
    c = away_from_zero(1 + even / c);
    h *= d * c;
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / away_from_zero(1 + odd * d);
    c = away_from_zero(1 + odd / c);
    const double step = d * c;
    h *= step;
    if (std::fabs(step - 1) < epsilon) break;
  }
  return h;
}

// Regularised incomplete beta function I_x(a, b); `y` is 1 − x, given apart because it may be tiny.
double beta_i(double a, double b, double x, double y) {
  if (x <= 0) return 0;
  if (y <= 0) return 1;
  const double scale =
      std::exp(log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * std::log(x) + b * std::log(y));
  if (x < (a + 1) / (a + b + 2)) return scale * beta_fraction(a, b, x) / a;
  return 1 - scale * beta_fraction(b, a, y) / b;
}

// The x with cdf(x) = p of a distribution on (0, ∞), by bisection to the last bit.
template <class Cdf>
double bisect(double p, const Cdf& cdf) {
  double low = 0;
  double high = 1;
  while (cdf(high) < p) {
    low = high;
    high *= 2;
  }
  for (;;) {
    const double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) return middle;
    (cdf(middle) < p ? low : high) = middle;
  }
}

}  // namespace

double normal_cdf(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

double normal_quantile(double p) {
  if (p > 0.5) return -normal_quantile(1 - p);
  // Hastings' approximation (Abramowitz & Stegun 26.2.23, error below 4.5e-4), then Halley steps,
  // each of which triples the number of right digits.
  const double t = std::sqrt(-2 * std::log(p));
  double z = -(t - (2.515517 + t * (0.802853 + t * 0.010328)) /
                       (1 + t * (1.432788 + t * (0.189269 + t * 0.001308))));
  for (int i = 0; i < 2; ++i) {
    const double density = std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
    const double newton = (normal_cdf(z) - p) / density;
    z -= newton / (1 + z * newton / 2);
  }
  return z;
}

double chi_squared_cdf(double x, double dof) {
  return gamma_p(dof / 2, x / 2);
}

double chi_squared_quantile(double p, double dof) {
  // Start from Wilson and Hilferty 1931; Newton's steps, with bisection where one leaves the
  // bracket.
  const double a = 2 / (9 * dof);
  const double root = 1 - a + normal_quantile(p) * std::sqrt(a);
  double x = dof * std::max(root * root * root, 1e-8);
  double low = 0;
  double high = std::numeric_limits<double>::infinity();
  const double log_scale = -log_gamma(dof / 2) - dof / 2 * std::numbers::ln2;
  for (int i = 0; i < 200; ++i) {
    const double excess = chi_squared_cdf(x, dof) - p;
    (excess < 0 ? low : high) = x;
    const double density = std::exp(log_scale + (dof / 2 - 1) * std::log(x) - x / 2);
    double next = x - excess / density;
    if (!(next > low && next < high)) next = std::isinf(high) ? 2 * x : low + (high - low) / 2;
    if (std::fabs(next - x) <= 4 * epsilon * x) return next;
    x = next;
  }
  return x;
}

double f_cdf(double x, double dof1, double dof2) {
  if (x <= 0) return 0;
  if (std::isinf(dof2)) return chi_squared_cdf(dof1 * x, dof1);
  const double sum = dof1 * x + dof2;
  return beta_i(dof1 / 2, dof2 / 2, dof1 * x / sum, dof2 / sum);
}

double f_quantile(double p, double dof1, double dof2) {
  return bisect(p, [=](double x) { return f_cdf(x, dof1, dof2); });
}

double t_quantile(double p, double dof) {
  if (std::isinf(dof)) return normal_quantile(p);
  if (p == 0.5) return 0;
  const double t = std::sqrt(f_quantile(std::fabs(2 * p - 1), 1, dof));
  return p < 0.5 ? -t : t;
}

}  // namespace mamelon::detail
