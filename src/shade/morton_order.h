#pragma once
// In which order to match many readings.

#include <cstddef>
#include <span>
#include <vector>

#include "mamelon/reading.h"

namespace mamelon::detail {

// Indices of the readings along a curve through CIELAB on which neighbours are alike (Morton 1966):
// they meet the same tabs, whose draws the processor then still holds.
std::vector<std::size_t> morton_order(std::span<const Reading> readings);

}  // namespace mamelon::detail
