#include "capture/tooth_library.h"

#include <algorithm>
#include <cmath>

#include <Eigen/SVD>

#include "base/low_discrepancy.h"
#include "capture/haemoglobin.h"
#include "tables/tooth_reflectance.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t bands = 31;

// A tooth's or ceramic's reflectance is below this in every band.
constexpr double brightest = 0.95;

// Modelled teeth fall off more in the violet than those of seven families made by other physics
// (tests/simulator/tuning_surfaces.py): the mean is lifted at 400 nm by this part.
constexpr double violet_lift = 0.04;

// Curves of natural teeth: how the logarithm of their reflectance runs over the wavelengths beside
// its value at 560 nm, and the four principal ways in which they differ, one standard deviation
// each (a fifth of the formula's parameters is their level).
struct NaturalCurves {
  Eigen::RowVectorXd mean;
  Eigen::MatrixXd ways;
};

NaturalCurves natural_curves() {
  constexpr Eigen::Index ways = 4;
  constexpr Eigen::Index at_560_nm = 16;
  Eigen::MatrixXd curves = natural_teeth().array().log();
  curves.colwise() -= curves.col(at_560_nm).eval();
  NaturalCurves out;
  out.mean = curves.colwise().mean();
  curves.rowwise() -= out.mean;
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(curves, Eigen::ComputeThinU | Eigen::ComputeThinV);
  const double root = std::sqrt(static_cast<double>(curves.rows() - 1));
  for (std::size_t k = 0; k < bands; ++k) {
    const double x = (response_grid().wavelength_nm(k) - 400) / 40;
    out.mean[static_cast<Eigen::Index>(k)] += violet_lift * std::exp(-x * x);
  }
  out.ways = (svd.singularValues().head(ways) / root).asDiagonal() *
             svd.matrixV().leftCols(ways).transpose();
  return out;
}

}  // namespace

Grid response_grid() {
  return {400, 10, bands};
}

Eigen::MatrixXd natural_teeth() {
  constexpr Eigen::Index count = 32;
  Eigen::MatrixXd teeth(count, static_cast<Eigen::Index>(bands));
  for (Eigen::Index i = 0; i < count; ++i) {
    for (Eigen::Index k = 0; k < teeth.cols(); ++k) {
      teeth(i, k) = tables::tooth_reflectance::rows[k][1 + i];
    }
  }
  return teeth;
}

Eigen::MatrixXd tooth_coloured_envelope(std::size_t count) {
  Eigen::MatrixXd library(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(bands));
  const double most = *std::max_element(oxyhaemoglobin.begin(), oxyhaemoglobin.end());
  QuasiRandom draw(5);
  for (Eigen::Index i = 0; i < library.rows(); draw.next()) {
    // Reflectance at 560 nm, tilt, bend, fall in the violet, blood.
    const double s0 = std::log(draw.in(0, 0.20, 0.78));
    const double s1 = draw.in(1, -0.05, 0.55);
    const double s2 = draw.in(2, -0.25, 0.15);
    const double y = draw.in(3, -0.1, 1.0);
    const double h = std::max(0.0, draw.in(4, -0.12, 0.5));
    for (std::size_t k = 0; k < bands; ++k) {
      const double nm = response_grid().wavelength_nm(k);
      const double x = (nm - 560) / 140;
      library(i, static_cast<Eigen::Index>(k)) =
          std::exp(s0 + s1 * x + s2 * x * x - y * std::exp(-(nm - 400) / 60)) /
          (1 + h * std::pow(oxyhaemoglobin[k] / most, 0.45));
    }
    if (library.row(i).maxCoeff() < brightest) ++i;
  }
  return library;
}

Eigen::MatrixXd tooth_library(std::size_t count) {
  constexpr double widening = 1.3;
  const NaturalCurves curves = natural_curves();
  const auto ways = static_cast<std::size_t>(curves.ways.rows());
  Eigen::MatrixXd library(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(bands));
  QuasiRandom draw(1 + ways);
  for (Eigen::Index i = 0; i < library.rows(); draw.next()) {
    Eigen::RowVectorXd curve = curves.mean.array() + std::log(draw.in(0, 0.20, 0.78));
    for (std::size_t k = 0; k < ways; ++k) {
      curve += draw.spread(1 + k, widening) * curves.ways.row(static_cast<Eigen::Index>(k));
    }
    library.row(i) = curve.array().exp();
    if (library.row(i).maxCoeff() < brightest) ++i;
  }
  return library;
}

}  // namespace mamelon::detail
