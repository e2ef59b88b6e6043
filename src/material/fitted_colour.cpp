#include "material/fitted_colour.h"

#include <algorithm>
#include <array>
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
  paste.fitted_mm = {fit.thinnest_mm, fit.thickest_mm};
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

// Of the reflectance, against the fit's constants in the order of its covariance.
MatrixXd slopes_of_constants(const Predictor& predictor, const PasteFit& fit, Index bands) {
  const bool by_transport = fit.engine == Engine::transport;
  const Predictor::Move move{.fit = &fit};
  MatrixXd j = MatrixXd::Zero(bands, 2 * bands + (by_transport ? 2 : 0));
  j.leftCols(bands).diagonal() = predictor.slope(move, &Predictor::Move::ln_absorption);
  j.middleCols(bands, bands).diagonal() = predictor.slope(move, &Predictor::Move::ln_scattering);
  if (by_transport) {
    j.col(2 * bands) = predictor.slope(move, &Predictor::Move::anisotropy);
    j.col(2 * bands + 1) = predictor.slope(move, &Predictor::Move::refractive_index);
  }
  return j;
}

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

// Of an error of `variance` in every band, neighbours together.
MatrixXd smooth_covariance(const Grid& grid, double variance) {
  const auto bands = static_cast<Index>(grid.count);
  MatrixXd out(bands, bands);
  for (Index i = 0; i < bands; ++i) {
    for (Index k = 0; k < bands; ++k) {
      const double apart = static_cast<double>(i - k) * grid.step_nm / model_correlation_nm;
      out(i, k) = variance * std::exp(-apart * apart / 2);
    }
  }
  return out;
}

MatrixXd tristimulus_of(const Grid& grid, const Viewing& viewing) {
  MatrixXd tristimulus(3, static_cast<Index>(grid.count));
  for (std::size_t i = 0; i < grid.count; ++i) {
    std::vector<double> one(grid.count);
    one[i] = 1;
    const Xyz xyz = to_xyz(Reflectance(grid, std::move(one)), viewing);
    tristimulus.col(static_cast<Index>(i)) << xyz.x, xyz.y, xyz.z;
  }
  return tristimulus;
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

FittedPrediction coloured(const PredictedCurve& curve, const Viewing& viewing) {
  FittedPrediction prediction;
  prediction.reflectance = curve.reflectance;
  for (Index i = 0; i < curve.covariance.rows(); ++i) {
    prediction.reflectance_sd.push_back(std::sqrt(curve.covariance(i, i)));
  }
  prediction.lab.value = to_lab(curve.reflectance, viewing);
  const Xyz xyz = to_xyz(curve.reflectance, viewing);
  const MatrixXd slope = slope_of_lab({xyz.x, xyz.y, xyz.z}, white_point(viewing)) *
                         tristimulus_of(curve.reflectance.grid(), viewing);
  const Eigen::Matrix3d lab = slope * curve.covariance * slope.transpose();
  for (int i = 0; i < 3; ++i) {
    for (int k = 0; k < 3; ++k) {
      prediction.lab.shared.at(static_cast<std::size_t>(i)).at(static_cast<std::size_t>(k)) =
          (lab(i, k) + lab(k, i)) / 2;
    }
  }
  return prediction;
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
    const MatrixXd j = slopes_of_constants(predictor, *layer.fit, bands);
    const auto all = static_cast<Index>(std::lround(std::sqrt(layer.fit->covariance.size())));
    const Eigen::Map<const MatrixXd> covariance(layer.fit->covariance.data(), all, all);
    curve.covariance += j * covariance.topLeftCorner(j.cols(), j.cols()) * j.transpose();
  }
  curve.covariance += smooth_covariance(floor.grid(), model_variance);
  return curve;
}

// Modes are those of the colours of layers over a dark and a light floor, so that what cannot be
// seen takes no room. What they leave is told as the smooth error that moves these colours as far
// (a fit to colours leaves open much of a curve's shape, which no colour shows).
ErrorModes error_modes(const PasteFit& fit) {
  const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  const Grid grid = fit.absorption.grid();
  const auto bands = static_cast<Index>(grid.count);
  const MatrixXd tristimulus = tristimulus_of(grid, viewing);
  const Xyz white = white_point(viewing);
  constexpr std::array floors{0.05, 0.7};
  constexpr std::array thicknesses_mm{0.3, 0.7, 1.2, 2.0};
  constexpr auto stacks = static_cast<Index>(floors.size() * thicknesses_mm.size());
  const Index constants = 2 * bands + 2;
  MatrixXd colours(3 * stacks, constants);
  MatrixXd slopes(3 * stacks, bands);
  Index row = 0;
  for (const double floor : floors) {
    for (const double mm : thicknesses_mm) {
      const Reflectance under(grid, std::vector<double>(grid.count, floor));
      const FittedLayer layer{&fit, mm, 0};
      const Predictor predictor(under, std::span(&layer, 1), 4);
      const Reflectance seen = predictor.at({});
      const Eigen::Map<const VectorXd> curve(seen.values().data(), bands);
      slopes.middleRows(row, 3) = slope_of_lab(tristimulus * curve, white) * tristimulus;
      colours.middleRows(row, 3) =
          slopes.middleRows(row, 3) * slopes_of_constants(predictor, fit, bands);
      row += 3;
    }
  }
  const auto all = static_cast<Index>(std::lround(std::sqrt(fit.covariance.size())));
  const MatrixXd covariance = Eigen::Map<const MatrixXd>(fit.covariance.data(), all, all)
                                  .topLeftCorner(constants, constants);
  const Eigen::SelfAdjointEigenSolver<MatrixXd> parts(colours * covariance * colours.transpose());
  ErrorModes out;
  double left = parts.eigenvalues().sum();
  const Index last = parts.eigenvalues().size() - 1;
  for (Index k = 0; k < static_cast<Index>(most_fitted_modes); ++k) {
    const double variance = parts.eigenvalues()[last - k];
    if (!(variance > 1e-8)) break;
    const VectorXd mode =
        covariance * colours.transpose() * parts.eigenvectors().col(last - k) / std::sqrt(variance);
    left -= variance;
    out.modes.push_back({{mode.data(), mode.data() + bands},
                         {mode.data() + bands, mode.data() + 2 * bands},
                         mode[2 * bands],
                         mode[2 * bands + 1]});
  }
  const double of_smooth = (slopes * smooth_covariance(grid, 1) * slopes.transpose()).trace();
  out.reflectance_sd = std::sqrt(std::max(0.0, left) / of_smooth + fit.model_sd * fit.model_sd);
  return out;
}

}  // namespace detail

FittedPrediction predict_with_error(const Stack& stack, std::span<const double> thickness_sd_mm,
                                    const Viewing& viewing, Engine engine, int streams) {
  using Eigen::Index;
  using Eigen::VectorXd;
  if (thickness_sd_mm.size() != stack.layers.size() ||
      !std::all_of(thickness_sd_mm.begin(), thickness_sd_mm.end(),
                   [](double sd) { return sd >= 0 && std::isfinite(sd); })) {
    throw ArgumentError("a prediction takes one sd of thickness a layer, in mm, 0 or more");
  }
  detail::PredictedCurve curve{predict(stack, engine, streams), {}};
  const Grid grid = curve.reflectance.grid();
  const auto bands = static_cast<Index>(grid.count);
  const auto vector = [bands](const Reflectance& r) {
    return VectorXd(Eigen::Map<const VectorXd>(r.values().data(), bands));
  };
  // Half of what lies between a move up and one down.
  const auto spread = [&](const auto& move, double times = 1) {
    const auto at = [&](double sds) {
      Stack changed = stack;
      move(changed, sds);
      return vector(predict(changed, engine, streams));
    };
    const VectorXd half = times * (at(1) - at(-1)) / 2;
    curve.covariance += half * half.transpose();
  };
  double model_variance = 0;
  for (const Layer& layer : stack.layers) {
    const double sd = engine == Engine::transport ? transport_reflectance_sd(layer.paste)
                                                  : layer.paste.reflectance_sd;
    model_variance += sd * sd;
  }
  curve.covariance = detail::smooth_covariance(grid, model_variance);
  for (std::size_t i = 0; i < stack.layers.size(); ++i) {
    if (thickness_sd_mm[i] > 0) {
      // No further down than to half the layer; the slope counts.
      const double step = std::min(thickness_sd_mm[i], stack.layers[i].thickness_mm / 2);
      spread([&](Stack& changed, double sds) { changed.layers[i].thickness_mm += sds * step; },
             thickness_sd_mm[i] / step);
    }
    const std::string& name = stack.layers[i].paste.name;
    const bool seen =
        std::any_of(stack.layers.begin(), stack.layers.begin() + static_cast<std::ptrdiff_t>(i),
                    [&](const Layer& earlier) { return earlier.paste.name == name; });
    if (engine != Engine::transport || seen || !stack.layers[i].paste.transport) continue;
    for (const ConstantsMode& mode : stack.layers[i].paste.transport->modes) {
      spread([&](Stack& changed, double sds) {
        for (Layer& layer : changed.layers) {
          if (layer.paste.name == name) layer.paste = moved(layer.paste, mode, sds);
        }
      });
    }
  }
  FittedPrediction prediction = detail::coloured(curve, viewing);
  prediction.warnings = extrapolations(stack);
  return prediction;
}

FittedPrediction predict_fitted(const Reflectance& floor, std::span<const FittedLayer> layers,
                                const Viewing& viewing, int streams) {
  FittedPrediction prediction =
      detail::coloured(detail::predicted_curve(floor, layers, streams), viewing);
  prediction.warnings = extrapolations(detail::stack_of(floor, layers));
  return prediction;
}

}  // namespace mamelon
