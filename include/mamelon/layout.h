#pragma once
/// @file
/// A card to print, mount patches in and measure.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/description.h"

namespace mamelon {

/// What a printed card is to hold; lengths in mm.
struct LayoutRequest {
  std::string name = "card";  ///< of the card
  std::size_t patches = 16;   ///< windows to mount patches in, 1–200
  double patch_mm = 4;        ///< side of a window, 2–30
  double fiducial_mm = 4;     ///< side of a fiducial, 2–30
  double bar_mm = 12;         ///< white bars that stand up beside the teeth, 0–100; 0: none
  double opening_mm = 42;     ///< least width between the bars
  Viewing viewing = {standard_illuminant("D65"), Observer::deg2};  ///< of the Lab to be filled in
};

/// A card as it is to be printed.
struct CardLayout {
  /// Fiducials, windows and white areas; no patch has a colour before it is measured, and a card
  /// without them is refused by `read_card` and `fit_card`.
  Card card;
  /// Where teeth are seen between the bars: to be cut out; none without bars.
  std::optional<WhiteArea> opening;
};
template <>
struct Fields<CardLayout> {
  static constexpr const char* name = "CardLayout";
  static CardLayout blank() { return {.card = mamelon::blank<Card>(), .opening = {}}; }
  static constexpr auto all() {
    return FieldList{
        needed("card", &CardLayout::card, "fiducials, windows without colours, white areas"),
        field("opening", &CardLayout::opening, "to be cut out; None without bars")};
  }
};

/// Two rows of windows between four fiducials, white strips above, between and below them for the
/// light field, and white bars. Throws ArgumentError for a request outside its ranges.
[[nodiscard]] CardLayout card_layout(const LayoutRequest& request);

/// The layout as an SVG drawing in true size: fiducials, windows with their names (to be cut out or
/// covered by the patch), the outline to cut along, and a scale to check the print with a ruler.
[[nodiscard]] std::string layout_svg(const CardLayout& layout);

/// What a card's definition lacks for reading teeth well, a sentence each: neutrals, tooth-like and
/// reddish patches, spectra, white areas. The numbers come from a simulation over measured cameras
/// and lights.
[[nodiscard]] std::vector<std::string> card_advice(const Card& card, const Viewing& viewing);

}  // namespace mamelon
