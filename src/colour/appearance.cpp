#include "mamelon/appearance.h"

#include <algorithm>
#include <limits>

#include "mamelon/error.h"

namespace mamelon {

Grade grade(double de00) {
  if (de00 <= threshold::perceptible_de00) return Grade::excellent;
  if (de00 <= threshold::acceptable_de00) return Grade::acceptable;
  if (de00 <= 2 * threshold::acceptable_de00) return Grade::moderate_mismatch;
  if (de00 <= 3 * threshold::acceptable_de00) return Grade::clear_mismatch;
  return Grade::extreme_mismatch;
}

std::string_view to_string(Grade grade) {
  switch (grade) {
    case Grade::excellent:
      return "excellent";
    case Grade::acceptable:
      return "acceptable";
    case Grade::moderate_mismatch:
      return "moderate mismatch";
    case Grade::clear_mismatch:
      return "clear mismatch";
    case Grade::extreme_mismatch:
      break;
  }
  return "extreme mismatch";
}

double translucency_ab(const Lab& over_white, const Lab& over_black) {
  return de76(over_black, over_white);
}

double translucency_00(const Lab& over_white, const Lab& over_black,
                       const DifferenceWeights& weights) {
  return de00(over_black, over_white, weights);
}

double contrast_ratio(double y_over_black, double y_over_white) {
  if (!(y_over_black >= 0) || !(y_over_white > 0))
    throw ArgumentError(
        "a contrast ratio needs Y over black of 0 or more and Y over white above 0");
  return y_over_black / y_over_white;
}

double coverage_error(std::span<const Lab> teeth, std::span<const Lab> tabs,
                      const DifferenceWeights& weights) {
  if (teeth.empty() || tabs.empty())
    throw ArgumentError("a coverage error needs at least one tooth and one tab");
  double sum = 0;
  for (const Lab& tooth : teeth) {
    double least = std::numeric_limits<double>::infinity();
    for (const Lab& tab : tabs) least = std::min(least, de00(tooth, tab, weights));
    sum += least;
  }
  return sum / static_cast<double>(teeth.size());
}

}  // namespace mamelon
