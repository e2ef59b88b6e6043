#pragma once
// What the steps of a case share: its teeth by name and place, and what its photo is read by.

#include <cstddef>
#include <string>

#include "mamelon/case.h"

namespace mamelon::detail {

// Throws ArgumentError for a photo that nothing tells the colours of, or for two things that both
// would.
void check_has_card(const Case& given);

std::string tooth_name(const Case& given, std::size_t i);

// Index of the tooth that `headline` means. Throws ArgumentError where it means none.
std::size_t headline_of(const Case& given);

}  // namespace mamelon::detail
