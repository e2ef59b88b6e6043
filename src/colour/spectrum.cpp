#include "mamelon/spectrum.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace mamelon {

using detail::format_number;
using detail::format_short;

template <class Unit>
Spectrum<Unit>::Spectrum(const Grid& grid, std::vector<double> values)
    : grid_(grid), values_(std::move(values)) {
  if (values_.size() != grid_.count)
    throw ArgumentError("a spectrum on a grid of " + std::to_string(grid_.count) +
                        " bands needs as many values, got " + std::to_string(values_.size()));
  for (std::size_t i = 0; i < values_.size(); ++i)
    if (!std::isfinite(values_[i]))
      throw ArgumentError("the spectral value at " + format_short(grid_.wavelength_nm(i), 6) +
                          " nm is not a finite number");
}

template class Spectrum<unit::Reflectance>;
template class Spectrum<unit::PerMm>;
template class Spectrum<unit::Power>;

void check_reflectance(const Reflectance& reflectance, const std::string& where) {
  constexpr double largest = 2;
  constexpr double largest_percent = 200;
  const std::vector<double>& values = reflectance.values();
  const auto bad =
      std::find_if(values.begin(), values.end(), [](double r) { return r < 0 || r > largest; });
  if (bad == values.end()) return;
  const auto percent_like = std::count_if(
      values.begin(), values.end(), [](double r) { return r > largest && r <= largest_percent; });
  const auto impossible = std::any_of(values.begin(), values.end(),
                                      [](double r) { return r < 0 || r > largest_percent; });
  if (!impossible && 2 * static_cast<std::size_t>(percent_like) > values.size())
    throw ArgumentError(where + ": the reflectance looks like percent (a value of " +
                        format_short(*bad, 6) + "); give fractions of 1, that is divide by 100");
  const auto i = static_cast<std::size_t>(bad - values.begin());
  throw ArgumentError(where + ": a reflectance must lie in 0-2, got " + format_number(*bad) +
                      " at " + format_short(reflectance.grid().wavelength_nm(i), 6) + " nm");
}

}  // namespace mamelon
