#include "mamelon/stack.h"

#include <cmath>
#include <string>
#include <vector>

#include "mamelon/limits.h"

#include "base/numbers.h"
#include "material/stack_check.h"

namespace mamelon {
namespace detail {
namespace {

constexpr double thickest_stack_mm = 30;

}  // namespace

void check_floor(const Reflectance& floor) {
  check_reflectance(floor, "floor of the stack");
  for (const double r : floor.values()) {
    if (r > 1) {
      throw ArgumentError("floor of the stack: internal reflectance " + format_short(r) +
                          " is above 1");
    }
  }
}

void add_thickness(double thickness_mm, const std::string& where, double& total_mm) {
  if (!(thickness_mm > 0) || !std::isfinite(thickness_mm)) {
    throw ArgumentError(where + ": thickness " + format_short(thickness_mm) +
                        " mm must be above 0");
  }
  total_mm += thickness_mm;
  if (total_mm > thickest_stack_mm) {
    throw ModelError("the stack is " + format_short(total_mm) +
                     " mm thick; layers up to 30 mm in all can be predicted");
  }
}

void check_stack(const Stack& stack) {
  if (stack.layers.empty()) {
    throw ArgumentError("a stack needs at least one layer on its floor");
  }
  if (stack.layers.size() > limits::stack_layers) {
    throw ArgumentError("the stack has " + std::to_string(stack.layers.size()) +
                        " layers; at most " + std::to_string(limits::stack_layers) + " are taken");
  }
  check_floor(stack.floor);
  double total_mm = 0;
  for (const Layer& layer : stack.layers) {
    const std::string where = "layer of paste '" + layer.paste.name + "'";
    check_paste(layer.paste, where);
    if (layer.paste.absorption.grid() != stack.floor.grid()) {
      throw ArgumentError(where +
                          " and the floor stand on different wavelength grids; resample one");
    }
    add_thickness(layer.thickness_mm, where, total_mm);
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

std::vector<std::string> extrapolations(const Stack& stack) {
  std::vector<std::string> sentences;
  for (const Layer& layer : stack.layers) {
    const Paste& paste = layer.paste;
    constexpr double rounding_mm = 1e-9;
    if (paste.extrapolates(layer.thickness_mm, rounding_mm)) {
      sentences.push_back("layer of paste '" + paste.name +
                          "': " + detail::format_short(layer.thickness_mm) +
                          " mm lies outside the fitted thicknesses of " +
                          detail::format_short((*paste.fitted_mm)[0]) + " to " +
                          detail::format_short((*paste.fitted_mm)[1]) + " mm: extrapolated");
    }
  }
  return sentences;
}

}  // namespace mamelon
