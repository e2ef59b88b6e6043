#include "capture/response_map.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <mutex>
#include <utility>
#include <vector>

#include "capture/algebra.h"
#include "capture/tooth_library.h"

namespace mamelon::detail {
namespace {

// How well a stated reflectance describes a patch in the photo: a part of its tristimulus values,
// and a part of the white's.
constexpr double patch_relative_sd = 0.002;
constexpr double patch_absolute_sd = 0.0003;

// Squared errors of natural teeth of one colour over those of the library, which holds surfaces of
// every kind: found with modelled teeth that were left out of it one at a time.
constexpr double natural_part = 0.1;

// (3 × 3n) block row with `row` in each of the three channels' places.
Eigen::MatrixXd channel_rows(const Eigen::VectorXd& row) {
  const Eigen::Index n = row.size();
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(3, 3 * n);
  for (Eigen::Index c = 0; c < 3; ++c) out.block(c, c * n, 1, n) = row.transpose();
  return out;
}

class ResponseMap : public ColourMap {
 public:
  ResponseMap(const Training& training, std::shared_ptr<const ResponseModel> model)
      : model_(std::move(model)), white_(training.white) {
    const auto n = static_cast<Eigen::Index>(training.patches.size());
    const Eigen::Index unknowns = model_->prior.mean.size();
    phi_.resize(3 * n, unknowns);
    design_.resize(3 * n, 9);
    Eigen::VectorXd wanted(3 * n);
    Eigen::Matrix3d moment = Eigen::Matrix3d::Zero();
    Eigen::Matrix3d cross = Eigen::Matrix3d::Zero();
    for (Eigen::Index i = 0; i < n; ++i) {
      const TrainingPatch& p = training.patches[static_cast<std::size_t>(i)];
      phi_.middleRows(3 * i, 3) = channel_rows(with_offset(p.reflectance));
      design_.middleRows(3 * i, 3) = channel_rows(p.rgb);
      wanted.segment(3 * i, 3) = p.xyz;
      moment += p.rgb * p.rgb.transpose();
      cross += p.xyz * p.rgb.transpose();
    }
    const Eigen::Matrix3d rough = cross * moment.inverse();
    const Eigen::MatrixXd spread = model_->prior.covariance * phi_.transpose();
    Eigen::MatrixXd v = phi_ * spread;
    for (Eigen::Index i = 0; i < n; ++i) {
      v.block(3 * i, 3 * i, 3, 3) += noise(training.patches[static_cast<std::size_t>(i)], rough);
    }
    v_inverse_ = v.ldlt().solve(Eigen::MatrixXd::Identity(3 * n, 3 * n));
    const Eigen::VectorXd target = wanted + phi_ * model_->prior.mean;
    const Eigen::MatrixXd weighted = design_.transpose() * v_inverse_;
    matrix_covariance_ = (weighted * design_).ldlt().solve(Eigen::MatrixXd::Identity(9, 9));
    const Eigen::VectorXd theta = matrix_covariance_ * (weighted * target);
    matrix_ = theta.reshaped<Eigen::RowMajor>(3, 3);
    shift_ = model_->prior.mean - spread * (v_inverse_ * (target - design_ * theta));
    spread_ = spread;

    const Eigen::Index wide = unknowns / 3;
    teeth_shift_ = model_->teeth * shift_.reshaped(wide, 3);
    teeth_seen_ = model_->teeth * model_->prior.weights.transpose() + teeth_shift_;
    teeth_lab_.resize(teeth_seen_.rows(), 3);
    for (Eigen::Index i = 0; i < teeth_seen_.rows(); ++i) {
      teeth_lab_.row(i) = lab_of(teeth_seen_.row(i).transpose());
    }
  }

  [[nodiscard]] MapEstimate operator()(const Eigen::Vector3d& rgb) const override {
    const Eigen::Vector3d seen = matrix_ * rgb;
    const Eigen::Vector3d seen_lab = lab_of(seen);
    // Teeth near the colour weigh most; lightness less than hue and chroma.
    constexpr double width = 12;
    Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
    Eigen::Matrix<double, 4, 3> right = Eigen::Matrix<double, 4, 3>::Zero();
    Eigen::VectorXd weights(teeth_seen_.rows());
    for (Eigen::Index i = 0; i < teeth_seen_.rows(); ++i) {
      Eigen::Vector3d d = (teeth_lab_.row(i).transpose() - seen_lab) / width;
      d[0] *= 0.5;
      // The floor keeps a colour far from every tooth on the regression through all of them.
      const double weight = std::exp(-0.5 * d.squaredNorm()) + 1e-9;
      weights[i] = weight;
      Eigen::Vector4d x;
      x << 1, teeth_seen_.row(i).transpose() - seen;
      normal += weight * x * x.transpose();
      right += weight * x * teeth_shift_.row(i);
    }
    const double total = weights.sum();
    normal.diagonal().tail<3>().array() += 1e-6 * total;
    const Eigen::Matrix<double, 4, 3> fit = normal.ldlt().solve(right);
    Eigen::Matrix3d metamerism = Eigen::Matrix3d::Zero();
    Eigen::VectorXd typical = Eigen::VectorXd::Zero(model_->teeth.cols());
    for (Eigen::Index i = 0; i < teeth_seen_.rows(); ++i) {
      Eigen::Vector4d x;
      x << 1, teeth_seen_.row(i).transpose() - seen;
      const Eigen::Vector3d rest = teeth_shift_.row(i).transpose() - fit.transpose() * x;
      metamerism += weights[i] / total * rest * rest.transpose();
      typical += weights[i] / total * model_->teeth.row(i).transpose();
    }
    const Eigen::Matrix3d slope = Eigen::Matrix3d::Identity() - fit.bottomRows<3>().transpose();
    return {seen - fit.row(0).transpose(), slope * matrix_,
            natural_part * metamerism + variance(rgb, typical)};
  }

  [[nodiscard]] MapEstimate of_patch(const TrainingPatch& patch) const override {
    const Eigen::VectorXd reflectance = with_offset(patch.reflectance);
    return {matrix_ * patch.rgb - channel_rows(reflectance) * shift_, matrix_,
            variance(patch.rgb, reflectance) + noise(patch, matrix_)};
  }

 private:
  [[nodiscard]] Eigen::Matrix3d noise(const TrainingPatch& patch,
                                      const Eigen::Matrix3d& to_xyz_slope) const {
    const Eigen::Vector3d relative = patch_relative_sd * patch.xyz;
    const Eigen::Vector3d absolute = patch_absolute_sd * to_eigen(white_);
    Eigen::Matrix3d out = to_xyz_slope * patch.rgb_cov * to_xyz_slope.transpose();
    out.diagonal() += relative.cwiseAbs2() + absolute.cwiseAbs2();
    return out;
  }

  // Variance of M·rgb − D·R for a known reflectance.
  [[nodiscard]] Eigen::Matrix3d variance(const Eigen::Vector3d& rgb,
                                         const Eigen::VectorXd& reflectance) const {
    const Eigen::MatrixXd rows = channel_rows(reflectance);
    const Eigen::MatrixXd common = rows * spread_;
    const Eigen::MatrixXd gain = common * v_inverse_;
    const Eigen::MatrixXd slope = channel_rows(rgb) - gain * design_;
    const Eigen::MatrixXd prior = rows * model_->prior.covariance * rows.transpose();
    return prior - gain * common.transpose() + slope * matrix_covariance_ * slope.transpose();
  }

  [[nodiscard]] Eigen::Vector3d lab_of(const Eigen::Vector3d& xyz) const {
    return to_eigen(to_lab(to_xyz(xyz), white_));
  }

  std::shared_ptr<const ResponseModel> model_;
  Xyz white_;
  Eigen::MatrixXd phi_;
  Eigen::MatrixXd design_;
  Eigen::MatrixXd v_inverse_;
  Eigen::MatrixXd spread_;             // prior covariance times phiᵀ
  Eigen::MatrixXd matrix_covariance_;  // of M, row by row
  Eigen::Matrix3d matrix_;
  Eigen::VectorXd shift_;        // posterior mean of D
  Eigen::MatrixXd teeth_shift_;  // D·R of the library
  Eigen::MatrixXd teeth_seen_;   // (S + D)·R of the library
  Eigen::MatrixXd teeth_lab_;
};

}  // namespace

std::shared_ptr<const ResponseModel> make_response_model(const Viewing& viewing,
                                                         std::optional<int> left_out) {
  auto model = std::make_shared<ResponseModel>();
  model->prior = make_response_prior(viewing, left_out);
  const Eigen::MatrixXd teeth = tooth_library(500);
  model->teeth.resize(teeth.rows(), teeth.cols() + 1);
  model->teeth << teeth, Eigen::VectorXd::Ones(teeth.rows());
  return model;
}

std::shared_ptr<const ResponseModel> response_model(const Viewing& viewing) {
  using Model = std::shared_ptr<const ResponseModel>;
  static std::mutex guard;
  static std::vector<std::pair<Viewing, std::shared_future<Model>>> known;
  std::shared_future<Model> model;
  {
    const std::scoped_lock lock(guard);
    const auto found = std::find_if(known.begin(), known.end(),
                                    [&](const auto& each) { return each.first == viewing; });
    if (found != known.end()) {
      model = found->second;
    } else {
      // Made by whoever waits first. A user may bring any number of viewings: the oldest goes.
      model = std::async(std::launch::deferred, [viewing] { return make_response_model(viewing); });
      constexpr std::size_t most = 16;
      if (known.size() == most) known.erase(known.begin());
      known.emplace_back(viewing, model);
    }
  }
  return model.get();
}

std::unique_ptr<ColourMap> fit_response(const Training& training,
                                        std::shared_ptr<const ResponseModel> model) {
  return std::make_unique<ResponseMap>(training, std::move(model));
}

}  // namespace mamelon::detail
