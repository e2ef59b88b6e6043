#pragma once
// Names in a sentence.

#include <span>
#include <string>

namespace mamelon::detail {

// The first few names, apart by commas, and how many more there are. Long names are cut.
std::string listing(std::span<const std::string> names);

}  // namespace mamelon::detail
