#include "shade/order_statistics.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "shade/draw_loops.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t bins = 256;

}  // namespace

std::pair<double, double> central_interval(std::span<const double> values, double tail) {
  const std::pair<double, double> ends = least_and_most(values);
  const double from = ends.first;
  const double to = ends.second;
  const double scale = static_cast<double>(bins - 1) / (to - from);
  if (!(to > from) || !(scale < 1e300)) return {from, to};

  std::array<std::uint32_t, bins> counts{};
  for (const double value : values) {
    ++counts[static_cast<std::size_t>(static_cast<std::int32_t>((value - from) * scale))];
  }

  const auto statistic = [&](std::size_t rank) {
    std::size_t bin = 0;
    std::size_t before = 0;
    while (before + counts[bin] <= rank) before += counts[bin++];
    std::vector<double> held(counts[bin] + values_at_once);
    copy_bin(values, from, scale, static_cast<double>(bin), held.data());
    const auto at = held.begin() + static_cast<std::ptrdiff_t>(rank - before);
    std::nth_element(held.begin(), at, held.begin() + static_cast<std::ptrdiff_t>(counts[bin]));
    return *at;
  };
  const auto rank = static_cast<std::size_t>(tail * static_cast<double>(values.size()));
  const double low = statistic(rank);
  return {low, statistic(values.size() - 1 - rank)};
}

}  // namespace mamelon::detail
