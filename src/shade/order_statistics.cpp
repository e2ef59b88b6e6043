#include "shade/order_statistics.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace mamelon::detail {
namespace {

constexpr std::size_t bins = 256;

}  // namespace

std::pair<double, double> central_interval(std::span<const double> values, double tail) {
  double least = values[0];
  double most = values[0];
  for (const double v : values) {
    least = v < least ? v : least;
    most = v > most ? v : most;
  }
  const double scale = static_cast<double>(bins - 1) / (most - least);
  if (!(most > least) || !(scale < 1e300)) return {least, most};

  const auto bin_of = [=](double v) {
    return static_cast<std::size_t>(static_cast<std::int32_t>((v - least) * scale));
  };
  std::array<std::uint32_t, bins> counts{};
  for (const double v : values) ++counts[bin_of(v)];

  std::vector<double> held;
  const auto statistic = [&](std::size_t rank) {
    std::size_t bin = 0;
    std::size_t before = 0;
    while (before + counts[bin] <= rank) before += counts[bin++];
    held.clear();
    for (const double v : values)
      if (bin_of(v) == bin) held.push_back(v);
    const auto at = held.begin() + static_cast<std::ptrdiff_t>(rank - before);
    std::nth_element(held.begin(), at, held.end());
    return *at;
  };
  const auto rank = static_cast<std::size_t>(tail * static_cast<double>(values.size()));
  const double low = statistic(rank);
  return {low, statistic(values.size() - 1 - rank)};
}

}  // namespace mamelon::detail
