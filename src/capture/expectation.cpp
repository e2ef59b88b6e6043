#include "capture/expectation.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "mamelon/colour.h"

#include "base/low_discrepancy.h"
#include "capture/haemoglobin.h"
#include "capture/tooth_library.h"

namespace mamelon::detail {
namespace {

using Curve = Eigen::ArrayXd;

Curve wavelengths() {
  const Grid grid = response_grid();
  return Curve::LinSpaced(static_cast<Eigen::Index>(grid.count), grid.first_nm,
                          grid.wavelength_nm(grid.count - 1));
}

Curve bell(const Curve& nm, double centre, double width) {
  return (-0.5 * ((nm - centre) / width).square()).exp();
}

// 1 below the edge, 0 above it.
Curve edge(const Curve& nm, double at, double width) {
  return 1 / (1 + ((nm - at) / width).exp());
}

// Reflectance of a layer of scattering `s` and absorption `k` over a floor, both times thickness
// (Kubelka 1948, J Opt Soc Am 38:448).
Curve over(const Curve& k, const Curve& s, const Curve& floor) {
  const Curve a = 1 + k / s;
  const Curve b = (a.square() - 1).sqrt();
  const Curve coth = 1 / (b * s).min(30).tanh();
  return (1 - floor * (a - b * coth)) / (a - floor + b * coth);
}

// Out of a resin of index 1.5 without its mirror reflection (Saunderson 1942, J Opt Soc Am 32:727).
Curve outside(const Curve& inside) {
  constexpr double outer = 0.04;
  constexpr double inner = 0.6;
  return (1 - outer) * (1 - inner) * inside / (1 - inner * inside);
}

bool is_tooth_coloured(const Curve& curve) {
  static const Viewing viewing = viewing_from_string("D65/2");
  if (!(curve.maxCoeff() < 0.97) || !(curve.minCoeff() > 0.005)) return false;
  const Lab lab = to_lab(Reflectance(response_grid(), {curve.begin(), curve.end()}), viewing);
  return lab.l > 38 && lab.l < 96 && lab.a > -6 && lab.a < 14 && lab.b > -3 && lab.b < 40;
}

// Composite: resin with an opacifier, which scatters with a power of the wavelength, and pigments.
// Inorganic ones absorb up to an edge (goethite near 510 nm, haematite near 575 nm with a band at
// 530 nm, magnetite evenly: Torrent and Barrón 2002, Encyclopedia of Surface and Colloid Science,
// from memory), organic ones in bands; both vary as widely as their classes do. A third of the
// specimens are thick, the others lie over a floor, which may be warm or dark.
void fill_composites(Eigen::Ref<Eigen::MatrixXd> rows) {
  const Curve nm = wavelengths();
  QuasiRandom draw(19);
  for (Eigen::Index i = 0; i < rows.rows(); draw.next()) {
    const double inorganic = draw.in(0, 0.2, 1);
    const Curve yellow = inorganic * edge(nm, draw.in(1, 475, 540), draw.in(2, 8, 30)) +
                         (1 - inorganic) * bell(nm, draw.in(3, 405, 465), draw.in(4, 18, 45));
    const double share = draw[5];
    const Curve red = share * edge(nm, draw.in(6, 555, 600), draw.in(7, 7, 25)) +
                      (1 - share) * bell(nm, draw.in(8, 495, 565), draw.in(9, 20, 45));
    const double strength = std::exp(draw.in(10, std::log(0.006), std::log(0.35)));
    const Curve k = strength * yellow + strength * draw.in(11, 0, 0.7) * red +
                    std::exp(draw.in(12, std::log(0.001), std::log(0.08))) *
                        (nm / 550).pow(-draw.in(13, -0.3, 1.5)) +
                    draw.in(14, 0, 0.08) * (-(nm - 400) / draw.in(15, 8, 45)).exp();
    const Curve s = (nm / 550).pow(-draw.in(16, 0, 1.6));
    const bool thick = draw[17] < 0.33;
    const double depth = thick ? 30 : std::exp(draw.in(17, std::log(0.7), std::log(8.0)));
    const double level = draw.in(18, 0.1, 0.8);
    const Curve floor = level * (1 - (1 - level) * edge(nm, draw.in(3, 470, 620), 45));
    const Curve curve = outside(over(k * depth, s * depth, floor));
    if (!is_tooth_coloured(curve)) continue;
    rows.row(i++) = curve.matrix().transpose();
  }
}

// Ceramic and polymer: few, narrower bands of ions and dyes anywhere from violet to red over a
// scattering body.
void fill_banded(Eigen::Ref<Eigen::MatrixXd> rows) {
  const Curve nm = wavelengths();
  QuasiRandom draw(13);
  for (Eigen::Index i = 0; i < rows.rows(); draw.next()) {
    Curve k = std::exp(draw.in(0, std::log(0.001), std::log(0.06))) +
              draw.in(1, 0, 0.15) * (-(nm - 400) / draw.in(2, 10, 90)).exp();
    k += draw.in(3, 0, 0.2) * bell(nm, draw.in(4, 395, 450), draw.in(5, 12, 45));
    k += draw.in(6, 0, 0.08) * bell(nm, draw.in(7, 440, 520), draw.in(8, 10, 45));
    k += draw.in(9, 0, 0.04) * bell(nm, draw.in(10, 500, 660), draw.in(11, 12, 50));
    const Curve s = (nm / 550).pow(-draw.in(12, 0, 1.8));
    const Curve ratio = k / s;
    const Curve curve = outside(1 + ratio - (ratio.square() + 2 * ratio).sqrt());
    if (!is_tooth_coloured(curve)) continue;
    rows.row(i++) = curve.matrix().transpose();
  }
}

// Thick mucosa: scattering falls with the wavelength; blood of any oxygenation and some melanin
// absorb (Jacques 2013, Phys Med Biol 58:R37; from memory). Pale to inflamed gingiva of about
// L* 35 to 65 (from memory) reflects 0.1 to 0.35 of green light, for which blood has to absorb
// about 0.3 to 3 times as much as the tissue scatters.
void fill_gingivae(Eigen::Ref<Eigen::MatrixXd> rows) {
  const Curve nm = wavelengths();
  const Eigen::Map<const Curve> oxy(oxyhaemoglobin.data(), nm.size());
  const Eigen::Map<const Curve> deoxy(deoxyhaemoglobin.data(), nm.size());
  const double unit = oxy[16];
  QuasiRandom draw(7);
  for (Eigen::Index i = 0; i < rows.rows(); draw.next()) {
    const double saturation = draw.in(0, 0.3, 1.0);
    const Curve blood = (saturation * oxy + (1 - saturation) * deoxy) / unit;
    // Blood in vessels hides itself where it absorbs most.
    const Curve seen = blood / (1 + draw.in(1, 0, 0.3) * blood);
    const Curve k = std::exp(draw.in(2, std::log(0.1), std::log(3.0))) * seen +
                    draw.in(3, 0, 0.1) * (nm / 550).pow(-3.3) + draw.in(4, 0.002, 0.08);
    const Curve s = (nm / 550).pow(-draw.in(5, 0.5, 1.8));
    const Curve ratio = k / s;
    const Curve curve = draw.in(6, 0.7, 1.0) * (1 + ratio - (ratio.square() + 2 * ratio).sqrt());
    rows.row(i++) = curve.matrix().transpose();
  }
}

// Any surface: reflectance through a smooth chain of points, each free of the others.
void fill_smooth(Eigen::Ref<Eigen::MatrixXd> rows) {
  const Curve nm = wavelengths();
  constexpr std::size_t points = 7;
  QuasiRandom draw(points + 1);
  for (Eigen::Index i = 0; i < rows.rows(); draw.next()) {
    Curve logs = Curve::Constant(nm.size(), std::log(draw.in(points, 0.15, 0.75)));
    for (std::size_t k = 0; k < points; ++k) {
      logs += draw.spread(k, 0.22) * bell(nm, 400 + 50 * static_cast<double>(k), 30);
    }
    const Curve curve = logs.exp();
    if (!is_tooth_coloured(curve)) continue;
    rows.row(i++) = curve.matrix().transpose();
  }
}

}  // namespace

Expectation make_expectation(SurfaceKind kind, std::size_t count) {
  const auto n = static_cast<Eigen::Index>(count);
  Eigen::MatrixXd rows(n, static_cast<Eigen::Index>(response_grid().count));
  switch (kind) {
    case SurfaceKind::tooth:
      return {tooth_library(count), 0.1, 0.036, 15};
    case SurfaceKind::prepared_floor: {
      // Dentine, sound or stained, and liners.
      const Eigen::Index liners = n / 4;
      rows.topRows(n - liners) = tooth_coloured_envelope(static_cast<std::size_t>(n - liners));
      fill_composites(rows.bottomRows(liners));
      return {rows, 0.5, 0.06, 8};
    }
    case SurfaceKind::restoration: {
      const Eigen::Index banded = n / 4;
      fill_composites(rows.topRows(n - banded));
      fill_banded(rows.bottomRows(banded));
      return {rows, 0.52, 0.05, 7};
    }
    case SurfaceKind::tab: {
      const Eigen::Index each = n / 3;
      rows.topRows(each) = tooth_coloured_envelope(static_cast<std::size_t>(each));
      fill_banded(rows.middleRows(each, each));
      fill_composites(rows.bottomRows(n - 2 * each));
      return {rows, 0.52, 0.08, 7};
    }
    case SurfaceKind::gingiva:
      fill_gingivae(rows);
      return {rows, 0.5, 0.02, 10};
    case SurfaceKind::unknown: {
      const Eigen::Index part = n / 5;
      rows.topRows(part) = tooth_library(static_cast<std::size_t>(part));
      fill_composites(rows.middleRows(part, part));
      fill_banded(rows.middleRows(2 * part, part));
      fill_gingivae(rows.middleRows(3 * part, part / 2));
      fill_smooth(rows.bottomRows(n - 3 * part - part / 2));
      return {rows, 0.45, 0.07, 8};
    }
  }
  return {};
}

Eigen::MatrixXd noise_correlation() {
  constexpr double length_nm = 40;
  const Curve nm = wavelengths();
  Eigen::MatrixXd out(nm.size(), nm.size());
  for (Eigen::Index i = 0; i < nm.size(); ++i) {
    out.col(i) = (-0.5 * ((nm - nm[i]) / length_nm).square()).exp();
  }
  return out;
}

}  // namespace mamelon::detail
