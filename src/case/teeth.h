#pragma once
// The teeth of a case by name and place.

#include <cstddef>
#include <string>

#include "mamelon/case.h"

namespace mamelon::detail {

std::string tooth_name(const Case& given, std::size_t i);

// Index of the tooth that `headline` means. Throws ArgumentError where it means none.
std::size_t headline_of(const Case& given);

}  // namespace mamelon::detail
