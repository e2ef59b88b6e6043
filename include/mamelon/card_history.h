#pragma once
/// @file
/// How a card wears: its patches in photos taken over time.

#include <optional>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/kept_fit.h"

namespace mamelon {

/// The card in one photo of a history.
struct CardVisit {
  KeptFit fit;
  std::string day;
};
template <>
struct Fields<CardVisit> {
  static constexpr const char* name = "CardVisit";
  static constexpr auto all() {
    return FieldList{
        needed("fit", &CardVisit::fit, "what the photo showed of the card"),
        field("day", &CardVisit::day, "YYYY-MM-DD; empty: as the photo's file says").items(0, 10)};
  }
};

/// What became of one patch over time. Colours are what the other patches say of it, less what it
/// is stated to be.
struct PatchHistory {
  std::string name;
  std::vector<std::optional<Vec3>> residual;
  double p_value = 1;
  bool changed = false;
  Vec3 change{};
  Mat3 change_covariance{};
  double de00 = 0;
  double de00_u95 = 0;
};
template <>
struct Fields<PatchHistory> {
  static constexpr const char* name = "PatchHistory";
  static constexpr auto all() {
    using T = PatchHistory;
    return FieldList{
        needed("name", &T::name, "of the patch"),
        field("residual", &T::residual,
              "ΔL*, Δa*, Δb* on each visit; none where the patch could not be used"),
        field("p_value", &T::p_value, "that a patch which is as it was shows as much or more")
            .range(0, 1),
        field("changed", &T::changed, "by the test over the whole card"),
        field("change", &T::change, "ΔL*, Δa*, Δb* from the first visit to the last, on a line"),
        field("change_covariance", &T::change_covariance, "3×3, of `change`"),
        field("de00", &T::de00, "CIEDE2000 of that change").range(0, 1000),
        field("de00_u95", &T::de00_u95, "95 % point of how far the true change lies from `change`")
            .range(0, 1000)};
  }
};

/// The history of a card.
struct CardHistory {
  std::string card;
  std::vector<std::string> days;
  double false_alarm_rate = 0;
  std::vector<PatchHistory> patches;
  std::vector<std::string> warnings;
};
template <>
struct Fields<CardHistory> {
  static constexpr const char* name = "CardHistory";
  static constexpr auto all() {
    using T = CardHistory;
    return FieldList{needed("card", &T::card, "its name"),
                     field("days", &T::days, "of the visits, oldest first"),
                     field("false_alarm_rate", &T::false_alarm_rate,
                           "chance that any patch of a card that is as it was is called changed")
                         .range(0, 1),
                     field("patches", &T::patches, "in the card's order"),
                     field("warnings", &T::warnings, "what to know before using it")};
  }
};

/// Which patches of a card have changed: each is read by the others on every visit, a line through
/// its residuals over time gives the change, and an F test with Holm's control over the
/// whole card (Holm 1979, Scand J Stat 6:65) says which of them are more than the others' scatter
/// explains. A patch that has changed is left out of the fits, and the rest tested again. Photos
/// should be by one camera in one light: another light moves patches too, and is in the interval.
/// Throws ArgumentError for fewer than two visits, days that are not stated or all one, cards that
/// are not one, and CaptureError where fewer than six patches can be compared.
[[nodiscard]] CardHistory card_history(const std::vector<CardVisit>& visits, const Viewing& viewing,
                                       double false_alarm_rate = 0.05);

}  // namespace mamelon
