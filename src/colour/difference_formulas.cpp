// The formulas beside CIEDE2000, and any of them over rows and tables.

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/parallel.h"
#include "colour/hue_difference.h"

namespace mamelon {
namespace {

using detail::degree;

double chroma(const Lab& lab) {
  return std::sqrt(lab.a * lab.a + lab.b * lab.b);
}

double hue_difference(const Lab& p, const Lab& q) {
  return detail::hue_difference(p.a, p.b, chroma(p), q.a, q.b, chroma(q));
}

double distance(double x, double y, double z) {
  return std::sqrt(x * x + y * y + z * z);
}

}  // namespace

double de94(const Lab& reference, const Lab& sample, const DifferenceWeights& weights,
            Application94 application) {
  const bool textiles = application == Application94::textiles;
  const double c1 = chroma(reference);
  const double sc = 1 + (textiles ? 0.048 : 0.045) * c1;
  const double sh = 1 + (textiles ? 0.014 : 0.015) * c1;
  return distance((sample.l - reference.l) / weights.kl, (chroma(sample) - c1) / (weights.kc * sc),
                  hue_difference(reference, sample) / (weights.kh * sh));
}

double de_cmc(const Lab& reference, const Lab& sample, double l, double c) {
  const double l1 = reference.l;
  const double c1 = chroma(reference);
  const double h1 = to_lch(reference).h_deg;
  const double sl = l1 < 16 ? 0.511 : 0.040975 * l1 / (1 + 0.01765 * l1);
  const double sc = 0.0638 * c1 / (1 + 0.0131 * c1) + 0.638;
  const double t = h1 >= 164 && h1 <= 345 ? 0.56 + std::fabs(0.2 * std::cos((h1 + 168) * degree))
                                          : 0.36 + std::fabs(0.4 * std::cos((h1 + 35) * degree));
  const double c4 = c1 * c1 * c1 * c1;
  const double f = std::sqrt(c4 / (c4 + 1900));
  const double sh = sc * (f * t + 1 - f);
  return distance((sample.l - l1) / (l * sl), (chroma(sample) - c1) / (c * sc),
                  hue_difference(reference, sample) / sh);
}

Din99o to_din99o(const Lab& lab) {
  constexpr double turn = 26 * degree;
  const double cosine = std::cos(turn);
  const double sine = std::sin(turn);
  const double e = cosine * lab.a + sine * lab.b;
  const double f = 0.83 * (cosine * lab.b - sine * lab.a);
  const double g = std::sqrt(e * e + f * f);
  // C/G, whose limit at grey is 0.075/0.0435.
  const double scale = g > 0 ? std::log1p(0.075 * g) / (0.0435 * g) : 0.075 / 0.0435;
  return {303.67 * std::log1p(0.0039 * lab.l), scale * (cosine * e - sine * f),
          scale * (sine * e + cosine * f)};
}

double de_din99o(const Lab& reference, const Lab& sample) {
  const Din99o p = to_din99o(reference);
  const Din99o q = to_din99o(sample);
  return distance(q.l - p.l, q.a - p.a, q.b - p.b);
}

double de_cam16(const Cam16Ucs& reference, const Cam16Ucs& sample) {
  return distance(sample.j - reference.j, sample.a - reference.a, sample.b - reference.b);
}

namespace {

using Difference = double (*)(const Lab&, const Lab&, const DifferenceWeights&);
struct Registered {
  std::string_view source;
  Difference difference;
};
constexpr std::array registered{
#define MAMELON_FORMULA(word, source, difference)                                                  \
  Registered{source, [](const Lab& a, const Lab& b, [[maybe_unused]] const DifferenceWeights& w) { \
               return difference;                                                                  \
             }},
    MAMELON_FORMULAS(MAMELON_FORMULA)
#undef MAMELON_FORMULA
};

}  // namespace

std::string_view source_of(Formula formula) {
  return registered.at(static_cast<std::size_t>(formula)).source;
}

double difference(const Lab& reference, const Lab& sample, const DifferenceFormula& formula) {
  return registered.at(static_cast<std::size_t>(formula.formula))
      .difference(reference, sample, formula.weights);
}

void difference_rows(std::span<const Lab> reference, std::span<const Lab> sample,
                     std::span<double> de, const DifferenceFormula& formula) {
  if (reference.size() != sample.size() || de.size() != sample.size())
    throw ArgumentError(
        "differences row by row need equally many references, samples and results, "
        "got " +
        std::to_string(reference.size()) + ", " + std::to_string(sample.size()) + " and " +
        std::to_string(de.size()));
  constexpr std::size_t chunk = 4096;
  detail::parallel_for(de.size(), chunk, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) de[i] = difference(reference[i], sample[i], formula);
  });
}

void difference_table(std::span<const Lab> rows, std::span<const Lab> columns, std::span<double> de,
                      const DifferenceFormula& formula) {
  if (de.size() != rows.size() * columns.size())
    throw ArgumentError("a table of differences of " + std::to_string(rows.size()) + " by " +
                        std::to_string(columns.size()) + " colours needs " +
                        std::to_string(rows.size() * columns.size()) + " results, got " +
                        std::to_string(de.size()));
  if (de.empty()) return;
  const std::size_t chunk = std::max<std::size_t>(1, 4096 / columns.size());
  detail::parallel_for(rows.size(), chunk, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i)
      for (std::size_t j = 0; j < columns.size(); ++j)
        de[i * columns.size() + j] = difference(rows[i], columns[j], formula);
  });
}

}  // namespace mamelon
