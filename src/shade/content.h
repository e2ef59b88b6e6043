#pragma once
// Digests of values that carry no provenance of their own.

#include <string>

#include "mamelon/tabs.h"

namespace mamelon::detail {

// The numbers of a measured colour as text that reads back to the same doubles.
std::string content_of(const Measured<Lab>& lab);

std::string digest_of(const Reading& reading);
std::string digest_of(const TabSet& tabs);

}  // namespace mamelon::detail
