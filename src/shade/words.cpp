#include <cmath>

#include "mamelon/match.h"

namespace mamelon {
namespace {

// The unique hue that a turn of the hue leads towards (ASTM D2244's words). Tooth colours lie
// around yellow, where the trade calls the turn to smaller angles redder on either side of 90°.
const char* hue_word(double hue_deg, bool to_larger_angle) {
  if (to_larger_angle) {
    if (hue_deg < 90) return "yellower";
    if (hue_deg < 180) return "greener";
    return hue_deg < 270 ? "bluer" : "redder";
  }
  if (hue_deg < 135) return "redder";
  if (hue_deg < 180) return "yellower";
  return hue_deg < 270 ? "greener" : "bluer";
}

}  // namespace

std::string difference_in_words(const RankedTab& tab) {
  if (!(tab.de00 > threshold::perceptible_de00)) return "no visible difference";
  const double largest =
      std::fmax(std::fabs(tab.dl), std::fmax(std::fabs(tab.dc), std::fabs(tab.dh)));
  const double worth_saying = std::fmin(threshold::perceptible_de00 / 2, largest);
  std::string words;
  const auto say = [&words](const char* word) {
    if (!words.empty()) words += ", ";
    words += word;
  };
  if (std::fabs(tab.dl) >= worth_saying) say(tab.dl > 0 ? "lighter" : "darker");
  if (std::fabs(tab.dc) >= worth_saying) say(tab.dc > 0 ? "more chromatic" : "less chromatic");
  if (std::fabs(tab.dh) >= worth_saying) say(hue_word(to_lch(tab.lab).h_deg, tab.dh > 0));
  return words;
}

std::string between_in_words(const Between& between) {
  const std::string pair = "between " + between.nearer + " and " + between.other;
  return between.share_of_other >= 0.4 ? pair + ", midway" : pair + ", nearer " + between.nearer;
}

}  // namespace mamelon
