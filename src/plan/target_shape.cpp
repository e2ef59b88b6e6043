#include "plan/target_shape.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace mamelon::detail {
namespace {

// Lengths of y at which the least ΔE00 is tabulated: squares, up to where no tooth colour lies.
constexpr std::size_t radii = 40;
constexpr double first_radius = 0.1;
constexpr int directions = 160;

double radius(std::size_t i) {
  return first_radius * static_cast<double>(i * i);
}

Vec3 solve_upper(const Mat3& u, const Vec3& y) {
  Vec3 x{};
  for (std::size_t n = 3; n-- > 0;) {
    double sum = y[n];
    for (std::size_t j = n + 1; j < 3; ++j) {
      sum -= u[n][j] * x[j];
    }
    x[n] = sum / u[n][n];
  }
  return x;
}

// Evenly spread directions (Fibonacci's spiral).
Vec3 direction(int n) {
  const double z = 1 - (2 * n + 1.0) / directions;
  const double turn = n * std::numbers::pi * (3 - std::sqrt(5.0));
  const double across = std::sqrt(1 - z * z);
  return {across * std::cos(turn), across * std::sin(turn), z};
}

}  // namespace

double norm(const Vec3& v) {
  return std::sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
}
double dot(const Vec3& a, const Vec3& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

Mat3 upper_root(const Mat3& m) {
  Mat3 u{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = i; j < 3; ++j) {
      double sum = m[i][j];
      for (std::size_t k = 0; k < i; ++k) {
        sum -= u[k][i] * u[k][j];
      }
      u[i][j] = i == j ? std::sqrt(std::max(sum, 1e-12)) : sum / u[i][i];
    }
  }
  return u;
}

double least_length(const Vec3& y, const std::array<Vec3, 2>& columns, std::size_t count,
                    const std::array<double, 2>& low, const std::array<double, 2>& high) {
  const auto along = [](const Vec3& from, const Vec3& column, double lo, double hi) {
    const double square = dot(column, column);
    const double x = square > 0 ? std::clamp(-dot(from, column) / square, lo, hi) : lo;
    return norm({from[0] + x * column[0], from[1] + x * column[1], from[2] + x * column[2]});
  };
  if (count == 0) {
    return norm(y);
  }
  if (count == 1) {
    return along(y, columns[0], low[0], high[0]);
  }
  const double a = dot(columns[0], columns[0]);
  const double b = dot(columns[0], columns[1]);
  const double c = dot(columns[1], columns[1]);
  const double p = -dot(columns[0], y);
  const double q = -dot(columns[1], y);
  const double determinant = a * c - b * b;
  if (determinant > 1e-12 * a * c) {
    const double x0 = (p * c - b * q) / determinant;
    const double x1 = (a * q - b * p) / determinant;
    if (x0 >= low[0] && x0 <= high[0] && x1 >= low[1] && x1 <= high[1]) {
      Vec3 rest{};
      for (std::size_t i = 0; i < 3; ++i) {
        rest[i] = y[i] + x0 * columns[0][i] + x1 * columns[1][i];
      }
      return norm(rest);
    }
  }
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t axis = 0; axis < 2; ++axis) {
    for (const double edge : {low[axis], high[axis]}) {
      const Vec3& column = columns[axis];
      const Vec3 from{y[0] + edge * column[0], y[1] + edge * column[1], y[2] + edge * column[2]};
      least = std::min(least, along(from, columns[1 - axis], low[1 - axis], high[1 - axis]));
    }
  }
  return least;
}

Vec3 least_per_axis(const Mat3& m) {
  const auto cofactor = [&](std::size_t i, std::size_t j) {
    const std::size_t r = (i + 1) % 3;
    const std::size_t q = (i + 2) % 3;
    const std::size_t c = (j + 1) % 3;
    const std::size_t d = (j + 2) % 3;
    return m[r][c] * m[q][d] - m[r][d] * m[q][c];
  };
  const double determinant =
      m[0][0] * cofactor(0, 0) + m[0][1] * cofactor(0, 1) + m[0][2] * cofactor(0, 2);
  Vec3 least{};
  for (std::size_t axis = 0; axis < 3; ++axis) {
    least[axis] =
        std::abs(determinant) / norm({cofactor(0, axis), cofactor(1, axis), cofactor(2, axis)});
  }
  return least;
}

RatioTables tabulate_ratio(const View& view, const Mat3& root, const DifferenceWeights& weights) {
  const auto ratio = [&](const Vec3& y) {
    const Vec3 step = solve_upper(root, y);
    const Lab lab{view.target.l + step[0], view.target.a + step[1], view.target.b + step[2]};
    return de00(view.target, lab, weights) / norm(y);
  };
  RatioTables tables{std::vector<double>(radii, 0), std::vector<double>(radii, 0)};
  for (std::size_t i = 1; i < radii; ++i) {
    const double r = radius(i);
    double least = std::numeric_limits<double>::infinity();
    double steepest = 0;
    for (int n = 0; n < directions; ++n) {
      const Vec3 along = direction(n);
      const Vec3 y{r * along[0], r * along[1], r * along[2]};
      const double here = ratio(y);
      least = std::min(least, here);
      constexpr double h = 0.02;
      Vec3 slope{};
      for (std::size_t c = 0; c < 3; ++c) {
        Vec3 moved = y;
        moved[c] += h * r;
        slope[c] = (ratio(moved) - here) / h;
      }
      steepest = std::max(steepest, norm(slope));
    }
    tables.least_de00[i] = 0.995 * least * r;
    tables.ratio_slope[i] = std::max(tables.ratio_slope[i - 1], 1.1 * steepest);
  }
  for (std::size_t i = radii - 1; i-- > 0;) {
    tables.least_de00[i] = std::min(tables.least_de00[i], tables.least_de00[i + 1]);
  }
  return tables;
}

double interpolate(const std::vector<double>& at_radii, double y) {
  const auto index = static_cast<std::size_t>(std::sqrt(y / first_radius));
  if (index + 1 >= radii) {
    return at_radii[radii - 1];
  }
  const double share = (y - radius(index)) / (radius(index + 1) - radius(index));
  return (1 - share) * at_radii[index] + share * at_radii[index + 1];
}

}  // namespace mamelon::detail
