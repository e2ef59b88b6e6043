#pragma once
// Names and numbers in a sentence.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace mamelon::detail {

// The first few names, apart by commas, and how many more there are. Long names are cut.
std::string listing(std::span<const std::string> names);

// "1 tooth", "2 teeth": the number with the word that fits it.
std::string counted(std::size_t count, std::string_view one, std::string_view many);

}  // namespace mamelon::detail
