// The drawings of the sheets, read back as numbers.

#include <cmath>
#include <numbers>
#include <regex>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "sheet/html.h"
#include "sheet/sheet_parts.h"

namespace mamelon {
namespace {

using testing::HasSubstr;

const Viewing d65{standard_illuminant("D65"), Observer::deg2};

double number_after(const std::string& text, const std::string& key, std::size_t from = 0) {
  const std::size_t at = text.find(key, from);
  EXPECT_NE(at, std::string::npos) << key;
  return std::stod(text.substr(at + key.size()));
}

// χ² with two degrees of freedom at 95 % is −2 ln 0.05 (computed from the formula).
TEST(ColourPlots, TheRegionOfAReadingHasTheAxesOfItsCovariance) {
  const std::vector<detail::PlotColour> colours = {
      {{70, 2, 15}, detail::PlotMark::reading, "tooth", diagonal({0.49, 0.25, 1.0})},
      {{60, -2, 9}, detail::PlotMark::tab, "reed", Mat3{}}};
  const std::string drawn = detail::colour_plots(colours, d65, "caption");
  const std::size_t ellipse = drawn.find("<ellipse");
  ASSERT_NE(ellipse, std::string::npos);
  // a* spans 4 and one margin of 1 at either end over 292 px; b* spans 6 and the same over 254.
  const double factor = std::sqrt(-2 * std::log(0.05));
  const double along_a = factor * 0.5 * 292 / 6;
  const double along_b = factor * 1.0 * 254 / 8;
  EXPECT_NEAR(number_after(drawn, "rx=", ellipse), along_b, 0.06);
  EXPECT_NEAR(number_after(drawn, "ry=", ellipse), along_a, 0.06);
  EXPECT_NEAR(std::abs(number_after(drawn, "rotate(", ellipse)), 90, 0.06);
  // One in each plane, none for the tab without a covariance.
  const std::regex drawn_ellipse("<ellipse");
  EXPECT_EQ(std::distance(std::sregex_iterator(drawn.begin(), drawn.end(), drawn_ellipse),
                          std::sregex_iterator()),
            2);
}

TEST(ColourPlots, ARegionThatRunsUpAndRightIsDrawnSo) {
  Mat3 covariance = diagonal({0.1, 1.0, 1.0});
  covariance[1][2] = covariance[2][1] = 0.9;
  const std::string drawn = detail::colour_plots(
      {{{70, 2, 15}, detail::PlotMark::reading, "tooth", covariance}}, d65, "caption");
  // On a page whose y runs downward, up and right is a negative turn.
  EXPECT_LT(number_after(drawn, "rotate("), -20);
  EXPECT_GT(number_after(drawn, "rotate("), -70);
}

TEST(DriftChart, BarsAreAsLongAsTheChangeAndSayWhatItMeans) {
  Drift drift;
  drift.tabs = {{.tab = "flax<",
                 .de00 = 0.9,
                 .difference = {-0.8, 0.1, 0.4},
                 .p_value = 1e-6,
                 .verdict = DriftVerdict::drifted_visibly},
                {.tab = "oat",
                 .de00 = 1.8,
                 .difference = {1, 0, 0},
                 .p_value = 0.3,
                 .verdict = DriftVerdict::steady}};
  const std::string drawn = detail::drift_chart(drift, d65);
  EXPECT_THAT(drawn, HasSubstr("flax&lt;"));
  EXPECT_EQ(detail::shift_text(drift.tabs[0].difference), "ΔL* −0.80, Δa* +0.10, Δb* +0.40");
  const std::size_t first = drawn.find("<rect");
  const std::size_t second = drawn.find("<rect", first + 1);
  ASSERT_NE(second, std::string::npos);
  const double length = number_after(drawn, "width=", first);
  EXPECT_NEAR(number_after(drawn, "width=", second), 2 * length, 0.11);
  // The bar of 1.8 ends at the acceptability line.
  const std::size_t line = drawn.find("<line", drawn.find("<line") + 1);
  EXPECT_NEAR(number_after(drawn, "x1=", line), 120 + 2 * length, 0.11);
  EXPECT_THAT(drawn.substr(first, second - first), HasSubstr("--warn"));
  EXPECT_EQ(drawn.find("--warn", second), std::string::npos);
}

}  // namespace
}  // namespace mamelon
