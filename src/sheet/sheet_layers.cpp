#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

constexpr double top = 26;
constexpr double left = 46;
constexpr double block_width = 130;

std::string px(double value) {
  return format_fixed(value, 1);
}

// A pattern for each role, so that layers differ in black and white too.
constexpr std::string_view patterns =
    "<defs>"
    "<pattern id=p-opaque width=7 height=7 patternUnits=userSpaceOnUse>"
    "<path d=\"M0 0L7 7M7 0L0 7\" stroke=\"#4d5660\" fill=none /></pattern>"
    "<pattern id=p-dentine width=8 height=8 patternUnits=userSpaceOnUse>"
    "<path d=\"M-1 1L1 -1M0 8L8 0M7 9L9 7\" stroke=\"#4d5660\" fill=none /></pattern>"
    "<pattern id=p-body width=10 height=10 patternUnits=userSpaceOnUse>"
    "<circle cx=3 cy=3 r=1.3 fill=\"#4d5660\" /><circle cx=8 cy=8 r=1.3 fill=\"#4d5660\" />"
    "</pattern>"
    "<pattern id=p-enamel width=14 height=10 patternUnits=userSpaceOnUse>"
    "<path d=\"M0 5H14\" stroke=\"#8a939b\" fill=none /></pattern>"
    "<pattern id=p-floor width=6 height=6 patternUnits=userSpaceOnUse>"
    "<path d=\"M0 6L6 0\" stroke=\"#222\" stroke-width=2 fill=none /></pattern></defs>";

std::string_view pattern_of(Role role) {
  switch (role) {
    case Role::opaque:
      return "url(#p-opaque)";
    case Role::dentine:
      return "url(#p-dentine)";
    case Role::body:
      return "url(#p-body)";
    case Role::enamel:
      return "url(#p-enamel)";
    case Role::translucent:
      break;
  }
  return "none";
}

std::string rectangle(double y, double height, std::string_view fill, std::string_view stroke) {
  return "<rect x=" + px(left) + " y=" + px(y) + " width=" + px(block_width) +
         " height=" + px(height) + " fill=\"" + std::string(fill) + "\" stroke=\"" +
         std::string(stroke) + "\" />";
}

// Heights of the labels: as near their increments as a line of text apart allows.
std::vector<double> spread(std::vector<double> wanted, double least_gap, double lowest) {
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    // Floor first: the first label is the lowest on the page.
    const double limit = i == 0 ? lowest : wanted[i - 1] - least_gap;
    wanted[i] = std::min(wanted[i], limit);
  }
  return wanted;
}

std::string scale_drawn(double depth_mm, double scale, double drawing_height) {
  const double step = depth_mm <= 1.5 ? 0.25 : depth_mm <= 4 ? 0.5 : depth_mm <= 10 ? 1 : 2;
  const int decimals = depth_mm <= 1.5 ? 2 : depth_mm <= 4 ? 1 : 0;
  std::string out;
  for (int i = 0; i * step <= depth_mm + 1e-9; ++i) {
    const double y = top + drawing_height - i * step * scale;
    out +=
        "<line x1=" + px(left - 6) + " x2=" + px(left) + " y1=" + px(y) + " y2=" + px(y) +
        " stroke=\"var(--ink)\" /><text class=soft font-size=12 text-anchor=end x=" + px(left - 9) +
        " y=" + px(y + 4) + ">" + format_fixed(i * step, decimals) + "</text>";
  }
  return out;
}

}  // namespace

std::string layer_section(const Plan& plan, double depth_mm) {
  // Tall enough for every step's number.
  constexpr double line_height = 13;
  const double drawing_height =
      std::max(240.0, line_height * static_cast<double>(plan.increments.size() + 1));
  const double scale = drawing_height / depth_mm;
  const double floor_y = top + drawing_height;
  std::string out = "<figure class=section><svg role=img viewBox=\"0 0 300 " +
                    px(drawing_height + 48) + "\" width=300 height=" + px(drawing_height + 48) +
                    " aria-label=\"Cross-section of the layers to scale, floor at the bottom\">" +
                    std::string(patterns) + scale_drawn(depth_mm, scale, drawing_height);
  double y = floor_y;
  for (const PlannedLayer& layer : plan.layers) {
    const double height = layer.thickness_mm * scale;
    y -= height;
    out += rectangle(y, height, "#f3efe6", "none") +
           rectangle(y, height, pattern_of(layer.role), "#222");
  }
  if (plan.contact_wall) {
    const double width = std::min(plan.contact_wall->width_mm * scale, block_width / 2);
    const double height = plan.contact_wall->height_mm * scale;
    out += "<g><title>contact wall</title><rect x=" + px(left) + " y=" + px(floor_y - height) +
           " width=" + px(width) + " height=" + px(height) +
           " fill=\"#f3efe6\" stroke=\"#222\" stroke-width=2 /></g>";
  }
  out +=
      rectangle(floor_y, 16, "#d5cdbd", "#222") + rectangle(floor_y, 16, "url(#p-floor)", "#222");

  std::vector<double> middles;
  y = floor_y;
  for (const Increment& step : plan.increments) {
    // Two wedges, or walls and core, share a slice; a contact wall stands beside them all.
    const double height = step.share * step.thickness_mm * scale;
    middles.push_back(y - height / 2);
    y -= height;
    if (&step != &plan.increments.back() && step.share > 0) {
      out += "<line x1=" + px(left) + " x2=" + px(left + block_width) + " y1=" + px(y) +
             " y2=" + px(y) + " stroke=\"#000\" stroke-width=1.5 stroke-dasharray=\"6 4\"/>";
    }
  }
  const std::vector<double> heights = spread(middles, line_height, floor_y - 4);
  for (std::size_t i = 0; i < plan.increments.size(); ++i) {
    out += "<path fill=none stroke=\"var(--soft)\" d=\"M" + px(left + block_width + 1) + " " +
           px(middles[i]) + "L" + px(left + block_width + 20) + " " + px(heights[i]) +
           "\"/><text font-size=13 x=" + px(left + block_width + 25) +
           " y=" + px(heights[i] + 4.5) + ">" + std::to_string(plan.increments[i].order) +
           "</text>";
  }
  out += "<text class=soft font-size=13 x=" + px(left) + " y=" + px(top - 8) +
         ">outer surface</text><text class=soft font-size=13 x=" + px(left + block_width + 25) +
         " y=" + px(floor_y + 13) +
         ">prepared floor</text><text class=soft font-size=12 x=4 y=" + px(top - 8) + ">mm</text>";
  return out + "</svg><figcaption>To scale; the numbers are those of the steps." +
         (plan.contact_wall ? " The contact wall, " + format_fixed(plan.contact_wall->width_mm, 1) +
                                  " mm wide, stands at the left and goes up first; over it the "
                                  "colour is predicted as ΔE00 " +
                                  format_fixed(plan.contact_wall->in_front.de00, 1) +
                                  " from the target, without the light that it loses to its sides."
                            : std::string()) +
         "</figcaption></figure>";
}

}  // namespace mamelon::detail
