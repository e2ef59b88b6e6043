#pragma once
// Whether what was found in a photo is used with that photo, and what a reading was told.

#include <string>

#include "mamelon/zones.h"

namespace mamelon::detail {

// Throws ArgumentError where `zones` are of another photo; `what` names the step.
void check_zones_belong(const Photo& photo, const Zones& zones, const std::string& what);

// The kind of surface as a part of a provenance's settings.
std::string kind_setting(SurfaceKind kind);

}  // namespace mamelon::detail
