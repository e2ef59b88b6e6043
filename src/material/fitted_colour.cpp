#include "material/fitted_colour.h"

#include <algorithm>
#include <cmath>

namespace mamelon {
namespace detail {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// The smooth error of an engine: neighbouring bands err together.
constexpr double model_correlation_nm = 100;

Paste bare_paste(const PasteFit& fit) {
  Paste paste;
  paste.name = "fitted";
  paste.absorption = fit.absorption;
  paste.scattering = fit.scattering;
  paste.refractive_index = fit.refractive_index;
  paste.fitted_from_mm = fit.thinnest_mm;
  paste.fitted_to_mm = fit.thickest_mm;
  if (fit.engine == Engine::transport) {
    paste.transport = TransportConstants{fit.absorption, fit.scattering, fit.anisotropy};
  }
  return paste;
}

Stack stack_of(const Reflectance& floor, std::span<const FittedLayer> layers) {
  Stack stack{floor, {}, false};
  for (const FittedLayer& layer : layers) {
    stack.layers.push_back({bare_paste(*layer.fit), layer.thickness_mm});
  }
  return stack;
}

PerMm scaled(const PerMm& values, double factor) {
  std::vector<double> all = values.values();
  for (double& value : all) value *= factor;
  return {values.grid(), std::move(all)};
}

class Predictor {
 public:
  Predictor(const Reflectance& floor, std::span<const FittedLayer> layers, int streams)
      : floor_(floor), layers_(layers), streams_(streams) {}

  // With the constants of one fit, or the thickness of one layer, moved.
  struct Move {
    const PasteFit* fit = nullptr;
    double ln_absorption = 0;
    double ln_scattering = 0;
    double anisotropy = 0;
    double refractive_index = 0;
    std::size_t layer = 0;
    double thickness_mm = 0;
  };
  [[nodiscard]] Reflectance at(const Move& move) const {
    Stack stack{floor_, {}, false};
    for (std::size_t i = 0; i < layers_.size(); ++i) {
      PasteFit fit = *layers_[i].fit;
      if (layers_[i].fit == move.fit) {
        fit.absorption = scaled(fit.absorption, std::exp(move.ln_absorption));
        fit.scattering = scaled(fit.scattering, std::exp(move.ln_scattering));
        fit.anisotropy += move.anisotropy;
        fit.refractive_index += move.refractive_index;
      }
      stack.layers.push_back(
          {bare_paste(fit), layers_[i].thickness_mm + (move.layer == i ? move.thickness_mm : 0)});
    }
    return predict(stack, layers_.front().fit->engine, streams_);
  }
  [[nodiscard]] VectorXd slope(Move move, double Move::*component) const {
    constexpr double step = 1e-4;
    move.*component = step;
    const Reflectance up = at(move);
    move.*component = -step;
    const Reflectance down = at(move);
    const auto bands = static_cast<Index>(up.size());
    return (Eigen::Map<const VectorXd>(up.values().data(), bands) -
            Eigen::Map<const VectorXd>(down.values().data(), bands)) /
           (2 * step);
  }

 private:
  const Reflectance& floor_;
  std::span<const FittedLayer> layers_;
  int streams_;
};

void check_layers(std::span<const FittedLayer> layers) {
  if (layers.empty()) {
    throw ArgumentError("a stack needs at least one layer on its floor");
  }
  for (const FittedLayer& layer : layers) {
    if (layer.fit == nullptr) {
      throw ArgumentError("a fitted layer has no fit");
    }
    if (layer.fit->engine != layers.front().fit->engine) {
      throw ArgumentError("the layers' constants were fitted by different engines");
    }
    if (!(layer.thickness_sd_mm >= 0)) {
      throw ArgumentError("the sd of a layer's thickness must be 0 or more");
    }
  }
}

}  // namespace

Eigen::Matrix3d slope_of_lab(const Eigen::Vector3d& xyz, const Xyz& white) {
  Eigen::Matrix3d slope;
  for (int k = 0; k < 3; ++k) {
    const double step = 1e-6;
    const auto lab_at = [&](double move) {
      Eigen::Vector3d moved = xyz;
      moved[k] += move;
      const Lab lab = to_lab(Xyz{moved[0], moved[1], moved[2]}, white);
      return Eigen::Vector3d(lab.l, lab.a, lab.b);
    };
    slope.col(k) = (lab_at(step) - lab_at(-step)) / (2 * step);
  }
  return slope;
}

PredictedCurve predicted_curve(const Reflectance& floor, std::span<const FittedLayer> layers,
                               int streams) {
  check_layers(layers);
  const Predictor predictor(floor, layers, streams);
  PredictedCurve curve{predictor.at({}), {}};
  const auto bands = static_cast<Index>(floor.size());
  curve.covariance = MatrixXd::Zero(bands, bands);
  std::vector<const PasteFit*> fits;
  double model_variance = 0;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const FittedLayer& layer = layers[i];
    model_variance += layer.fit->model_sd * layer.fit->model_sd;
    if (layer.thickness_sd_mm > 0) {
      const Predictor::Move move{.fit = nullptr, .layer = i};
      const VectorXd slope =
          layer.thickness_sd_mm * predictor.slope(move, &Predictor::Move::thickness_mm);
      curve.covariance += slope * slope.transpose();
    }
    if (std::find(fits.begin(), fits.end(), layer.fit) != fits.end()) continue;
    fits.push_back(layer.fit);
    // By transport g and the refractive index count as well.
    const bool by_transport = layer.fit->engine == Engine::transport;
    const Predictor::Move move{.fit = layer.fit};
    MatrixXd j = MatrixXd::Zero(bands, 2 * bands + (by_transport ? 2 : 0));
    j.leftCols(bands).diagonal() = predictor.slope(move, &Predictor::Move::ln_absorption);
    j.middleCols(bands, bands).diagonal() = predictor.slope(move, &Predictor::Move::ln_scattering);
    if (by_transport) {
      j.col(2 * bands) = predictor.slope(move, &Predictor::Move::anisotropy);
      j.col(2 * bands + 1) = predictor.slope(move, &Predictor::Move::refractive_index);
    }
    const auto all = static_cast<Index>(std::lround(std::sqrt(layer.fit->covariance.size())));
    const Eigen::Map<const MatrixXd> covariance(layer.fit->covariance.data(), all, all);
    curve.covariance += j * covariance.topLeftCorner(j.cols(), j.cols()) * j.transpose();
  }
  for (Index i = 0; i < bands; ++i) {
    for (Index k = 0; k < bands; ++k) {
      const double apart = static_cast<double>(i - k) * floor.grid().step_nm / model_correlation_nm;
      curve.covariance(i, k) += model_variance * std::exp(-apart * apart / 2);
    }
  }
  return curve;
}

}  // namespace detail

FittedPrediction predict_fitted(const Reflectance& floor, std::span<const FittedLayer> layers,
                                const Viewing& viewing, int streams) {
  using Eigen::MatrixXd;
  const detail::PredictedCurve curve = detail::predicted_curve(floor, layers, streams);
  FittedPrediction prediction;
  prediction.reflectance = curve.reflectance;
  const auto bands = static_cast<Eigen::Index>(floor.size());
  MatrixXd tristimulus(3, bands);
  for (Eigen::Index i = 0; i < bands; ++i) {
    prediction.reflectance_sd.push_back(std::sqrt(curve.covariance(i, i)));
    std::vector<double> one(floor.size());
    one[static_cast<std::size_t>(i)] = 1;
    const Xyz xyz = to_xyz(Reflectance(floor.grid(), std::move(one)), viewing);
    tristimulus.col(i) << xyz.x, xyz.y, xyz.z;
  }
  prediction.lab.value = to_lab(curve.reflectance, viewing);
  const Xyz xyz = to_xyz(curve.reflectance, viewing);
  const MatrixXd slope =
      detail::slope_of_lab({xyz.x, xyz.y, xyz.z}, white_point(viewing)) * tristimulus;
  const Eigen::Matrix3d lab = slope * curve.covariance * slope.transpose();
  for (int i = 0; i < 3; ++i) {
    for (int k = 0; k < 3; ++k) {
      prediction.lab.shared.at(static_cast<std::size_t>(i)).at(static_cast<std::size_t>(k)) =
          (lab(i, k) + lab(k, i)) / 2;
    }
  }
  prediction.warnings = extrapolations(detail::stack_of(floor, layers));
  return prediction;
}

}  // namespace mamelon
