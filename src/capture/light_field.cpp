#include "capture/light_field.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace mamelon::detail {
namespace {

// Twice the area of a triangle, positive where it turns one way.
double turn(PointPx a, PointPx b, PointPx c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

double distance_to_line(PointPx p, PointPx a, PointPx b) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  const double square = dx * dx + dy * dy;
  const double t =
      square > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / square, 0.0, 1.0) : 0;
  return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

// Convex hull by Andrew's monotone chain (1979, Inf Process Lett 9:216).
std::vector<PointPx> hull_of(std::vector<PointPx> points) {
  std::sort(points.begin(), points.end(),
            [](PointPx a, PointPx b) { return a.x < b.x || (a.x == b.x && a.y < b.y); });
  if (points.size() < 3) return points;
  std::vector<PointPx> hull;
  for (int side = 0; side < 2; ++side) {
    const std::size_t start = hull.size();
    for (const PointPx& p : points) {
      while (hull.size() >= start + 2 && turn(hull[hull.size() - 2], hull.back(), p) <= 0) {
        hull.pop_back();
      }
      hull.push_back(p);
    }
    hull.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return hull;
}

}  // namespace

LightField::Terms LightField::terms(PointPx at) const {
  const double x = (at.x - centre_.x) / unit_px_;
  const double y = (at.y - centre_.y) / unit_px_;
  Terms t;
  t << x, y, x * x, x * y, y * y;
  return t;
}

LightField LightField::fit(const std::vector<LightSample>& samples, PointPx centre,
                           double unit_px) {
  LightField field;
  field.centre_ = centre;
  field.unit_px_ = unit_px;
  if (samples.size() < min_light_samples) return field;
  field.flat_ = false;
  field.solve(samples);
  // Clean, even white says more than the cautious first guess, dusty white less; what lies beyond
  // the card hangs on it.
  const double factor = std::clamp(1.15 * field.scaled_rms_, 0.25, 5.0);
  std::vector<LightSample> weighed = samples;
  for (LightSample& s : weighed) s.sd *= factor;
  field.solve(weighed);
  return field;
}

void LightField::solve(const std::vector<LightSample>& samples) {
  std::size_t groups = 0;
  for (const LightSample& s : samples) groups = std::max(groups, s.group + 1);
  const auto n = static_cast<Eigen::Index>(5 + groups);
  constexpr double coefficient_sd = 0.10;
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
  for (Eigen::Index i = 0; i < 5; ++i) normal(i, i) = 1 / (coefficient_sd * coefficient_sd);
  const auto row_of = [&](const LightSample& s) {
    Eigen::VectorXd row = Eigen::VectorXd::Zero(n);
    row.head<5>() = terms(s.at);
    row[static_cast<Eigen::Index>(5 + s.group)] = 1;
    return row;
  };
  for (const LightSample& s : samples) {
    const Eigen::VectorXd row = row_of(s);
    const double weight = 1 / (s.sd * s.sd);
    normal += weight * row * row.transpose();
    right += weight * s.log_ratio * row;
  }
  // A group without samples keeps a zero row; a unit diagonal makes it harmless.
  for (Eigen::Index i = 5; i < n; ++i) {
    if (normal(i, i) == 0) normal(i, i) = 1;
  }
  const Eigen::LDLT<Eigen::MatrixXd> solver(normal);
  const Eigen::VectorXd solution = solver.solve(right);
  const Eigen::MatrixXd covariance = solver.solve(Eigen::MatrixXd::Identity(n, n));
  double sum = 0;
  double scaled = 0;
  for (const LightSample& s : samples) {
    const double residual = s.log_ratio - row_of(s).dot(solution);
    sum += residual * residual;
    scaled += residual * residual / (s.sd * s.sd);
  }
  const auto count = static_cast<double>(samples.size());
  residual_rms_ = std::sqrt(sum / count);
  scaled_rms_ = std::sqrt(scaled / count);
  coefficients_ = solution.head<5>();
  covariance_ = covariance.topLeftCorner<5, 5>();
}

void LightField::set_known(std::vector<PointPx> places, double px_per_mm) {
  hull_ = hull_of(std::move(places));
  px_per_mm_ = px_per_mm;
}

double LightField::unseen(PointPx at) const {
  if (hull_.empty()) return 0;
  constexpr double wholly_mm = 2;
  bool inside = hull_.size() > 2;
  double nearest = std::hypot(at.x - hull_[0].x, at.y - hull_[0].y);
  for (std::size_t i = 0; i < hull_.size(); ++i) {
    const PointPx& next = hull_[(i + 1) % hull_.size()];
    inside = inside && turn(hull_[i], next, at) >= 0;
    nearest = std::min(nearest, distance_to_line(at, hull_[i], next));
  }
  return inside ? 0 : std::min(1.0, nearest / (wholly_mm * px_per_mm_));
}

double LightField::gain(PointPx at) const {
  return std::exp(coefficients_.dot(terms(at)));
}

double LightField::log_variance(PointPx at) const {
  return log_covariance(at, at);
}

double LightField::log_covariance(PointPx one, PointPx other) const {
  return terms(one).dot(covariance_ * terms(other));
}

}  // namespace mamelon::detail
