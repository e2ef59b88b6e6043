#pragma once
// Whether a reading is certain enough to decide on.

#include <optional>
#include <string>

#include "mamelon/report.h"

namespace mamelon::detail {

// Why `reading` of `tooth` decides nothing, and the one change that would help; nothing where it
// decides.
std::optional<std::string> too_uncertain(const Report& report, const ToothReport& tooth,
                                         const Reading& reading, const DifferenceWeights& weights);

}  // namespace mamelon::detail
