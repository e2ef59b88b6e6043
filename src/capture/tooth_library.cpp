#include "capture/tooth_library.h"

#include <array>
#include <cmath>

#include "capture/quasi_random.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t bands = 31;

// Molar extinction of oxyhaemoglobin in cm⁻¹/M, 400–700 nm at 10 nm: Gratzer and Kollias, compiled
// by S. Prahl, Oregon Medical Laser Center, 1998 (from memory).
constexpr std::array<double, bands> oxyhaemoglobin = {
    266232, 466840, 480360, 246072, 102580, 62816, 44480, 33209, 26629, 23684, 20932,
    20035,  24202,  39956,  53236,  43016,  32613, 44496, 50104, 14400, 3200,  1506,
    942,    610,    442,    368,    319.6,  294,   277.6, 276,   290};

}  // namespace

Grid response_grid() {
  return {400, 10, bands};
}

Eigen::MatrixXd tooth_library(std::size_t count) {
  Eigen::MatrixXd library(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(bands));
  const double most = 480360;
  QuasiRandom draw(5);
  for (Eigen::Index i = 0; i < library.rows(); draw.next()) {
    // Reflectance at 560 nm, tilt, bend, fall in the violet, blood.
    const double s0 = std::log(draw.in(0, 0.20, 0.78));
    const double s1 = draw.in(1, -0.05, 0.55);
    const double s2 = draw.in(2, -0.25, 0.15);
    const double y = draw.in(3, -0.1, 0.5);
    const double h = std::max(0.0, draw.in(4, -0.12, 0.5));
    double largest = 0;
    for (std::size_t k = 0; k < bands; ++k) {
      const double nm = response_grid().wavelength_nm(k);
      const double x = (nm - 560) / 140;
      const double r = std::exp(s0 + s1 * x + s2 * x * x - y * std::exp(-(nm - 400) / 60)) /
                       (1 + h * std::pow(oxyhaemoglobin[k] / most, 0.45));
      library(i, static_cast<Eigen::Index>(k)) = r;
      largest = std::max(largest, r);
    }
    // Brighter than any tooth or ceramic: drawn again.
    if (largest < 0.95) ++i;
  }
  return library;
}

}  // namespace mamelon::detail
