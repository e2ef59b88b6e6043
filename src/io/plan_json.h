#pragma once
// A plan and what goes with it as JSON, for every document that holds plans.

#include "mamelon/plan.h"

#include "io/json_value.h"

namespace mamelon::detail {

Json json_of(const Plan& plan);
Json json_of(const PartingTie& tie);
inline Json json_of(const LayerGain& gain) {
  return written(gain);
}
inline Json json_of(const std::optional<OutOfReach>& reach) {
  return written(reach);
}

}  // namespace mamelon::detail
