#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t blocks_across = 13;

struct Block {
  std::size_t column = 0;
  std::size_t row = 0;
  std::size_t tab = 0;
};

bool is_measured(const Zones& zones, std::size_t x, std::size_t y) {
  return std::any_of(zones.zones.begin(), zones.zones.end(), [&](const Zone& zone) {
    const Mask& mask = zone.mask;
    return x >= mask.x && y >= mask.y && x < mask.x + mask.width && y < mask.y + mask.height &&
           mask.inside[(y - mask.y) * mask.width + (x - mask.x)] != 0;
  });
}

std::size_t nearest_tab(const Lab& lab, const TabSet& tabs, const DifferenceWeights& weights) {
  std::size_t best = 0;
  double least = INFINITY;
  for (std::size_t i = 0; i < tabs.tabs.size(); ++i) {
    const double difference = de00(tabs.tabs[i].lab.value, lab, weights);
    if (difference < least) {
      least = difference;
      best = i;
    }
  }
  return best;
}

// Squares of the tooth of which at least a third was measured, with their nearest tab.
std::vector<Block> blocks_of(const Report& report, std::size_t size) {
  const Zones& zones = *report.first().zones;
  const Mask& tooth = zones.tooth;
  const std::vector<Match>& matches = report.first().matches;
  const DifferenceWeights weights = matches.empty() ? DifferenceWeights{} : matches.front().weights;
  std::vector<Block> blocks;
  for (std::size_t row = 0; row * size < tooth.height; ++row) {
    for (std::size_t column = 0; column * size < tooth.width; ++column) {
      const std::size_t x0 = tooth.x + column * size;
      const std::size_t y0 = tooth.y + row * size;
      Vec3 sum{};
      std::size_t count = 0;
      for (std::size_t y = y0; y < std::min(y0 + size, report.photo->height); ++y) {
        for (std::size_t x = x0; x < std::min(x0 + size, report.photo->width); ++x) {
          if (!is_measured(zones, x, y)) continue;
          const auto pixel = report.photo->pixel(x, y);
          for (std::size_t c = 0; c < 3; ++c) sum[c] += pixel[c] / 65535.0;
          ++count;
        }
      }
      if (3 * count < size * size) continue;
      for (double& value : sum) value /= static_cast<double>(count);
      const double half = 0.5 * static_cast<double>(size);
      const PointPx at{static_cast<double>(x0) + half, static_cast<double>(y0) + half};
      const Lab lab = report.fit->correction->lab(sum, Mat3{}, at).value;
      blocks.push_back({column, row, nearest_tab(lab, *report.tabs, weights)});
    }
  }
  return blocks;
}

}  // namespace

std::string shade_map(const Report& report) {
  const std::optional<Zones>& zones = report.first().zones;
  if (!report.photo || !report.fit || !zones || !report.tabs) return {};
  const Mask& tooth = zones->tooth;
  const std::size_t size =
      std::max<std::size_t>(1, (tooth.width + blocks_across - 1) / blocks_across);
  const std::vector<Block> blocks = blocks_of(report, size);
  if (blocks.empty()) return {};

  // Tabs are numbered by the share of the tooth that they serve, the largest first.
  std::map<std::size_t, std::size_t> counts;
  for (const Block& block : blocks) ++counts[block.tab];
  std::vector<std::size_t> order;
  for (const auto& [tab, count] : counts) order.push_back(tab);
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return counts.at(a) > counts.at(b); });

  constexpr std::size_t cell = 20;
  const std::size_t rows = (tooth.height + size - 1) / size;
  const std::string width = std::to_string(blocks_across * cell);
  const std::string height = std::to_string(rows * cell);
  std::string drawing;
  std::string legend;
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const Tab& tab = report.tabs->tabs[order[rank]];
    const double share =
        static_cast<double>(counts.at(order[rank])) / static_cast<double>(blocks.size());
    if (rank < 6) {
      legend += (rank == 0 ? "" : ", ") + std::to_string(rank + 1) + " " + escaped(tab.name, 24) +
                " " + percent(share);
    }
    const std::string fill = swatch_of(tab.lab.value, report.viewing).hex;
    // A number in black on a light tab and in white on a dark one: where they change over both have
    // the contrast of 4.5 that WCAG 2.1 asks for.
    const std::string ink = tab.lab.value.l > 49.6 ? "#000" : "#fff";
    for (const Block& block : blocks) {
      if (block.tab != order[rank]) continue;
      const std::size_t x = block.column * cell;
      const std::size_t y = block.row * cell;
      drawing += "<rect x=" + std::to_string(x) + " y=" + std::to_string(y) +
                 " width=20 height=20 fill=\"" + fill + "\"/><text x=" + std::to_string(x + 10) +
                 " y=" + std::to_string(y + 15) +
                 " font-size=13 text-anchor=middle style=\"fill:" + ink + "\">" +
                 std::to_string(rank + 1) + "</text>";
    }
  }
  return "<figure class=map><svg role=img viewBox=\"0 0 " + width + " " + height +
         "\" width=" + width + " height=" + height +
         " aria-label=\"Map of the nearest tab over the tooth: " + legend + "\">" + drawing +
         "</svg><figcaption>Nearest tab by place: " + legend +
         (order.size() > 6 ? ", others" : "") + ".</figcaption></figure>";
}

}  // namespace mamelon::detail
