#include "capture/grey_map.h"

#include <cmath>

#include "mamelon/error.h"

#include "capture/algebra.h"
#include "capture/response_prior.h"
#include "capture/tooth_library.h"

namespace mamelon::detail {
namespace {

// Linear sRGB to XYZ, IEC 61966-2-1.
Eigen::Matrix3d srgb_to_xyz() {
  Eigen::Matrix3d m;
  m << 0.4124, 0.3576, 0.1805, 0.2126, 0.7152, 0.0722, 0.0193, 0.1192, 0.9505;
  return m;
}

struct Average {
  Eigen::Matrix3d matrix;      // balanced signals (1 for a perfect white) to XYZ
  Eigen::Matrix3d covariance;  // of the error in XYZ for a surface of Y = 1
};

// Balanced signals of a small tooth library before one camera and light.
Eigen::MatrixXd balanced_signals(const Eigen::MatrixXd& response, const Eigen::MatrixXd& teeth) {
  const Eigen::Vector3d white = response.rowwise().sum();
  return white.cwiseInverse().asDiagonal() * response * teeth.transpose();
}

Average average_camera(const Viewing& viewing, const Xyz& white) {
  const auto table = weights(response_grid(), viewing);
  const Eigen::MatrixXd teeth = tooth_library(300);
  Eigen::MatrixXd s(3, teeth.cols());
  s.row(0) = Eigen::Map<const Eigen::RowVectorXd>(table->x.data(), teeth.cols());
  s.row(1) = Eigen::Map<const Eigen::RowVectorXd>(table->y.data(), teeth.cols());
  s.row(2) = Eigen::Map<const Eigen::RowVectorXd>(table->z.data(), teeth.cols());
  const Eigen::MatrixXd xyz = s * teeth.transpose();
  // One regression over all cameras draws colours towards the mean of what it is trained on: that
  // has to be the common tooth. Spread of natural teeth, rounded: 8, 2.5 and 6 units.
  Eigen::VectorXd common(teeth.rows());
  for (Eigen::Index i = 0; i < teeth.rows(); ++i) {
    const Lab lab = to_lab(to_xyz(Eigen::Vector3d(xyz.col(i))), white);
    const double l = (lab.l - tooth_centre.l) / 8;
    const double a = (lab.a - tooth_centre.a) / 2.5;
    const double b = (lab.b - tooth_centre.b) / 6;
    common[i] = std::exp(-0.5 * (l * l + a * a + b * b));
  }
  const Eigen::VectorXd relative = common.array() / xyz.row(1).transpose().array().square();
  const auto population = response_population();
  Eigen::Matrix3d moment = Eigen::Matrix3d::Zero();
  Eigen::Matrix3d cross = Eigen::Matrix3d::Zero();
  for (const Eigen::MatrixXd& response : population) {
    const Eigen::MatrixXd rgb = balanced_signals(response, teeth);
    moment += rgb * relative.asDiagonal() * rgb.transpose();
    cross += xyz * relative.asDiagonal() * rgb.transpose();
  }
  Average average{cross * moment.inverse(), Eigen::Matrix3d::Zero()};
  const double total = common.sum() * static_cast<double>(population.size());
  for (const Eigen::MatrixXd& response : population) {
    const Eigen::MatrixXd misses = average.matrix * balanced_signals(response, teeth) - xyz;
    average.covariance += misses * relative.asDiagonal() * misses.transpose() / total;
  }
  return average;
}

// A file that a developer has already taken to sRGB. Its maker's 3×3 was trained on other colours
// than teeth, so that the spread over cameras is no smaller than the average camera's.
Average developed_file(const Viewing& viewing, const Xyz& white) {
  Average average{Eigen::Matrix3d::Zero(), Eigen::Matrix3d::Zero()};
  const Eigen::Matrix3d m = srgb_to_xyz();
  const Xyz d65 = to_xyz(Eigen::Vector3d(m.rowwise().sum()));
  for (Eigen::Index c = 0; c < 3; ++c) {
    average.matrix.col(c) =
        to_eigen(adapt(to_xyz(Eigen::Vector3d(m.col(c))), d65, white, Adaptation::bradford));
  }
  average.covariance = average_camera(viewing, white).covariance;
  return average;
}

class GreyMap : public ColourMap {
 public:
  GreyMap(const Eigen::Vector3d& balance, Average average)
      : slope_(average.matrix * balance.cwiseInverse().asDiagonal()),
        covariance_(std::move(average.covariance)) {}

  [[nodiscard]] MapEstimate operator()(const Eigen::Vector3d& rgb) const override {
    const Eigen::Vector3d xyz = slope_ * rgb;
    return {xyz, slope_, covariance_ * xyz[1] * xyz[1]};
  }

 private:
  Eigen::Matrix3d slope_;
  Eigen::Matrix3d covariance_;
};

}  // namespace

std::unique_ptr<ColourMap> fit_grey(const Training& training, Encoding encoding) {
  // Signal of a perfect white, by the neutrals; light ones are known best.
  Eigen::Vector3d signal = Eigen::Vector3d::Zero();
  double light = 0;
  for (const TrainingPatch& p : training.patches) {
    if (!p.neutral) continue;
    signal += p.rgb * p.xyz[1];
    light += p.xyz[1] * p.xyz[1];
  }
  if (light <= 0) throw CaptureError("no usable neutral patch: a grey card needs one");
  return std::make_unique<GreyMap>(signal / light,
                                   encoding == Encoding::linear
                                       ? average_camera(training.viewing, training.white)
                                       : developed_file(training.viewing, training.white));
}

}  // namespace mamelon::detail
