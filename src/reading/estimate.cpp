#include <cmath>

#include <Eigen/Dense>
#include <Eigen/Sparse>

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

// DᵀD of the second differences D of n values: five diagonals.
Eigen::SparseMatrix<double> roughness(Eigen::Index n) {
  std::vector<Eigen::Triplet<double>> entries;
  for (Eigen::Index i = 0; i + 2 < n; ++i) {
    entries.emplace_back(i, i, 1);
    entries.emplace_back(i, i + 1, -2);
    entries.emplace_back(i, i + 2, 1);
  }
  Eigen::SparseMatrix<double> second(n - 2, n);
  second.setFromTriplets(entries.begin(), entries.end());
  return second.transpose() * second;
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

  // A trace of pull towards a level curve makes the system regular where no weight reaches.
  Eigen::SparseMatrix<double> stiffness = roughness(n);
  for (Eigen::Index i = 0; i < n; ++i) stiffness.coeffRef(i, i) += 1e-6;
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>, Eigen::Lower, Eigen::NaturalOrdering<int>>
      solver;
  solver.analyzePattern(stiffness);

  // The start is the level curve with the wanted Y.
  const double share = (std::fmin(std::fmax(wanted[1], 0.01), 0.99) - lowest) / (highest - lowest);
  Eigen::VectorXd z = Eigen::VectorXd::Constant(n, std::log(share / (1 - share)));
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

    // Only the convex part of the constraint's own curvature: the other could make the system
    // indefinite.
    const Eigen::VectorXd bend = curvature.cwiseProduct(w.transpose() * multipliers).cwiseMax(0.0);
    Eigen::SparseMatrix<double> hessian = stiffness;
    hessian.diagonal() += bend;
    solver.factorize(hessian);
    // The banded part is eliminated first, which leaves three equations in the multipliers.
    const Eigen::VectorXd free_move = solver.solve(-gradient);
    const Eigen::MatrixXd response = solver.solve(constraint.transpose());  // n × 3
    const Eigen::Vector3d multiplier_move =
        (constraint * response).partialPivLu().solve(constraint * free_move + miss);
    const Eigen::VectorXd move = free_move - response * multiplier_move;
    if (!move.allFinite() || !multiplier_move.allFinite()) break;
    const double longest = move.cwiseAbs().maxCoeff();
    const double damping = longest > 2 ? 2 / longest : 1;
    z += damping * move;
    multipliers += damping * multiplier_move;
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
