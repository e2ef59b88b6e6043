#pragma once
// A plan and what goes with it as JSON, for every document that holds plans.

#include "mamelon/plan.h"

#include "io/json_write.h"

namespace mamelon::detail {

Json json_of(const Plan& plan);
Json json_of(const LayerGain& gain);
Json json_of(const PartingTie& tie);
Json json_of(const std::optional<OutOfReach>& reach);

}  // namespace mamelon::detail
