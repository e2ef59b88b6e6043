#include "shade/morton_order.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

namespace mamelon::detail {
namespace {

constexpr double cell = 0.5;  // of CIELAB; finer than tabs lie apart
constexpr double cells_a_side = 1024;

std::uint64_t cell_of(double coordinate) {
  const double at = std::floor(coordinate / cell) + cells_a_side / 2;
  return static_cast<std::uint64_t>(std::clamp(at, 0.0, cells_a_side - 1));
}

std::uint64_t along_the_curve(const Lab& lab) {
  const std::uint64_t cells[] = {cell_of(lab.l), cell_of(lab.a), cell_of(lab.b)};
  std::uint64_t place = 0;
  for (unsigned bit = 10; bit-- > 0;) {
    for (const std::uint64_t at : cells) place = place << 1U | (at >> bit & 1U);
  }
  return place;
}

}  // namespace

std::vector<std::size_t> morton_order(std::span<const Reading> readings) {
  std::vector<std::pair<std::uint64_t, std::size_t>> places;
  places.reserve(readings.size());
  for (std::size_t i = 0; i < readings.size(); ++i) {
    places.emplace_back(along_the_curve(readings[i].lab.value), i);
  }
  std::sort(places.begin(), places.end());
  std::vector<std::size_t> order;
  order.reserve(places.size());
  for (const auto& [place, i] : places) order.push_back(i);
  return order;
}

}  // namespace mamelon::detail
