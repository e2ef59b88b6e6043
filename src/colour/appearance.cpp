#include "mamelon/appearance.h"

#include <algorithm>
#include <limits>

#include "mamelon/error.h"

namespace mamelon {

namespace {

Grade graded(double difference, double perceptible, double acceptable) {
  if (difference <= perceptible) return Grade::excellent;
  if (difference <= acceptable) return Grade::acceptable;
  if (difference <= 2 * acceptable) return Grade::moderate_mismatch;
  if (difference <= 3 * acceptable) return Grade::clear_mismatch;
  return Grade::extreme_mismatch;
}

struct YellownessConstants {
  std::string_view illuminant;
  Observer observer;
  double cx;
  double cz;
};

// ASTM E313, table 1. Each pair makes the index of the white 0: Cx Xn = Cz Zn.
constexpr YellownessConstants yellowness_constants[] = {
    {"C", Observer::deg2, 1.2769, 1.0592},
    {"D65", Observer::deg2, 1.2985, 1.1335},
    {"C", Observer::deg10, 1.2871, 1.0781},
    {"D65", Observer::deg10, 1.3013, 1.1498},
};

}  // namespace

Grade grade(double de00) {
  return graded(de00, threshold::perceptible_de00, threshold::acceptable_de00);
}

Grade grade_76(double de76) {
  return graded(de76, threshold::perceptible_de76, threshold::acceptable_de76);
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

double mcdm(std::span<const Lab> repeats, const DifferenceFormula& formula) {
  if (repeats.empty()) throw ArgumentError("a mean colour difference from the mean needs a colour");
  const double n = static_cast<double>(repeats.size());
  Lab mean;
  for (const Lab& lab : repeats) {
    mean.l += lab.l / n;
    mean.a += lab.a / n;
    mean.b += lab.b / n;
  }
  double sum = 0;
  for (const Lab& lab : repeats) sum += difference(mean, lab, formula);
  return sum / n;
}

double whiteness_index_dentistry(const Lab& lab) {
  return 0.511 * lab.l - 2.324 * lab.a - 1.100 * lab.b;
}

double yellowness_e313(const Xyz& xyz, const Viewing& viewing) {
  if (!(xyz.y > 0)) throw ArgumentError("a yellowness index needs Y above 0");
  for (const YellownessConstants& row : yellowness_constants)
    if (viewing.observer == row.observer &&
        viewing.illuminant == standard_illuminant(row.illuminant))
      return 100 * (row.cx * xyz.x - row.cz * xyz.z) / xyz.y;
  throw ArgumentError("ASTM E313 gives yellowness under C/2, C/10, D65/2 and D65/10, not under " +
                      to_string(viewing));
}

}  // namespace mamelon
