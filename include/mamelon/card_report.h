#pragma once
/// @file
/// What is said of a card, as documents.

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/card_history.h"
#include "mamelon/profile.h"

namespace mamelon {

/// Everything that a photo tells of the card in it.
struct CardReport {
  const Card* card = nullptr;             ///< the card
  const Photo* photo = nullptr;           ///< it stands in
  const CardFit* fit = nullptr;           ///< how it was met
  const InputProfile* profile = nullptr;  ///< where one was made
  std::vector<std::string> warnings{};    ///< of photo, fit and card
};
/// The JSON document of `card`.
[[nodiscard]] std::string to_json(const CardReport& report);

/// The JSON document of `card --history`.
[[nodiscard]] std::string to_json(const CardHistory& history);

/// The JSON document of `card --design`: how exact a card can be, and which patches would let it be
/// more so, null where nobody asked.
[[nodiscard]] std::string to_json(const CardDesign& design,
                                  const std::vector<SuggestedPatch>* suggested = nullptr);
/// A card's document with its design put in, all else as it stands. Throws as `parse_card`.
[[nodiscard]] std::string with_design(std::string_view json, const std::string& source,
                                      const CardDesign& design);

}  // namespace mamelon
