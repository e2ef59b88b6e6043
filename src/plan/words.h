#pragma once
// Which plan is recommended, why, and what to know of it, in words.

#include <string>
#include <vector>

#include "mamelon/plan.h"

namespace mamelon::detail {

// Index of the plan that `recommended` says.
std::size_t recommended_plan(const std::vector<Plan>& plans);

// The reason for it, in one to three sentences.
std::string reason(const std::vector<Plan>& plans, std::size_t recommended);

// "1.2 mm of fawn under 0.8 mm of linen".
std::string layers_in_words(const Plan& plan);

// What plans of each number of layers come to.
std::vector<LayerGain> gains_of(const std::vector<Plan>& plans);

// Plans that look alike under the target's light but part visibly under another.
std::vector<PartingTie> parting_ties(const std::vector<Plan>& plans);

// How a predicted colour misses its target most: darker, lighter, less or more chromatic.
std::string miss_in_words(const PredictedColour& own);

// What to know before a plan is carried out: extrapolated layers, portions that little light
// passes, an engine that is not the better one, streams that disagree, the contact wall.
std::vector<std::string> cautions_of(const PlanRequest& request, const Plan& plan);

std::vector<std::string> in_words(const OutOfReach& reach, const Plan& best);
std::string in_words(const PartingTie& tie);

// What differs in the steps of `other` from those of `plan`, the same pastes at another depth.
std::string difference_in_words(const Plan& plan, const Plan& other);

}  // namespace mamelon::detail
