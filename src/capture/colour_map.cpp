#include "capture/colour_map.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "mamelon/difference.h"

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// Terms of the map: R, G, B and, for the root polynomial, √RG, √RB, √GB.
struct Terms {
  Eigen::VectorXd value;
  Eigen::MatrixXd jacobian;  // d value / d RGB
};

Terms terms_of(const Eigen::Vector3d& rgb, bool roots) {
  Terms t;
  t.value.resize(roots ? 6 : 3);
  t.jacobian = Eigen::MatrixXd::Zero(t.value.size(), 3);
  t.value.head<3>() = rgb;
  t.jacobian.topRows<3>().setIdentity();
  if (!roots) return t;
  constexpr std::array<std::array<int, 2>, 3> pairs = {{{0, 1}, {0, 2}, {1, 2}}};
  for (std::size_t i = 0; i < pairs.size(); ++i) {
    const auto row = static_cast<Eigen::Index>(3 + i);
    // Below this the root's slope means nothing.
    constexpr double floor = 1e-6;
    const double p = std::max(rgb[pairs[i][0]], floor);
    const double q = std::max(rgb[pairs[i][1]], floor);
    t.value[row] = std::sqrt(p * q);
    t.jacobian(row, pairs[i][0]) = 0.5 * std::sqrt(q / p);
    t.jacobian(row, pairs[i][1]) = 0.5 * std::sqrt(p / q);
  }
  return t;
}

class LinearMap : public ColourMap {
 public:
  LinearMap(Eigen::MatrixXd coefficients, Eigen::MatrixXd covariance, bool roots)
      : coefficients_(std::move(coefficients)), covariance_(std::move(covariance)), roots_(roots) {}

  [[nodiscard]] MapEstimate operator()(const Seen& seen) const override {
    const Terms t = terms_of(seen.rgb, roots_);
    const Eigen::MatrixXd design = design_of(t.value);
    return {coefficients_ * t.value, coefficients_ * t.jacobian,
            design * covariance_ * design.transpose()};
  }

  [[nodiscard]] Eigen::Matrix3d common(const Seen& one, const Seen& other) const override {
    return design_of(terms_of(one.rgb, roots_).value) * covariance_ *
           design_of(terms_of(other.rgb, roots_).value).transpose();
  }

  // XYZ = design · coefficients, these stacked row by row.
  static Eigen::MatrixXd design_of(const Eigen::VectorXd& value) {
    const Eigen::Index n = value.size();
    Eigen::MatrixXd design = Eigen::MatrixXd::Zero(3, 3 * n);
    for (Eigen::Index c = 0; c < 3; ++c) design.block(c, c * n, 1, n) = value.transpose();
    return design;
  }

 private:
  Eigen::MatrixXd coefficients_;
  Eigen::MatrixXd covariance_;
  bool roots_;
};

std::unique_ptr<ColourMap> fit(const Training& training, bool roots) {
  const Eigen::Index n = roots ? 6 : 3;
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(3 * n, 3 * n);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(3 * n);
  double scale = 0;
  for (const TrainingPatch& p : training.patches) {
    const Eigen::Matrix3d to_lab = to_eigen(lab_jacobian(to_xyz(p.xyz), training.white));
    const Eigen::Matrix3d metric =
        tooth_weight(p.lab) * to_lab.transpose() * de00_metric(p.lab) * to_lab;
    const Eigen::MatrixXd design = LinearMap::design_of(terms_of(p.rgb, roots).value);
    normal += design.transpose() * metric * design;
    right += design.transpose() * metric * p.xyz;
    scale += metric.trace() * p.rgb.squaredNorm();
  }
  if (roots) {
    // The root terms are held to 0 unless the patches ask for them.
    for (Eigen::Index c = 0; c < 3; ++c) {
      for (Eigen::Index k = 3; k < n; ++k) normal(c * n + k, c * n + k) += 1e-5 * scale;
    }
  }
  const Eigen::LDLT<Eigen::MatrixXd> solver(normal);
  const Eigen::VectorXd solution = solver.solve(right);
  Eigen::MatrixXd coefficients(3, n);
  for (Eigen::Index c = 0; c < 3; ++c) coefficients.row(c) = solution.segment(c * n, n).transpose();
  double squares = 0;
  for (const TrainingPatch& p : training.patches) {
    const Eigen::Matrix3d to_lab = to_eigen(lab_jacobian(to_xyz(p.xyz), training.white));
    const Eigen::Vector3d residual = coefficients * terms_of(p.rgb, roots).value - p.xyz;
    squares += tooth_weight(p.lab) *
               residual.dot(to_lab.transpose() * de00_metric(p.lab) * to_lab * residual);
  }
  const auto observations = static_cast<double>(3 * training.patches.size());
  const double freedom = std::max(1.0, observations - static_cast<double>(3 * n));
  const Eigen::MatrixXd covariance =
      solver.solve(Eigen::MatrixXd::Identity(3 * n, 3 * n)) * (squares / freedom);
  return std::make_unique<LinearMap>(coefficients, covariance, roots);
}

}  // namespace

Training Training::without(std::size_t i) const {
  Training rest = *this;
  rest.patches.erase(rest.patches.begin() + static_cast<std::ptrdiff_t>(i));
  return rest;
}

double tooth_weight(const Lab& lab) {
  const double d = de76(lab, tooth_centre) / 20;
  return 1 / (1 + d * d);
}

Eigen::Matrix3d de00_metric(const Lab& lab) {
  constexpr double step = 0.02;
  const auto squared = [&](double l, double a, double b) {
    const double d = de00(lab, {lab.l + step * l, lab.a + step * a, lab.b + step * b}) / step;
    return d * d;
  };
  Eigen::Matrix3d g = Eigen::Matrix3d::Zero();
  g(0, 0) = squared(1, 0, 0);
  g(1, 1) = squared(0, 1, 0);
  g(2, 2) = squared(0, 0, 1);
  // Lightness stands apart from chroma and hue in CIEDE2000; a and b are coupled.
  g(1, 2) = g(2, 1) = (squared(0, 1, 1) - g(1, 1) - g(2, 2)) / 2;
  return g;
}

double squared_u95(const Lab& lab, const Eigen::Matrix3d& covariance) {
  const Eigen::Matrix3d form = de00_metric(lab) * covariance;
  const double mean = form.trace();
  if (mean <= 0) return 0;
  const double freedom = mean * mean / (form * form).trace();
  constexpr double normal_95 = 1.6449;
  const double cube_root = 1 - 2 / (9 * freedom) + normal_95 * std::sqrt(2 / (9 * freedom));
  return mean * cube_root * cube_root * cube_root;
}

std::unique_ptr<ColourMap> fit_matrix(const Training& training) {
  return fit(training, false);
}

std::unique_ptr<ColourMap> fit_root_polynomial(const Training& training) {
  return fit(training, true);
}

}  // namespace mamelon::detail
