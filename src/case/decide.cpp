#include "case/decide.h"

#include <algorithm>
#include <cmath>

#include "mamelon/error.h"

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

// Shares of over-exposed pixels, and of the light's standard deviation, that explain a wide
// interval.
constexpr double many_clipped = 0.05;
constexpr double unknown_light = 0.03;

std::string percent(double share) {
  return format_fixed(100 * share, 0) + " %";
}

// The change to the photo that would help most.
std::string remedy(const Report& report, const ToothReport& tooth, const Reading& reading) {
  if (!tooth.zones || !report.fit) {
    return "take three readings or more of the tooth and give them all";
  }
  const auto clipped = std::count_if(
      report.fit->patches.begin(), report.fit->patches.end(),
      [](const PatchFit& patch) { return !patch.used && patch.clipped_fraction > many_clipped; });
  if (tooth.zones->clipped_fraction > many_clipped) {
    return "take the photo again with less exposure: " + percent(tooth.zones->clipped_fraction) +
           " of the tooth is over-exposed";
  }
  if (clipped > 0) {
    return "take the photo again with less exposure: " + std::to_string(clipped) +
           (clipped == 1 ? " patch of the card is" : " patches of the card are") + " over-exposed";
  }
  const PointPx middle = {(tooth.zones->cervical_end.x + tooth.zones->incisal_end.x) / 2,
                          (tooth.zones->cervical_end.y + tooth.zones->incisal_end.y) / 2};
  if (report.fit->correction->light_log_sd(middle) > unknown_light) {
    return "take the photo again with the card's white beside the tooth, in the same light";
  }
  const auto trace = [](const Mat3& m) { return m[0][0] + m[1][1] + m[2][2]; };
  if (trace(reading.lab.random) > trace(reading.lab.shared)) {
    return "take the photo again from nearer: too little of the tooth can be measured";
  }
  const CorrectionMethod method = report.fit->correction->method();
  if (method == CorrectionMethod::grey || method == CorrectionMethod::tabs) {
    return "take the photo again with a card that has patches of tooth-like colour in it";
  }
  return "take the photo again in even light, as a raw or linear file, with the card right beside "
         "the tooth";
}

}  // namespace

std::optional<std::string> too_uncertain(const Report& report, const ToothReport& tooth,
                                         const Reading& reading, const DifferenceWeights& weights) {
  const Lab& lab = reading.lab.value;
  constexpr double farthest = 150;
  if (!(std::max(std::fabs(lab.a), std::fabs(lab.b)) <= farthest)) {
    throw ArgumentError("the colour of " + name_of(reading) + " has a* " + format_short(lab.a) +
                        " and b* " + format_short(lab.b) +
                        "; those of a surface lie from -150 to 150");
  }
  // A tab that meets the reading exactly: its differences are the reading's errors.
  Tab exact{.name = "met exactly", .lab = {}, .reflectance = {}};
  // No tab is lighter than white; so far from all teeth it makes no difference.
  exact.lab.value = {std::min(lab.l, 100.0), lab.a, lab.b};
  Reading placed = reading;
  placed.lab.value = exact.lab.value;
  const Match errors =
      match(placed,
            {.name = "met exactly", .tabs = {exact}, .viewing = reading.viewing, .provenance = {}},
            {.weights = weights, .threads = 1});
  const RankedTab& error = errors.ranked.front();
  if (error.chance_acceptable >= 0.5) return std::nullopt;
  return name_of(reading) +
         " is too uncertain to decide on: even a colour that meets the reading "
         "exactly is acceptable on the tooth with a chance of " +
         percent(error.chance_acceptable) + " only (it may miss by ΔE00 " +
         format_fixed(error.high, 1) + "); " + remedy(report, tooth, reading);
}

}  // namespace mamelon::detail
