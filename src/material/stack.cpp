#include "mamelon/stack.h"

#include <cmath>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "material/stack_check.h"

namespace mamelon {
namespace detail {
namespace {

constexpr double thickest_stack_mm = 30;

}  // namespace

void check_stack(const Stack& stack) {
  if (stack.layers.empty()) {
    throw ArgumentError("a stack needs at least one layer on its floor");
  }
  check_reflectance(stack.floor, "floor of the stack");
  double total_mm = 0;
  for (const Layer& layer : stack.layers) {
    const std::string where = "layer of paste '" + layer.paste.name + "'";
    check_paste(layer.paste, where);
    if (layer.paste.absorption.grid() != stack.floor.grid()) {
      throw ArgumentError(where +
                          " and the floor stand on different wavelength grids; resample one");
    }
    if (!(layer.thickness_mm > 0) || !std::isfinite(layer.thickness_mm)) {
      throw ArgumentError(where + ": thickness " + format_short(layer.thickness_mm) +
                          " mm must be above 0");
    }
    total_mm += layer.thickness_mm;
  }
  for (const double r : stack.floor.values()) {
    if (r > 1) {
      throw ArgumentError("floor of the stack: internal reflectance " + format_short(r) +
                          " is above 1");
    }
  }
  if (total_mm > thickest_stack_mm) {
    throw ModelError("the stack is " + format_short(total_mm) +
                     " mm thick; layers up to 30 mm in all can be predicted");
  }
}

}  // namespace detail

Reflectance predict(const Stack& stack) {
  detail::check_stack(stack);
  std::vector<double> r = stack.floor.values();
  for (const Layer& layer : stack.layers) {
    for (std::size_t i = 0; i < r.size(); ++i) {
      r[i] = over(
          layer_optics(layer.paste.absorption[i], layer.paste.scattering[i], layer.thickness_mm),
          r[i]);
    }
  }
  const Interface surface =
      interface_of(stack.layers.back().paste.refractive_index, stack.specular_included);
  for (double& value : r) {
    value = to_measured(value, surface);
  }
  return {stack.floor.grid(), std::move(r)};
}

}  // namespace mamelon
