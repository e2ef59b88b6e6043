#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "base/numbers.h"
#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon::detail {
namespace {

struct Point {
  double x = 0;
  double y = 0;
  PlotMark mark = PlotMark::tab;
  std::string fill;
  std::string name;                // empty: not labelled
  std::array<double, 3> spread{};  // variance of x, covariance, variance of y; zeros: no ellipse
};

class Axes {
 public:
  Axes(const std::vector<Point>& points, double width, double height)
      : width_(width), height_(height) {
    low_ = {points.front().x, points.front().y};
    high_ = low_;
    for (const Point& p : points) {
      low_ = {std::min(low_[0], p.x), std::min(low_[1], p.y)};
      high_ = {std::max(high_[0], p.x), std::max(high_[1], p.y)};
    }
    for (std::size_t i = 0; i < 2; ++i) {
      const double margin = std::max(1.0, 0.1 * (high_[i] - low_[i]));
      low_[i] -= margin;
      high_[i] += margin;
    }
  }
  [[nodiscard]] double x(double value) const {
    return left + (value - low_[0]) / (high_[0] - low_[0]) * (width_ - left - 8);
  }
  [[nodiscard]] double y(double value) const {
    return height_ - bottom - (value - low_[1]) / (high_[1] - low_[1]) * (height_ - bottom - 8);
  }
  // Grid lines with their numbers, and the axes' names.
  [[nodiscard]] std::string drawn(const std::string& x_name, const std::string& y_name) const;
  [[nodiscard]] double unit_x() const { return x(1) - x(0); }
  [[nodiscard]] double unit_y() const { return y(0) - y(1); }

 private:
  static constexpr double left = 40;
  static constexpr double bottom = 38;
  static double step_of(double range) {
    for (const double step : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0}) {
      if (range / step <= 6) return step;
    }
    return 100;
  }
  double width_, height_;
  std::array<double, 2> low_{}, high_{};
};

std::string px(double value) {
  return format_fixed(value, 1);
}

// The multiples of `step` from `low` to `high`.
std::vector<double> ticks(double low, double high, double step) {
  std::vector<double> at;
  const auto last = static_cast<int>(std::floor(high / step));
  for (int n = static_cast<int>(std::ceil(low / step)); n <= last; ++n) at.push_back(n * step);
  return at;
}

std::string Axes::drawn(const std::string& x_name, const std::string& y_name) const {
  std::string out;
  const auto line = [&](double x1, double y1, double x2, double y2) {
    out += "<line x1=" + px(x1) + " y1=" + px(y1) + " x2=" + px(x2) + " y2=" + px(y2) +
           " stroke=\"var(--line)\" />";
  };
  for (const double v : ticks(low_[0], high_[0], step_of(high_[0] - low_[0]))) {
    line(x(v), 8, x(v), height_ - bottom);
    out += "<text class=soft font-size=12 text-anchor=middle x=" + px(x(v)) +
           " y=" + px(height_ - bottom + 15) + ">" + number_text(v, 0) + "</text>";
  }
  for (const double v : ticks(low_[1], high_[1], step_of(high_[1] - low_[1]))) {
    line(left, y(v), width_ - 8, y(v));
    out += "<text class=soft font-size=12 text-anchor=end x=" + px(left - 6) +
           " y=" + px(y(v) + 4) + ">" + number_text(v, 0) + "</text>";
  }
  out += "<text font-size=13 text-anchor=end x=" + px(width_ - 8) + " y=" + px(height_ - 6) + ">" +
         x_name + " →</text><text font-size=13 x=2 y=" + px(height_ - 6) + ">↑ " + y_name +
         "</text>";
  return out;
}

std::string drawn(const Point& point, const Axes& axes) {
  const double x = axes.x(point.x);
  const double y = axes.y(point.y);
  const std::string look = " fill=\"" + point.fill + "\" stroke=\"var(--ink)\" stroke-width=";
  switch (point.mark) {
    case PlotMark::tooth:
      return "<circle cx=" + px(x) + " cy=" + px(y) + " r=1.6 fill=\"var(--soft)\" opacity=.45 />";
    case PlotMark::tab:
      return "<rect x=" + px(x - 6) + " y=" + px(y - 6) + " width=12 height=12" + look + "1 />";
    case PlotMark::reading:
      return "<circle cx=" + px(x) + " cy=" + px(y) + " r=8" + look + "2.5 />";
    case PlotMark::gap:
      return "<path d=\"M" + px(x - 8) + " " + px(y - 8) +
             "l16 16m0 -16l-16 16\" fill=none "
             "stroke=\"var(--warn)\" stroke-width=3 />";
    case PlotMark::predicted:
      break;
  }
  return "<path d=\"M" + px(x) + " " + px(y - 9) + "L" + px(x + 9) + " " + px(y) + "L" + px(x) +
         " " + px(y + 9) + "L" + px(x - 9) + " " + px(y) + "Z\"" + look + "2.5 />";
}

struct Box {
  double x0, y0, x1, y1;
  [[nodiscard]] bool meets(const Box& other) const {
    return x0 < other.x1 && other.x0 < x1 && y0 < other.y1 && other.y0 < y1;
  }
};

// The region of two coordinates that holds the truth with a chance of 95 %: χ² with two degrees of
// freedom.
std::string ellipse_drawn(const Point& point, const Axes& axes) {
  constexpr double chi_square = 5.991464547107979;
  const double xx = chi_square * point.spread[0] * axes.unit_x() * axes.unit_x();
  const double yy = chi_square * point.spread[2] * axes.unit_y() * axes.unit_y();
  // The page's y runs downward.
  const double xy = -chi_square * point.spread[1] * axes.unit_x() * axes.unit_y();
  if (!(xx + yy > 0)) return {};
  const double mean = (xx + yy) / 2;
  const double half = std::hypot((xx - yy) / 2, xy);
  const double turn_deg = std::atan2(xy, (xx - yy) / 2) / 2 * 180 / std::numbers::pi;
  return "<ellipse cx=" + px(axes.x(point.x)) + " cy=" + px(axes.y(point.y)) +
         " rx=" + px(std::sqrt(mean + half)) + " ry=" + px(std::sqrt(std::max(0.0, mean - half))) +
         " transform=\"rotate(" + px(turn_deg) + " " + px(axes.x(point.x)) + " " +
         px(axes.y(point.y)) +
         ")\" fill=none stroke=\"var(--ink)\" stroke-width=1.2 stroke-dasharray=\"4 3\" />";
}

// Names beside their points, at the first of four places that is free.
std::string names_drawn(const std::vector<Point>& points, const Axes& axes, double width,
                        double height) {
  std::vector<Box> taken;
  for (const Point& p : points) {
    if (p.mark == PlotMark::tooth) continue;
    taken.push_back({axes.x(p.x) - 8, axes.y(p.y) - 8, axes.x(p.x) + 8, axes.y(p.y) + 8});
  }
  std::string out;
  for (auto p = points.rbegin(); p != points.rend(); ++p) {
    if (p->name.empty()) continue;
    const double x = axes.x(p->x);
    const double y = axes.y(p->y);
    const double length = 7.2 * static_cast<double>(std::min<std::size_t>(p->name.size(), 16));
    const std::array<Box, 4> places = {Box{x + 11, y - 7, x + 11 + length, y + 7},
                                       Box{x - 11 - length, y - 7, x - 11, y + 7},
                                       Box{x - length / 2, y - 24, x + length / 2, y - 10},
                                       Box{x - length / 2, y + 10, x + length / 2, y + 24}};
    const auto free = std::find_if(places.begin(), places.end(), [&](const Box& place) {
      return place.x0 > 40 && place.x1 < width && place.y0 > 0 && place.y1 < height - 38 &&
             std::none_of(taken.begin(), taken.end(),
                          [&](const Box& box) { return box.meets(place); });
    });
    // A tab without room for its name still stands in the table.
    if (free == places.end()) continue;
    taken.push_back(*free);
    out += "<text font-size=13 x=" + px(free->x0) + " y=" + px(free->y1 - 3) +
           (p->mark == PlotMark::tab ? ">" : " font-weight=650>") + escaped(p->name, 16) +
           "</text>";
  }
  return out;
}

std::string plot(const std::vector<Point>& points, const std::string& x_name,
                 const std::string& y_name, const std::string& description) {
  constexpr double width = 340;
  constexpr double height = 300;
  const Axes axes(points, width, height);
  std::string out = "<svg role=img viewBox=\"0 0 340 300\" width=340 height=300 aria-label=\"" +
                    description + "\">" + axes.drawn(x_name, y_name);
  for (const Point& point : points) out += ellipse_drawn(point, axes) + drawn(point, axes);
  return out + names_drawn(points, axes, width, height) + "</svg>";
}

}  // namespace

std::string colour_plots(const std::vector<PlotColour>& colours, const Viewing& viewing,
                         std::string_view caption) {
  if (colours.empty()) return {};
  std::vector<Point> ab;
  std::vector<Point> lc;
  for (const PlotColour& colour : colours) {
    const std::string fill = swatch_of(colour.lab, viewing).hex;
    const double c = to_lch(colour.lab).c;
    const Mat3& v = colour.covariance;
    ab.push_back(
        {colour.lab.a, colour.lab.b, colour.mark, fill, colour.name, {v[1][1], v[1][2], v[2][2]}});
    // C* has no direction at the neutral axis, and there no ellipse.
    const double cos_h = c > 0 ? colour.lab.a / c : 0;
    const double sin_h = c > 0 ? colour.lab.b / c : 0;
    lc.push_back({c,
                  colour.lab.l,
                  colour.mark,
                  fill,
                  colour.name,
                  {cos_h * cos_h * v[1][1] + 2 * cos_h * sin_h * v[1][2] + sin_h * sin_h * v[2][2],
                   cos_h * v[0][1] + sin_h * v[0][2], v[0][0]}});
  }
  return "<figure class=plots><div>" +
         plot(ab, "a*", "b*", "a-star against b-star: " + escaped(caption, 400)) +
         plot(lc, "C*", "L*", "lightness against chroma: " + escaped(caption, 400)) +
         "</div><figcaption>" + escaped(caption, 400) + "</figcaption></figure>";
}

std::string colour_plots(const Report& report) {
  std::vector<PlotColour> colours;
  if (report.tabs) {
    std::vector<std::string> near;
    for (const ToothReport& tooth : report.teeth) {
      for (const Match& match : tooth.matches) {
        for (std::size_t k = 0; k < std::min<std::size_t>(3, match.ranked.size()); ++k) {
          near.push_back(match.ranked[k].tab);
        }
      }
    }
    for (const Tab& tab : report.tabs->tabs) {
      const bool named = std::find(near.begin(), near.end(), tab.name) != near.end();
      colours.push_back({tab.lab.value, PlotMark::tab, named ? tab.name : "", Mat3{}});
    }
  }
  std::size_t left = 40;  // readings
  for (const ToothReport& tooth : report.teeth) {
    for (const Reading& reading : tooth.readings) {
      if (left == 0) break;
      --left;
      colours.push_back(
          {reading.lab.value, PlotMark::reading, zone_name(reading), reading.lab.covariance()});
    }
  }
  const Plan* best = report.first().best();
  if (best != nullptr && !best->predicted.empty()) {
    colours.push_back({best->predicted.front().lab, PlotMark::predicted, "plan", Mat3{}});
  }
  return colour_plots(colours, report.viewing,
                      std::string("Circles: the tooth, with its 95 % region (dashed). Squares: "
                                  "tabs.") +
                          (best != nullptr ? " Diamond: the plan's prediction." : "") +
                          " Left plot: up is yellower, right is redder. Right plot: up is "
                          "lighter, right is more chromatic.");
}

}  // namespace mamelon::detail
