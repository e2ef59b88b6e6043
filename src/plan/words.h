#pragma once
// Why a plan is recommended, in words.

#include <string>
#include <vector>

#include "mamelon/plan.h"

namespace mamelon::detail {

// Index of the recommended plan: the fewest layers whose best expected ΔE00 is not worse than the
// best of all by more than the perceptibility threshold.
std::size_t recommended_plan(const std::vector<Plan>& plans);

// The reason for it, in one to three sentences.
std::string reason(const std::vector<Plan>& plans, std::size_t recommended);

// What is out of reach for the recommended plan; empty when it is within acceptability.
std::vector<std::string> shortfalls(const Plan& plan);

// Plans that look alike under the target's light (expected within a tenth of the perceptibility
// threshold) but part visibly under another.
std::vector<std::string> parting_ties(const std::vector<Plan>& plans);

}  // namespace mamelon::detail
