#include "capture/correction.h"

#include <algorithm>
#include <cmath>

#include "mamelon/difference.h"

#include "base/parallel.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// Standard deviations that no fit sees: where the outline and the margin fall, and what is left of
// glare and texture. Found by simulation.
constexpr double placement_sd_l = 0.07;
constexpr double placement_sd_ab = 0.05;
// Of the logarithm of light: what a curve through a few neutrals is off by between them.
constexpr double tone_log_sd = 0.007;
// Of the logarithm of light where no white stands beside the surface: the card may lie in a shadow
// that the surface does not, or the reverse. A hand's shadow takes up to half of the light: 1.96
// of these.
constexpr double shadow_log_sd = 0.35;
// What surfaces of a kind are around (from memory), as the logarithm of Y, and by how much they
// vary: where the light is unknown a colour far from it says that the light is rather not what it
// seems. A step of 5 in L* is 0.17.
constexpr double usual_log_sd = 0.17;
double usual_y(SurfaceKind kind) {
  return kind == SurfaceKind::gingiva ? 0.184 : 0.437;  // L* 50 and 72
}

// Of what one surface's own errors are, beside their placement and noise, another of the same
// material shares this part: their spectra still differ.
constexpr double share_of_one_material = 0.7;

// Root mean square of the logarithm of light that the card does not tell of, after a surface is
// seen `log_off` from what its kind usually is: both normal, their sum is `log_off`. The reading is
// not moved by the mean of it, so that the interval has to hold it.
double shadow_after(double log_off) {
  constexpr double light = shadow_log_sd * shadow_log_sd;
  constexpr double surface = usual_log_sd * usual_log_sd;
  const double mean = log_off * light / (light + surface);
  return std::sqrt(mean * mean + light * surface / (light + surface));
}

}  // namespace

double nearness(const Lab& one, const Lab& other) {
  const double distance = de76(one, other) / 15;
  return 1 / (1 + distance * distance * distance * distance);
}

double standardised_near_teeth(const std::vector<LeaveOneOut>& errors) {
  double sum = 0;
  double weights = 0;
  for (const LeaveOneOut& e : errors) {
    const double weight = nearness(e.reference, tooth_centre);
    sum += weight * e.standardised;
    weights += weight;
  }
  return weights > 0 ? sum / weights : 0;
}

double de00_near_teeth(const std::vector<LeaveOneOut>& errors) {
  double sum = 0;
  double weights = 0;
  for (const LeaveOneOut& e : errors) {
    const double weight = nearness(e.reference, tooth_centre);
    const Lab& r = e.reference;
    const double error = de00(r, {r.l + e.error[0], r.a + e.error[1], r.b + e.error[2]});
    sum += weight * error * error;
    weights += weight;
  }
  return weights > 0 ? std::sqrt(sum / weights) : 0;
}

std::vector<LeaveOneOut> leave_one_out(const Training& training, const MapFitter& fit, bool toned) {
  std::vector<LeaveOneOut> errors(training.patches.size());
  parallel_for(errors.size(), 1, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      TrainingPatch left_out = training.patches[i];
      Training rest = training.without(i);
      if (toned && left_out.neutral) {
        const Tone tone = fit_tone(rest.patches);
        apply_tone(tone, left_out);
        for (TrainingPatch& p : rest.patches) apply_tone(tone, p);
      }
      const auto map = fit(rest);
      const MapEstimate estimate = map->of_patch(left_out);
      const Lab fitted = to_lab(to_xyz(estimate.xyz), training.white);
      const Eigen::Vector3d miss = estimate.xyz - left_out.xyz;
      Eigen::Matrix3d covariance = estimate.covariance;
      covariance.diagonal().array() += 1e-9;
      const Eigen::Matrix3d slope = to_eigen(lab_jacobian(to_xyz(estimate.xyz), training.white));
      errors[i] = {left_out.lab, to_eigen(fitted) - to_eigen(left_out.lab),
                   miss.dot(covariance.ldlt().solve(miss)) / 3,
                   slope * covariance * slope.transpose()};
    }
  });
  return errors;
}

Eigen::Matrix3d FittedCorrection::error_around(const Lab& lab) const {
  Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
  double weights = 0;
  for (const LeaveOneOut& e : parts_.errors) {
    const double weight = nearness(e.reference, lab);
    sum += weight * e.error * e.error.transpose();
    weights += weight;
  }
  return weights > 0 ? Eigen::Matrix3d(sum / weights) : sum;
}

double FittedCorrection::light_log_sd(PointPx at) const {
  const double unseen = parts_.light.unseen(at) * shadow_after(0);
  const double drift = parts_.drift ? parts_.drift->light : 0;
  return std::sqrt(parts_.light.log_variance(at) + unseen * unseen + drift * drift);
}

// Standard deviation of the logarithm of light that white beside the surface would have told of.
double FittedCorrection::unseen_light(const Signal& signal, double y) const {
  const double unseen = parts_.light.unseen(signal.at);
  if (unseen <= 0) return 0;
  return unseen * shadow_after(std::log(std::max(y, 1e-3) / usual_y(signal.kind)));
}

FittedCorrection::Read FittedCorrection::read(const Signal& signal) const {
  const double gain = parts_.light.gain(signal.at);
  Eigen::Vector3d even = to_eigen(signal.rgb);
  Eigen::Vector3d tone_slope = Eigen::Vector3d::Ones();
  if (parts_.tone) {
    tone_slope = parts_.tone->slope(even);
    even = (*parts_.tone)(even);
  }
  even /= gain;
  Read read{.seen = {even, signal.kind}, .estimate = (*parts_.map)({even, signal.kind})};
  const Xyz xyz = to_xyz(read.estimate.xyz);
  read.value = to_lab(xyz, parts_.white);
  read.to_lab = to_eigen(lab_jacobian(xyz, parts_.white));
  const Eigen::Matrix3d slope = read.to_lab * read.estimate.jacobian;
  read.raw_slope = slope * tone_slope.asDiagonal() / gain;
  read.by_light = slope * even;
  read.by_channel = slope * even.asDiagonal();
  read.apart.setZero();
  if (parts_.second_opinion) {
    // 0.3 of what two honest maps disagree by.
    const Lab other = to_lab(to_xyz((*parts_.second_opinion)(read.seen).xyz), parts_.white);
    read.apart = 0.3 * (to_eigen(other) - to_eigen(read.value));
  }
  return read;
}

Measured<Lab> FittedCorrection::by_card(const Signal& signal) const {
  const Read r = read(signal);
  return described(signal, r, unseen_light(signal, r.estimate.xyz[1]));
}

Measured<Lab> FittedCorrection::described(const Signal& signal, const Read& r,
                                          double unseen) const {
  Measured<Lab> out;
  out.value = r.value;
  out.random = to_mat3(r.raw_slope * to_eigen(signal.rgb_cov) * r.raw_slope.transpose());
  Eigen::Matrix3d shared = parts_.error_model.map_variance_factor * r.to_lab *
                           r.estimate.covariance * r.to_lab.transpose();
  const double log_variance = parts_.light.log_variance(signal.at) + unseen * unseen +
                              (parts_.tone ? tone_log_sd * tone_log_sd : 0);
  shared += log_variance * r.by_light * r.by_light.transpose();
  shared += parts_.error_model.leave_one_out_factor * error_around(out.value);
  shared += r.apart * r.apart.transpose();
  if (parts_.drift) shared += drifted(r, r);
  shared(0, 0) += placement_sd_l * placement_sd_l;
  shared(1, 1) += placement_sd_ab * placement_sd_ab;
  shared(2, 2) += placement_sd_ab * placement_sd_ab;
  out.shared = to_mat3((shared + shared.transpose()) / 2);
  return out;
}

Mat3 FittedCorrection::common(const Signal& one, const Signal& other) const {
  const Read a = read(one);
  const Read b = read(other);
  // A shadow's edge may run between two places, the less so the nearer they are.
  constexpr double edge_mm = 10;
  const double away = std::hypot(one.at.x - other.at.x, one.at.y - other.at.y) /
                      (edge_mm * parts_.light.px_per_mm());
  const double unseen = unseen_light(one, a.estimate.xyz[1]) *
                        unseen_light(other, b.estimate.xyz[1]) * std::exp(-0.5 * away * away);
  return to_mat3(common_of(a, b, parts_.light.log_covariance(one.at, other.at) + unseen));
}

Eigen::Matrix3d FittedCorrection::common_of(const Read& one, const Read& other,
                                            double light_covariance) const {
  Eigen::Matrix3d shared = parts_.error_model.map_variance_factor * one.to_lab *
                           parts_.map->common(one.seen, other.seen) * other.to_lab.transpose();
  shared += light_covariance * one.by_light * other.by_light.transpose();
  shared += one.apart * other.apart.transpose();
  if (parts_.drift) shared += drifted(one, other);
  return shared;
}

// What two readings share because lamp and exposure may have drifted.
Eigen::Matrix3d FittedCorrection::drifted(const Read& one, const Read& other) const {
  const double light = parts_.drift->light;
  const double colour = parts_.drift->colour;
  return light * light * one.by_light * other.by_light.transpose() +
         colour * colour * one.by_channel * other.by_channel.transpose();
}

Eigen::Matrix3d FittedCorrection::shared_of(const Signal& one, const Signal& other) const {
  Eigen::Matrix3d shared = to_eigen(common(one, other));
  const Lab a = read(one).value;
  const Lab b = read(other).value;
  const double near = nearness(a, b);
  // What patches around a colour show, every surface of that colour shares.
  shared += near * parts_.error_model.leave_one_out_factor * error_around(a);
  if (one.kind != other.kind) return shared;
  // Of one material and one colour, all but the placement is shared.
  const Eigen::Matrix3d own = own_of(by_card(one), to_eigen(common(one, one)));
  return shared + share_of_one_material * near * own;
}

Eigen::Matrix3d FittedCorrection::own_of(const Measured<Lab>& measured,
                                         const Eigen::Matrix3d& common) const {
  return to_eigen(measured.shared) - common -
         parts_.error_model.leave_one_out_factor * error_around(measured.value);
}

JointLab FittedCorrection::on_bench(std::span<const Signal> signals) const {
  std::vector<Read> reads;
  std::vector<Measured<Lab>> measured;
  for (const Signal& signal : signals) {
    reads.push_back(read(signal));
    measured.push_back(described(signal, reads.back(), 0));
  }
  const auto common = [&](std::size_t i, std::size_t k) {
    return common_of(reads[i], reads[k], parts_.light.log_covariance(signals[i].at, signals[k].at));
  };
  JointLab out;
  const auto n = 3 * static_cast<Eigen::Index>(signals.size());
  Eigen::MatrixXd joint(n, n);
  for (std::size_t i = 0; i < signals.size(); ++i) {
    out.lab.push_back(measured[i].value);
    const Eigen::Matrix3d around = error_around(measured[i].value);
    const Eigen::Matrix3d own = own_of(measured[i], common(i, i));
    const auto row = 3 * static_cast<Eigen::Index>(i);
    joint.block<3, 3>(row, row) = to_eigen(measured[i].covariance());
    for (std::size_t k = 0; k < i; ++k) {
      const Lab& other = measured[k].value;
      const double near = nearness(measured[i].value, other);
      const Eigen::Matrix3d both =
          common(i, k) +
          near * parts_.error_model.leave_one_out_factor * (around + error_around(other)) / 2 +
          share_of_one_material * (own + own_of(measured[k], common(k, k))) / 2;
      const auto column = 3 * static_cast<Eigen::Index>(k);
      joint.block<3, 3>(row, column) = both;
      joint.block<3, 3>(column, row) = both.transpose();
    }
  }
  out.covariance.assign(joint.data(), joint.data() + joint.size());
  return out;
}

Eigen::MatrixXd FittedCorrection::shared_with_anchors(const Signal& signal) const {
  Eigen::MatrixXd out(3, 3 * static_cast<Eigen::Index>(parts_.anchors.size()));
  for (std::size_t i = 0; i < parts_.anchors.size(); ++i) {
    out.middleCols<3>(3 * static_cast<Eigen::Index>(i)) =
        shared_of(signal, parts_.anchors[i].signal);
  }
  return out;
}

FittedCorrection::FittedCorrection(Parts parts) : parts_(std::move(parts)) {
  const auto n = 3 * static_cast<Eigen::Index>(parts_.anchors.size());
  if (n == 0) return;
  Eigen::MatrixXd covariance(n, n);
  Eigen::VectorXd missed(n);
  for (std::size_t i = 0; i < parts_.anchors.size(); ++i) {
    const Anchor& anchor = parts_.anchors[i];
    const auto at = 3 * static_cast<Eigen::Index>(i);
    const Measured<Lab> seen = by_card(anchor.signal);
    covariance.middleRows<3>(at) = shared_with_anchors(anchor.signal);
    covariance.block<3, 3>(at, at) = to_eigen(seen.covariance()) + anchor.covariance;
    missed.segment<3>(at) = to_eigen(seen.value) - to_eigen(anchor.lab);
  }
  covariance = ((covariance + covariance.transpose()) / 2).eval();
  // The covariances are of one model only nearly: a little more of the diagonal keeps their matrix
  // positive definite.
  covariance.diagonal() *= 1.02;
  anchored_.compute(covariance);
  anchor_pull_ = anchored_.solve(missed);
  anchor_misfit_ = missed.dot(anchor_pull_);
}

bool FittedCorrection::anchors_agree() const {
  const auto n = static_cast<double>(anchor_pull_.size());
  if (n == 0) return true;
  // The 99.9 % point of chi-squared (Wilson and Hilferty 1931, PNAS 17:684).
  constexpr double normal = 3.0902;
  const double root = 1 - 2 / (9 * n) + normal * std::sqrt(2 / (9 * n));
  return anchor_misfit_ <= n * root * root * root;
}

Measured<Lab> FittedCorrection::lab(const Signal& signal) const {
  Measured<Lab> out = by_card(signal);
  if (parts_.anchors.empty()) return out;
  const Eigen::MatrixXd with = shared_with_anchors(signal);
  const Eigen::Vector3d value = to_eigen(out.value) - with * anchor_pull_;
  out.value = {value[0], value[1], value[2]};
  const Eigen::Matrix3d shared = to_eigen(out.shared);
  const Eigen::Matrix3d told = with * anchored_.solve(with.transpose());
  // Told no better than the placement allows.
  Eigen::Matrix3d left = shared - told;
  left = ((left + left.transpose()) / 2).eval();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> parts(left);
  const Eigen::Vector3d kept = parts.eigenvalues().cwiseMax(placement_sd_ab * placement_sd_ab);
  out.shared = to_mat3(parts.eigenvectors() * kept.asDiagonal() * parts.eigenvectors().transpose());
  return out;
}

}  // namespace mamelon::detail
