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
  const auto [from, to] = least_and_most(values);
  const double scale = static_cast<double>(bins - 1) / (to - from);
  if (!(to > from) || !(scale < 1e300)) return {from, to};

  std::vector<std::int32_t> bin_of(values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    bin_of[i] = static_cast<std::int32_t>((values[i] - from) * scale);
  std::array<std::uint32_t, bins> counts{};
  for (const std::int32_t bin : bin_of) ++counts[static_cast<std::size_t>(bin)];

  const auto statistic = [&](std::size_t rank) {
    std::size_t bin = 0;
    std::size_t before = 0;
    while (before + counts[bin] <= rank) before += counts[bin++];
    // One place more than the bin holds, so that every value can be written before it is known
    // whether it stays.
    std::vector<double> held(counts[bin] + 1);
    std::size_t count = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      held[count] = values[i];
      count += static_cast<std::size_t>(bin_of[i]) == bin ? 1U : 0U;
    }
    const auto at = held.begin() + static_cast<std::ptrdiff_t>(rank - before);
    std::nth_element(held.begin(), at, held.end() - 1);
    return *at;
  };
  const auto rank = static_cast<std::size_t>(tail * static_cast<double>(values.size()));
  const double low = statistic(rank);
  return {low, statistic(values.size() - 1 - rank)};
}

}  // namespace mamelon::detail
