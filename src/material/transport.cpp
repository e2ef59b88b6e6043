#include "mamelon/transport.h"

#include <cmath>
#include <utility>
#include <vector>

#include "base/numbers.h"
#include "material/ordinates.h"
#include "material/stack_check.h"

namespace mamelon {
namespace {

using detail::OrdinateLayer;
using detail::Ordinates;

void check_slab(const Medium& medium, double thickness_mm, double refractive_index) {
  if (!(medium.absorption_per_mm >= 0) || !(medium.scattering_per_mm >= 0) ||
      !std::isfinite(medium.absorption_per_mm) || !std::isfinite(medium.scattering_per_mm) ||
      !(medium.anisotropy >= 0 && medium.anisotropy < 1)) {
    throw ArgumentError(
        "a medium has absorption and scattering of 0 or more per mm and an anisotropy from 0 to "
        "below 1");
  }
  if (!(thickness_mm > 0) || !std::isfinite(thickness_mm)) {
    throw ArgumentError("a slab's thickness is " + detail::format_short(thickness_mm) +
                        " mm; it must be above 0");
  }
  if (refractive_index != 1 && !(refractive_index >= 1.01 && refractive_index <= 2)) {
    throw ArgumentError("refractive index " + detail::format_short(refractive_index) +
                        " is neither 1 nor within 1.01 to 2");
  }
}

template <int Size>
SlabTotals totals(const Medium& medium, double thickness_mm, double refractive_index, int streams) {
  using Matrix = typename Ordinates<Size>::Matrix;
  using Vector = typename Ordinates<Size>::Vector;
  const Ordinates<Size> ordinates(streams, refractive_index);
  const Matrix identity = Matrix::Identity(streams, streams);
  const OrdinateLayer<Size> layer = ordinates.layer(medium, thickness_mm);
  const Matrix surface = ordinates.inner_reflectance().asDiagonal();
  const Matrix below = Ordinates<Size>::covered(layer, surface);
  const auto entering = (identity - surface * below).partialPivLu();
  const auto leaving = (identity - layer.reflection * surface).partialPivLu();
  const auto pass = [&](const Vector& light) {
    const Vector down = entering.solve(light);
    const Vector up = below * down;
    const Vector through = leaving.solve(layer.transmission * down);
    return std::pair{ordinates.escaping_flux(up), ordinates.escaping_flux(through)};
  };
  const auto [r_normal, t_normal] = pass(ordinates.normal_beam());
  const auto [r_diffuse, t_diffuse] = pass(ordinates.even_light());
  return {ordinates.k1() + r_normal, t_normal, ordinates.outer_diffuse() + r_diffuse, t_diffuse};
}

template <int Size>
Reflectance predict_with(const Stack& stack, int streams) {
  using Matrix = typename Ordinates<Size>::Matrix;
  using Vector = typename Ordinates<Size>::Vector;
  const Ordinates<Size> ordinates(streams, stack.layers.back().paste.refractive_index);
  const Matrix surface = ordinates.inner_reflectance().asDiagonal();
  const Matrix identity = Matrix::Identity(streams, streams);
  std::vector<double> measured(stack.floor.size());
  for (std::size_t i = 0; i < measured.size(); ++i) {
    Matrix below = ordinates.lambertian(stack.floor[i]);
    for (const Layer& layer : stack.layers) {
      const TransportConstants& c = *layer.paste.transport;
      const Medium medium{c.absorption[i], c.reduced_scattering[i] / (1 - c.anisotropy),
                          c.anisotropy};
      below = Ordinates<Size>::covered(ordinates.layer(medium, layer.thickness_mm), below);
    }
    const Vector down = (identity - surface * below).partialPivLu().solve(ordinates.even_light());
    measured[i] =
        ordinates.normal_factor(below * down) + (stack.specular_included ? ordinates.k1() : 0);
  }
  return {stack.floor.grid(), std::move(measured)};
}

void check_streams(int streams) {
  if (streams != 4 && streams != 6 && streams != 8 && streams != 16 && streams != 32) {
    throw ArgumentError("the number of streams is " + std::to_string(streams) +
                        "; known are 4, 6, 8, 16 and 32");
  }
}

}  // namespace

SlabTotals slab_totals(const Medium& medium, double thickness_mm, double refractive_index,
                       int streams) {
  check_slab(medium, thickness_mm, refractive_index);
  check_streams(streams);
  // The usual number of streams has its sizes known to the compiler.
  return streams == 4 ? totals<4>(medium, thickness_mm, refractive_index, streams)
                      : totals<Eigen::Dynamic>(medium, thickness_mm, refractive_index, streams);
}

Reflectance predict(const Stack& stack, Engine engine, int streams) {
  if (engine == Engine::kubelka_munk) {
    return predict(stack);
  }
  detail::check_stack(stack);
  for (const Layer& layer : stack.layers) {
    if (!layer.paste.transport) {
      throw ArgumentError("paste '" + layer.paste.name +
                          "' has no transport constants; fit them from its drawdowns or predict "
                          "by Kubelka and Munk");
    }
  }
  check_streams(streams);
  return streams == 4 ? predict_with<4>(stack, streams)
                      : predict_with<Eigen::Dynamic>(stack, streams);
}

}  // namespace mamelon
