#include <cmath>

#include <Eigen/Dense>

#include "mamelon/error.h"
#include "mamelon/reading.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

// Reflectance is a logistic of an unbounded curve z, which keeps it within (0, 1); the smoothest z
// that gives the wanted tristimulus values is found by Newton steps on the Lagrangian. This is
// the "least log slope squared" family of methods (Burns 2020, Color Res Appl 45:8–26), with
// second differences in place of slopes and the logistic in place of the hyperbolic tangent.
constexpr double lowest = 0.001;
constexpr double highest = 0.999;

double reflectance_of(double z) {
  return lowest + (highest - lowest) / (1 + std::exp(-z));
}

double slope_of(double z) {
  const double p = 1 / (1 + std::exp(-z));
  return (highest - lowest) * p * (1 - p);
}

double curvature_of(double z) {
  const double p = 1 / (1 + std::exp(-z));
  return (highest - lowest) * p * (1 - p) * (1 - 2 * p);
}

}  // namespace

Reflectance estimate_reflectance(const Lab& lab, const Viewing& viewing, const Grid& grid) {
  if (!std::isfinite(lab.l) || !std::isfinite(lab.a) || !std::isfinite(lab.b))
    throw ArgumentError("a reflectance can be estimated only for a finite CIELAB colour");
  const auto table = weights(grid, viewing);
  const auto n = static_cast<Eigen::Index>(grid.count);
  Eigen::MatrixXd w(3, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const auto band = static_cast<std::size_t>(i);
    w(0, i) = table->x[band];
    w(1, i) = table->y[band];
    w(2, i) = table->z[band];
  }
  const Xyz white{w.row(0).sum(), w.row(1).sum(), w.row(2).sum()};
  const Xyz wanted_xyz = to_xyz(lab, white);
  const Eigen::Vector3d wanted(wanted_xyz.x, wanted_xyz.y, wanted_xyz.z);

  Eigen::MatrixXd second = Eigen::MatrixXd::Zero(n - 2, n);
  for (Eigen::Index i = 0; i + 2 < n; ++i) {
    second(i, i) = 1;
    second(i, i + 1) = -2;
    second(i, i + 2) = 1;
  }
  // A trace of pull towards a level curve makes the system regular where no weight reaches.
  const Eigen::MatrixXd stiffness =
      second.transpose() * second + 1e-6 * Eigen::MatrixXd::Identity(n, n);

  const double level = std::fmin(std::fmax(wanted[1], 0.01), 0.99);
  Eigen::VectorXd z = Eigen::VectorXd::Constant(n, std::log(level / (1 - level)));
  Eigen::Vector3d multipliers = Eigen::Vector3d::Zero();
  const double z_start = z[0];
  Eigen::VectorXd reflectance(n);
  Eigen::Vector3d miss;
  constexpr int most_steps = 60;
  for (int step = 0; step < most_steps; ++step) {
    Eigen::VectorXd slope(n);
    Eigen::VectorXd curvature(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      reflectance[i] = reflectance_of(z[i]);
      slope[i] = slope_of(z[i]);
      curvature[i] = curvature_of(z[i]);
    }
    miss = w * reflectance - wanted;
    const Eigen::MatrixXd constraint = w * slope.asDiagonal();  // 3 × n
    const Eigen::VectorXd pull = z - Eigen::VectorXd::Constant(n, z_start);
    const Eigen::VectorXd gradient = stiffness * pull + constraint.transpose() * multipliers;
    if (miss.cwiseAbs().maxCoeff() < 1e-12 && gradient.cwiseAbs().maxCoeff() < 1e-9) break;

    Eigen::MatrixXd system = Eigen::MatrixXd::Zero(n + 3, n + 3);
    system.topLeftCorner(n, n) = stiffness;
    // Only the convex part of the constraint's own curvature: the other could make the system
    // indefinite.
    const Eigen::VectorXd bend = curvature.cwiseProduct(w.transpose() * multipliers).cwiseMax(0.0);
    system.topLeftCorner(n, n).diagonal() += bend;
    system.topRightCorner(n, 3) = constraint.transpose();
    system.bottomLeftCorner(3, n) = constraint;
    Eigen::VectorXd right(n + 3);
    right.head(n) = -gradient;
    right.tail(3) = -miss;
    const Eigen::VectorXd move = system.partialPivLu().solve(right);
    if (!move.allFinite()) break;
    const double longest = move.head(n).cwiseAbs().maxCoeff();
    const double damping = longest > 2 ? 2 / longest : 1;
    z += damping * move.head(n);
    multipliers += damping * move.tail(3);
  }

  std::vector<double> values(grid.count);
  for (Eigen::Index i = 0; i < n; ++i) values[static_cast<std::size_t>(i)] = reflectance_of(z[i]);
  Reflectance estimate(grid, std::move(values));
  const Lab reached = to_lab(to_xyz(estimate, *table), white);
  const double distance =
      std::hypot(reached.l - lab.l, std::hypot(reached.a - lab.a, reached.b - lab.b));
  if (!(distance <= 0.01))
    throw ModelError("no smooth reflectance within 0.001-0.999 has the colour L* " +
                     detail::format_fixed(lab.l, 2) + ", a* " + detail::format_fixed(lab.a, 2) +
                     ", b* " + detail::format_fixed(lab.b, 2) + " under " + to_string(viewing) +
                     "; is it the colour of a real surface?");
  return estimate;
}

}  // namespace mamelon
