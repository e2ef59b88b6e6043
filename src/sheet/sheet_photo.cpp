#include <algorithm>
#include <array>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/raster.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

// Lines are told apart by their dashes as well as by their colour.
constexpr std::array<std::string_view, 3> dashes = {"none", "7 4", "2 3"};

struct Outline {
  std::string path;
  double x = 0;  // a point in the middle, for the name
  double y = 0;
};

// The rows' first and last pixels inside, joined: what is left out within a zone (glare) does not
// break its outline.
Outline outline_of(const Mask& mask, const Crop& crop) {
  std::vector<std::pair<double, double>> left;
  std::vector<std::pair<double, double>> right;
  for (std::size_t y = 0; y < crop.height; ++y) {
    std::size_t first = crop.width;
    std::size_t last = 0;
    for (std::size_t x = 0; x < crop.width; ++x) {
      if (!is_inside(mask, crop, x, y)) continue;
      first = std::min(first, x);
      last = x;
    }
    if (first == crop.width) continue;
    left.emplace_back(static_cast<double>(first), static_cast<double>(y) + 0.5);
    right.emplace_back(static_cast<double>(last + 1), static_cast<double>(y) + 0.5);
  }
  Outline outline;
  if (left.empty()) return outline;
  const auto middle = left.size() / 2;
  outline.x = 0.5 * (left[middle].first + right[middle].first);
  outline.y = left[middle].second;
  std::reverse(right.begin(), right.end());
  left.insert(left.end(), right.begin(), right.end());
  for (const auto& [x, y] : left) {
    outline.path += outline.path.empty() ? 'M' : 'L';
    outline.path += format_fixed(x, 0) + ' ' + format_fixed(y, 1);
  }
  outline.path += 'Z';
  return outline;
}

}  // namespace

std::string photo_figure(const Report& report) {
  const std::optional<Zones>& zones = report.first().zones;
  if (!report.photo || !report.fit || !zones) return {};
  const Crop crop = crop_around(zones->tooth, *report.photo, 420);
  const std::string width = std::to_string(crop.width);
  const std::string height = std::to_string(crop.height);
  std::string names;
  for (const Zone& zone : zones->zones) {
    names += (names.empty() ? "" : ", ") + escaped(zone.name);
  }
  const std::string picture =
      png_data_uri(render(*report.photo, *report.fit, crop), crop.width, crop.height);
  std::string out = "<figure class=photo><svg role=img viewBox=\"0 0 " + width + " " + height +
                    "\" width=" + width + " height=" + height +
                    " aria-label=\"The tooth in the photo with its zones outlined: " + names +
                    "\"><image width=" + width + " height=" + height + " href=\"" + picture +
                    "\"/>";
  std::string labels;
  const double size = std::max(11.0, static_cast<double>(crop.height) / 20);
  for (std::size_t i = 0; i < zones->zones.size(); ++i) {
    const Zone& zone = zones->zones[i];
    const Outline outline = outline_of(zone.mask, crop);
    if (outline.path.empty()) continue;
    const std::string path = "<path d=\"" + outline.path + "\" fill=none stroke-linejoin=round ";
    out += path + "stroke=\"#fff\" stroke-width=4 />" + path +
           "stroke=\"#0b2f4d\" stroke-width=2 stroke-dasharray=\"" +
           std::string(dashes[i % dashes.size()]) + "\"/>";
    labels += "<text x=" + format_fixed(outline.x, 1) +
              " y=" + format_fixed(outline.y + size / 3, 1) +
              " font-size=" + format_fixed(size, 0) +
              " text-anchor=middle style=\"fill:#0b2f4d;stroke:#fff;stroke-width:3px;"
              "paint-order:stroke;font-weight:600\">" +
              escaped(zone.name) + "</text>";
  }
  return out + labels +
         "</svg><figcaption>Corrected by the card and shown as an sRGB display shows it. Outlined: "
         "what was measured; glare and the rim are left out. If the outline is not on your tooth, "
         "point at it and run again.</figcaption></figure>";
}

}  // namespace mamelon::detail
