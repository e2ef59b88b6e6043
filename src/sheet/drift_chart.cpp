#include <algorithm>
#include <array>
#include <string>
#include <utility>

#include "mamelon/appearance.h"

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

constexpr double names_end = 120;
constexpr double bars_end = 450;
constexpr double top = 26;
constexpr double row_height = 24;

std::string at(double value) {
  return format_fixed(value, 1);
}

// Shape as well as fill tells the verdicts apart, for a page in black and white.
std::string bar(const TabDrift& tab, double x_end, double y) {
  const std::string box = "<rect x=" + at(names_end) + " y=" + at(y + 5) +
                          " width=" + at(std::max(1.0, x_end - names_end)) + " height=14 ";
  switch (tab.verdict) {
    case DriftVerdict::drifted_visibly:
      return box + "fill=\"var(--warn)\" stroke=\"var(--ink)\" stroke-width=1.5 />";
    case DriftVerdict::drifted:
      return box + "fill=\"var(--mark)\" stroke=\"var(--ink)\" />";
    case DriftVerdict::not_testable:
      return box + "fill=none stroke=\"var(--soft)\" stroke-dasharray=\"3 3\" />";
    case DriftVerdict::steady:
      break;
  }
  return box + "fill=\"var(--line)\" stroke=\"var(--soft)\" />";
}

}  // namespace

std::string drift_chart(const Drift& drift, const Viewing& viewing) {
  double greatest = 1.2 * threshold::acceptable_de00;
  for (const TabDrift& tab : drift.tabs) greatest = std::max(greatest, 1.05 * tab.de00);
  const auto x = [&](double de00) { return names_end + de00 / greatest * (bars_end - names_end); };
  const double bottom = top + row_height * static_cast<double>(drift.tabs.size());
  const std::string caption =
      "Length: ΔE00 of the tab's own change (" + to_string(viewing) +
      (drift.common_shift_removed ? ", the shift common to all tabs taken off" : "") +
      "). Filled: more than the readings' scatter explains, heavy outline where it can be seen. "
      "Dashed outline: no repeatability to test against. PT, AT: perceptibility and acceptability "
      "thresholds.";
  std::string out = "<figure><svg role=img viewBox=\"0 0 460 " + at(bottom + 6) +
                    "\" width=460 height=" + at(bottom + 6) +
                    " aria-label=\"change of each tab: " + caption + "\">";
  const std::array<std::pair<const char*, double>, 2> lines = {
      {{"PT", threshold::perceptible_de00}, {"AT", threshold::acceptable_de00}}};
  for (const auto& [name, level] : lines) {
    out += "<line x1=" + at(x(level)) + " y1=" + at(top - 6) + " x2=" + at(x(level)) +
           " y2=" + at(bottom) + " stroke=\"var(--ink)\" stroke-dasharray=\"2 3\" />" +
           "<text font-size=13 text-anchor=middle x=" + at(x(level)) + " y=" + at(top - 11) + ">" +
           name + " " + format_fixed(level, 1) + "</text>";
  }
  double y = top;
  for (const TabDrift& tab : drift.tabs) {
    out += "<text font-size=14 text-anchor=end x=" + at(names_end - 8) + " y=" + at(y + 17) + ">" +
           escaped(tab.tab, 14) + "</text>" + bar(tab, x(tab.de00), y);
    y += row_height;
  }
  return out + "</svg><figcaption>" + caption + "</figcaption></figure>";
}

}  // namespace mamelon::detail
