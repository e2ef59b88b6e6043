#include "mamelon/layout.h"

#include <algorithm>

#include <opencv2/aruco.hpp>

#include "mamelon/error.h"

#include "base/markup.h"
#include "base/numbers.h"

namespace mamelon {
namespace {

constexpr double rim_mm = 1.5;    // white around everything; a fiducial needs it to be found
constexpr double gap_mm = 0.8;    // between windows
constexpr double strip_mm = 2.0;  // height of a white strip
constexpr double bar_width_mm = 2.6;
// Area that is left white within a strip or bar, from its edges.
constexpr double inset_mm = 0.2;

void check_range(const char* what, double value, double low, double high) {
  if (!(value >= low && value <= high)) {
    throw ArgumentError(std::string("the layout's ") + what + " must lie between " +
                        detail::format_number(low) + " and " + detail::format_number(high) +
                        ", got " + detail::format_number(value));
  }
}

// Pieces of a white strip or bar, so that the light is sampled along it.
void add_pieces(Card& card, const WhiteArea& whole, std::size_t pieces) {
  const bool along_x = whole.width_mm >= whole.height_mm;
  const double step = (along_x ? whole.width_mm : whole.height_mm) / static_cast<double>(pieces);
  for (std::size_t i = 0; i < pieces; ++i) {
    const double at = step * static_cast<double>(i) + inset_mm;
    const double length = step - 2 * inset_mm;
    card.white_areas.push_back(along_x ? WhiteArea{whole.x_mm + at, whole.y_mm + inset_mm, length,
                                                   whole.height_mm - 2 * inset_mm}
                                       : WhiteArea{whole.x_mm + inset_mm, whole.y_mm + at,
                                                   whole.width_mm - 2 * inset_mm, length});
  }
}

// SVG lengths to a thousandth of a millimetre.
std::string mm(double value) {
  return detail::format_fixed(value, 3);
}

std::string rect(double x, double y, double width, double height, const std::string& style) {
  return "<rect x=\"" + mm(x) + "\" y=\"" + mm(y) + "\" width=\"" + mm(width) + "\" height=\"" +
         mm(height) + "\" " + style + "/>\n";
}

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) detail::append_escaped(out, c);
  return out;
}

std::string text(double x, double y, double size, const std::string& content) {
  return "<text x=\"" + mm(x) + "\" y=\"" + mm(y) + "\" font-size=\"" + mm(size) +
         "\" font-family=\"sans-serif\" text-anchor=\"middle\" fill=\"#777\">" + escaped(content) +
         "</text>\n";
}

std::string draw(const Fiducial& fiducial) {
  constexpr int cells = 6;
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50);
  cv::Mat1b marker;
  cv::aruco::drawMarker(dictionary, fiducial.id, cells, marker, 1);
  std::string out =
      rect(fiducial.x_mm, fiducial.y_mm, fiducial.size_mm, fiducial.size_mm, "fill=\"#000\"");
  const double cell = fiducial.size_mm / cells;
  for (int row = 0; row < cells; ++row) {
    for (int column = 0; column < cells; ++column) {
      if (marker(row, column) == 0) continue;
      out += rect(fiducial.x_mm + column * cell, fiducial.y_mm + row * cell, cell, cell,
                  "fill=\"#fff\"");
    }
  }
  return out;
}

// Ten millimetres with a tick at each.
std::string scale_bar(double x, double y) {
  std::string out = "<path d=\"M" + mm(x) + " " + mm(y) + "h10";
  for (int i = 0; i <= 10; ++i) {
    out += "M" + mm(x + i) + " " + mm(y) + "v" + mm(i % 5 == 0 ? -2.0 : -1.2);
  }
  return out + "\" stroke=\"#000\" stroke-width=\"0.1\" fill=\"none\"/>\n" +
         text(x + 24, y, 2, "10 mm: check with a ruler");
}

}  // namespace

CardLayout card_layout(const LayoutRequest& request) {
  check_range("number of patches", static_cast<double>(request.patches), 1, 200);
  check_range("patch_mm", request.patch_mm, 2, 30);
  check_range("fiducial_mm", request.fiducial_mm, 2, 30);
  check_range("bar_mm", request.bar_mm, 0, 100);
  check_range("opening_mm", request.opening_mm, 5, 200);
  const double patch = request.patch_mm;
  const double fiducial = request.fiducial_mm;
  const double bar = request.bar_mm;
  const std::size_t columns = (request.patches + 1) / 2;
  const std::size_t rows = request.patches > 1 ? 2 : 1;
  const double windows = static_cast<double>(columns) * (patch + gap_mm) - gap_mm;
  const double least = bar > 0 ? request.opening_mm + 2 * bar_width_mm : 0;
  const double width = std::max(windows + 2 * (2 * rim_mm + fiducial), least);
  const double inner = 3 * strip_mm + 2 * patch;
  const double block = std::max(inner, 3 * rim_mm + 2 * fiducial);

  CardLayout layout{.card = {.name = request.name,
                             .width_mm = width,
                             .height_mm = bar + block,
                             .fiducials = {},
                             .patches = {},
                             .white_areas = {},
                             .white_reflectance = {},
                             .white_lab = {},
                             .viewing = request.viewing,
                             .provenance = {}},
                    .opening = {}};
  Card& card = layout.card;
  const double right = width - rim_mm - fiducial;
  const double top = bar + rim_mm;
  const double low = bar + block - rim_mm - fiducial;
  card.fiducials = {Fiducial{0, rim_mm, top, fiducial}, Fiducial{1, right, top, fiducial},
                    Fiducial{2, right, low, fiducial}, Fiducial{3, rim_mm, low, fiducial}};
  const double x0 = (width - windows) / 2;
  const double y0 = bar + (block - inner) / 2;
  for (std::size_t i = 0; i < request.patches; ++i) {
    const auto column = static_cast<double>(i % columns);
    const auto row = static_cast<double>(i / columns);
    card.patches.push_back({.name = "p" + std::to_string(i + 1),
                            .x_mm = x0 + column * (patch + gap_mm),
                            .y_mm = y0 + strip_mm + row * (patch + strip_mm),
                            .width_mm = patch,
                            .height_mm = patch,
                            .neutral = false,
                            .lab = {},
                            .reflectance = {}});
  }
  // Fifteen samples or more: fewer do not tell an uneven light.
  const std::size_t pieces = std::max<std::size_t>(columns, 8);
  for (std::size_t strip = 0; strip <= rows; ++strip) {
    add_pieces(card, {x0, y0 + static_cast<double>(strip) * (patch + strip_mm), windows, strip_mm},
               pieces);
  }
  if (bar > 0) {
    const std::size_t along = std::max<std::size_t>(2, static_cast<std::size_t>(bar / 2.5));
    add_pieces(card, {0, 0, bar_width_mm, bar}, along);
    add_pieces(card, {width - bar_width_mm, 0, bar_width_mm, bar}, along);
    layout.opening = WhiteArea{bar_width_mm, 0, width - 2 * bar_width_mm, bar};
  }
  return layout;
}

std::string layout_svg(const CardLayout& layout) {
  const Card& card = layout.card;
  constexpr double margin = 6;
  constexpr double caption = 12;
  const double width = card.width_mm + 2 * margin;
  const double height = card.height_mm + 2 * margin + caption;
  std::string svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" + mm(width) +
                    "mm\" height=\"" + mm(height) + "mm\" viewBox=\"" + mm(-margin) + " " +
                    mm(-margin) + " " + mm(width) + " " + mm(height) + "\">\n<title>" +
                    escaped(card.name) + "</title>\n" +
                    rect(-margin, -margin, width, height, "fill=\"#fff\"");
  const std::string line = "fill=\"none\" stroke=\"#999\" stroke-width=\"0.1\"";
  svg += rect(0, 0, card.width_mm, card.height_mm, line);
  if (layout.opening) {
    const WhiteArea& o = *layout.opening;
    svg += rect(o.x_mm, o.y_mm, o.width_mm, o.height_mm, line + " stroke-dasharray=\"1 0.6\"");
    svg += text(o.x_mm + o.width_mm / 2, o.y_mm + o.height_mm / 2, 2, "cut out: teeth");
  }
  for (const Patch& p : card.patches) {
    svg += rect(p.x_mm, p.y_mm, p.width_mm, p.height_mm, line);
    svg += text(p.x_mm + p.width_mm / 2, p.y_mm + 0.6 * p.height_mm,
                0.35 * std::min(p.width_mm, p.height_mm), p.name);
  }
  for (const Fiducial& fiducial : card.fiducials) svg += draw(fiducial);
  svg += scale_bar(0, card.height_mm + margin);
  svg += text(card.width_mm / 2, card.height_mm + margin + 6, 2,
              card.name + ": print in true size on matt white, mount the patches, measure them");
  return svg + "</svg>\n";
}

}  // namespace mamelon
