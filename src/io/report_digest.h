#pragma once

#include <string>

#include "mamelon/files.h"

namespace mamelon {

// Digest of everything a report says, from the digests of its readings, matches and plans.
std::string report_digest(const Report& report);

}  // namespace mamelon
