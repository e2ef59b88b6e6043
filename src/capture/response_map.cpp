#include "capture/response_map.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <mutex>
#include <tuple>
#include <utility>
#include <vector>

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// How well a stated reflectance describes a patch in the photo: a part of its tristimulus values,
// and a part of the white's.
constexpr double patch_relative_sd = 0.002;
constexpr double patch_absolute_sd = 0.0003;

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
    veil_ = veil_of(shift_);
  }

  [[nodiscard]] MapEstimate operator()(const Seen& colour) const override {
    const View& view = view_of(colour.kind);
    const Expectation& expected = model_->expected.at(static_cast<std::size_t>(colour.kind));
    const Local local = around(view, expected, matrix_ * colour.rgb);
    const Eigen::Vector3d seen = matrix_ * colour.rgb;
    const Eigen::Matrix3d slope = Eigen::Matrix3d::Identity() - local.slope.transpose();
    return {seen - local.shift, slope * matrix_,
            local.metamerism + veil_ * veil_.transpose() +
                covariance({colour.rgb, local.typical}, {colour.rgb, local.typical})};
  }

  [[nodiscard]] Eigen::Matrix3d common(const Seen& one, const Seen& other) const override {
    const auto typical = [&](const Seen& colour) -> Eigen::VectorXd {
      return around(view_of(colour.kind),
                    model_->expected.at(static_cast<std::size_t>(colour.kind)),
                    matrix_ * colour.rgb)
          .typical;
    };
    return covariance({one.rgb, typical(one)}, {other.rgb, typical(other)});
  }

  [[nodiscard]] MapEstimate of_patch(const TrainingPatch& patch) const override {
    const Eigen::VectorXd reflectance = with_offset(patch.reflectance);
    return {matrix_ * patch.rgb - channel_rows(reflectance) * shift_, matrix_,
            covariance({patch.rgb, reflectance}, {patch.rgb, reflectance}) + noise(patch, matrix_)};
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

  struct Known {
    Eigen::Vector3d rgb;
    Eigen::VectorXd reflectance;
  };

  // Covariance of M·rgb − D·R for two known reflectances.
  [[nodiscard]] Eigen::Matrix3d covariance(const Known& one, const Known& other) const {
    const auto parts = [&](const Known& known) {
      const Eigen::MatrixXd rows = channel_rows(known.reflectance);
      const Eigen::MatrixXd gain = rows * spread_ * v_inverse_;
      return std::tuple{rows, gain, Eigen::MatrixXd(channel_rows(known.rgb) - gain * design_)};
    };
    const auto [rows, gain, slope] = parts(one);
    const auto [other_rows, other_gain, other_slope] = parts(other);
    const Eigen::MatrixXd prior = rows * model_->prior.covariance * other_rows.transpose();
    return prior - gain * (other_rows * spread_).transpose() +
           slope * matrix_covariance_ * other_slope.transpose();
  }

  // Flare lies over the whole photo. What the dark patches show beyond the flare of a lens lies
  // over the card perhaps alone, as a veil of glare does, and then the surface has none of it.
  [[nodiscard]] Eigen::Vector3d veil_of(const Eigen::VectorXd& shift) const {
    const Eigen::Index wide = shift.size() / 3;
    const Eigen::Vector3d offset = {shift[wide - 1], shift[2 * wide - 1], shift[3 * wide - 1]};
    constexpr double usual_flare = 0.012;  // of a perfect white
    constexpr double ramp = 0.008;
    const double part = std::clamp((std::abs(offset[1]) / white_.y - usual_flare) / ramp, 0.0, 1.0);
    return part * offset;
  }

  // How this camera before this light sees the reflectances of an expectation.
  struct View {
    Eigen::MatrixXd shift;  // D·R
    Eigen::MatrixXd seen;   // (S + D)·R
    Eigen::MatrixXd lab;    // of `seen`
  };

  [[nodiscard]] const View& view_of(SurfaceKind kind) const {
    const auto i = static_cast<std::size_t>(kind);
    std::call_once(made_.at(i), [&] {
      const Eigen::MatrixXd& rows = model_->expected.at(i).rows;
      View& view = views_.at(i);
      view.shift = rows * shift_.reshaped(shift_.size() / 3, 3);
      view.seen = rows * model_->prior.weights.transpose() + view.shift;
      view.lab.resize(rows.rows(), 3);
      for (Eigen::Index k = 0; k < rows.rows(); ++k) {
        view.lab.row(k) = lab_of(view.seen.row(k).transpose());
      }
    });
    return views_.at(i);
  }

  // What is expected of surfaces that look like a colour.
  struct Local {
    Eigen::Vector3d shift;
    Eigen::Matrix3d slope;  // of the shift over what is seen
    Eigen::Matrix3d metamerism;
    Eigen::VectorXd typical;  // reflectance
  };

  [[nodiscard]] Local around(const View& view, const Expectation& expected,
                             const Eigen::Vector3d& seen) const {
    const Eigen::Vector3d seen_lab = lab_of(seen);
    // Surfaces near the colour weigh most; lightness less than hue and chroma.
    const Eigen::Index n = view.seen.rows();
    Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();
    Eigen::Matrix<double, 4, 3> right = Eigen::Matrix<double, 4, 3>::Zero();
    Eigen::VectorXd weights(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      Eigen::Vector3d d = (view.lab.row(i).transpose() - seen_lab) / expected.width;
      d[0] *= 0.5;
      // The floor keeps a colour far from every surface on the regression through all of them.
      const double weight = std::exp(-0.5 * d.squaredNorm()) + 1e-9;
      weights[i] = weight;
      Eigen::Vector4d x;
      x << 1, view.seen.row(i).transpose() - seen;
      normal += weight * x * x.transpose();
      right += weight * x * view.shift.row(i);
    }
    weights /= weights.sum();
    Local local;
    local.typical = (weights.transpose() * expected.rows).transpose();
    const double total = normal(0, 0);
    normal /= total;
    right /= total;
    normal.diagonal().tail<3>().array() += 1e-6;
    // Every surface stands for itself and for what smooth noise would make of it.
    const Eigen::VectorXd sd =
        expected.noise_part * local.typical.array() * local.typical.array().log().abs();
    const Eigen::MatrixXd noise = sd.asDiagonal() * model_->noise * sd.asDiagonal();
    const Eigen::MatrixXd shift = shift_.reshaped(shift_.size() / 3, 3).transpose();
    const Eigen::MatrixXd seen_weights = model_->prior.weights + shift;
    const Eigen::Matrix3d of_seen = seen_weights * noise * seen_weights.transpose();
    const Eigen::Matrix3d of_both = seen_weights * noise * shift.transpose();
    normal.bottomRightCorner<3, 3>() += of_seen;
    right.bottomRows<3>() += of_both;
    const Eigen::Matrix<double, 4, 3> fit = normal.ldlt().solve(right);
    Eigen::Matrix3d rest = Eigen::Matrix3d::Zero();
    for (Eigen::Index i = 0; i < n; ++i) {
      Eigen::Vector4d x;
      x << 1, view.seen.row(i).transpose() - seen;
      const Eigen::Vector3d left = view.shift.row(i).transpose() - fit.transpose() * x;
      rest += weights[i] * left * left.transpose();
    }
    local.shift = fit.row(0).transpose();
    local.slope = fit.bottomRows<3>();
    const Eigen::Matrix3d both = local.slope.transpose() * of_both;
    local.metamerism = expected.rows_part * rest + shift * noise * shift.transpose() - both -
                       both.transpose() + local.slope.transpose() * of_seen * local.slope;
    return local;
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
  Eigen::VectorXd shift_;  // posterior mean of D
  Eigen::Vector3d veil_;   // light over the card that may not lie over the surface, in XYZ
  mutable std::array<std::once_flag, surface_kinds> made_;
  mutable std::array<View, surface_kinds> views_;  // made when first asked for
};

}  // namespace

std::shared_ptr<const ResponseModel> make_response_model(const Viewing& viewing,
                                                         std::optional<int> left_out) {
  auto model = std::make_shared<ResponseModel>();
  model->prior = make_response_prior(viewing, left_out);
  for (std::size_t i = 0; i < surface_kinds; ++i) {
    Expectation expected = make_expectation(static_cast<SurfaceKind>(i), 500);
    Eigen::MatrixXd rows(expected.rows.rows(), expected.rows.cols() + 1);
    rows << expected.rows, Eigen::VectorXd::Ones(rows.rows());
    expected.rows = std::move(rows);
    model->expected.at(i) = std::move(expected);
  }
  const Eigen::Index bands = model->expected[0].rows.cols();
  model->noise = Eigen::MatrixXd::Zero(bands, bands);
  model->noise.topLeftCorner(bands - 1, bands - 1) = noise_correlation();
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
