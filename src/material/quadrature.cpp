#include "material/quadrature.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace mamelon::detail {
namespace {

struct Legendre {
  double value = 1;     // P_m
  double previous = 0;  // P_(m−1)
};
Legendre legendre(std::size_t m, double x) {
  Legendre p;
  for (std::size_t k = 1; k <= m; ++k) {
    const auto n = static_cast<double>(k);
    const double next = ((2 * n - 1) * x * p.value - (n - 1) * p.previous) / n;
    p.previous = p.value;
    p.value = next;
  }
  return p;
}
double legendre_slope(std::size_t m, double x) {
  const Legendre p = legendre(m, x);
  return static_cast<double>(m) * (p.previous - x * p.value) / (1 - x * x);
}

struct Points {
  std::vector<double> x;  // rising, in [−1, 1]
  std::vector<double> w;  // add up to 2
};

// Abramowitz and Stegun 1964, 25.4.29.
Points gauss(std::size_t m) {
  Points points;
  for (std::size_t i = m; i-- > 0;) {
    double x = std::cos(std::numbers::pi * (static_cast<double>(i) + 0.75) /
                        (static_cast<double>(m) + 0.5));
    for (int n = 0; n < 8; ++n) {
      x -= legendre(m, x).value / legendre_slope(m, x);
    }
    const double slope = legendre_slope(m, x);
    points.x.push_back(x);
    points.w.push_back(2 / ((1 - x * x) * slope * slope));
  }
  return points;
}

// Abramowitz and Stegun 1964, 25.4.31, turned so that the fixed point is +1: the other points are
// the roots of (P_(m−1)(x) − P_m(x)) / (1 − x).
Points radau(std::size_t m) {
  Points points;
  const auto count = static_cast<double>(m);
  for (std::size_t i = m - 1; i > 0; --i) {
    double x = std::cos(2 * std::numbers::pi * static_cast<double>(i) / (2 * count - 1));
    for (int n = 0; n < 12; ++n) {
      const Legendre p = legendre(m, x);
      const double value = p.previous - p.value;
      const double slope = legendre_slope(m - 1, x) - legendre_slope(m, x);
      // Deflated by the root at 1.
      x -= value / (slope + value / (1 - x));
    }
    const double previous = legendre(m - 1, x).value;
    points.x.push_back(x);
    points.w.push_back((1 + x) / (count * count * previous * previous));
  }
  points.x.push_back(1);
  points.w.push_back(2 / (count * count));
  return points;
}

void append(Directions& to, const Points& points, double low, double high) {
  const double half = (high - low) / 2;
  for (std::size_t i = 0; i < points.x.size(); ++i) {
    to.mu.push_back(low + half * (1 + points.x[i]));
    to.weight.push_back(half * points.w[i]);
  }
}

}  // namespace

Directions directions(std::size_t streams, double refractive_index) {
  Directions result;
  if (refractive_index <= 1) {
    append(result, radau(streams), 0, 1);
  } else {
    const double critical = std::sqrt(1 - 1 / (refractive_index * refractive_index));
    append(result, gauss(streams / 2), 0, critical);
    append(result, radau(streams / 2), critical, 1);
    result.escaping = streams / 2;
  }
  result.mu.back() = 1;
  return result;
}

}  // namespace mamelon::detail
