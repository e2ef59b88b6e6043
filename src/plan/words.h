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

// What plans of each number of layers come to.
std::vector<LayerGain> gains_of(const std::vector<Plan>& plans);

// Plans that look alike under the target's light but part visibly under another.
std::vector<PartingTie> parting_ties(const std::vector<Plan>& plans);

// How a predicted colour misses its target most: darker, lighter, less or more chromatic.
std::string miss_in_words(const PredictedColour& own);

std::vector<std::string> in_words(const OutOfReach& reach, const Plan& best);
std::string in_words(const PartingTie& tie);

}  // namespace mamelon::detail
