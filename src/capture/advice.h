#pragma once
// What a card's definition lacks for reading teeth well.

#include <string>
#include <vector>

#include "mamelon/card.h"

namespace mamelon::detail {

// One sentence for each: neutrals, tooth-like and reddish patches, spectra, white areas. The
// numbers come from a simulation over measured cameras and lights.
std::vector<std::string> card_advice(const Card& card, const Viewing& viewing);

}  // namespace mamelon::detail
