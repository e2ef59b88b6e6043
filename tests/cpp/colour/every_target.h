#pragma once
// Runs a check with the kernels of each instruction set that this processor has.

#include <functional>
#include <string>

// As the kernels are built (colour/batch_kernels.h), so that the same sets are listed.
#include "colour/batch_kernels.h"
#include "hwy/highway.h"
#include "hwy/targets.h"

namespace mamelon::testing_data {

inline void on_every_target(const std::function<void(const std::string& name)>& check) {
  for (const auto target : hwy::SupportedAndGeneratedTargets()) {
    hwy::SetSupportedTargetsForTest(target);
    hwy::GetChosenTarget().Update(hwy::SupportedTargets());
    check(hwy::TargetName(target));
  }
  hwy::SetSupportedTargetsForTest(0);
  hwy::GetChosenTarget().Update(hwy::SupportedTargets());
}

}  // namespace mamelon::testing_data
