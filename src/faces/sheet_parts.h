#pragma once
// The parts of the sheet that are drawings. Each returns HTML or SVG.

#include <string>
#include <string_view>

#include "mamelon/files.h"

namespace mamelon::detail {

// The style of every sheet: one page, light and dark, screen and print.
std::string_view sheet_style();

// The crop of the photo with the zones outlined and named; empty without a photo.
std::string photo_figure(const Report& report);

// a* against b* and L* against C*: tabs, readings, prediction.
std::string colour_plots(const Report& report);

// The layers to scale with their increments numbered from the floor outward.
std::string layer_section(const Plan& plan, double depth_mm);

// Two colours that touch, with a neutral grey around them.
std::string swatch_pair(const Lab& left, const Lab& right, const Viewing& viewing,
                        std::string_view description);
std::string swatch_single(const Lab& lab, const Viewing& viewing, std::string_view description);

}  // namespace mamelon::detail
