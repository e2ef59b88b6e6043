#pragma once
// The parts of the sheet that are drawings. Each returns HTML or SVG.

#include <string>
#include <string_view>
#include <vector>

#include "mamelon/files.h"

namespace mamelon::detail {

// The style of every sheet: one page, light and dark, screen and print.
std::string_view sheet_style();

// The crop of the photo with the zones outlined and named; empty without a photo.
std::string photo_figure(const Report& report);

// The nearest tab over the tooth, square by square; empty without a photo.
std::string shade_map(const Report& report);

// A colour in the plots; a name is drawn where there is room for it, the 95 % region where the
// covariance is not zero.
enum class PlotMark { tooth, tab, reading, predicted, gap };
struct PlotColour {
  Lab lab;
  PlotMark mark = PlotMark::tab;
  std::string name;
  Mat3 covariance{};
};
// a* against b* and L* against C*, in the order given.
std::string colour_plots(const std::vector<PlotColour>& colours, const Viewing& viewing,
                         std::string_view caption);
// Tabs, readings and prediction of a report.
std::string colour_plots(const Report& report);

// How far each tab has gone since the earlier set, against the thresholds.
std::string drift_chart(const Drift& drift, const Viewing& viewing);

// The layers to scale with their steps numbered from the floor outward.
std::string layer_section(const Plan& plan, double depth_mm);

// The page for the chair: one warning, what to fill in, section, steps, the plans as good.
std::string chair_card(const Report& report, const Plan& plan);

// Says that what follows is of invented tabs or pastes.
std::string invented_mark();

// What every sheet begins and ends with. `kind` says in a line what the sheet is.
std::string sheet_begin(std::string_view title, std::string_view kind);
std::string sheet_end(std::string_view digest);
// Items as a list.
std::string bullets(const std::vector<std::string>& items);

// Two colours that touch, with a neutral grey around them.
std::string swatch_pair(const Lab& left, const Lab& right, const Viewing& viewing,
                        std::string_view description);
std::string swatch_single(const Lab& lab, const Viewing& viewing, std::string_view description);

}  // namespace mamelon::detail
