#include "shade/coverage.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <tuple>

#include "mamelon/appearance.h"
#include "mamelon/batch.h"

#include "shade/bootstrap.h"
#include "shade/sample.h"

namespace mamelon::detail {
namespace {

// What the mean over teeth of the nearest distance, and the shares within the thresholds, would be
// without the error of the readings: one figure a tooth.
struct PerTooth {
  std::vector<double> de00;
  std::vector<double> perceptible;
  std::vector<double> acceptable;
};

PerTooth nearest_of(const std::vector<double>& least) {
  PerTooth near{least, {}, {}};
  for (const double de : least) {
    near.perceptible.push_back(de <= threshold::perceptible_de00 ? 1 : 0);
    near.acceptable.push_back(de <= threshold::acceptable_de00 ? 1 : 0);
  }
  return near;
}

// The error is added once and twice more; a parabola through no, one and two additions is followed
// back to where there would be none: 3 f(0) − 3 f(1) + f(2).
PerTooth without_noise(const std::vector<double>& least, const TabSet& tabs,
                       const Population& population, const AuditOptions& options) {
  PerTooth near = nearest_of(least);
  if (population.reading_error == Mat3{}) return near;
  constexpr std::size_t rounds = 16;
  constexpr std::array<double, 3> factor{3, -3, 1};
  const Mat3 root = lower_root(population.reading_error);
  for (auto* values : {&near.de00, &near.perceptible, &near.acceptable})
    for (double& v : *values) v *= factor[0];
  for (std::size_t pair = 0; pair < rounds / 2; ++pair) {
    Generator random(stream_seed(options.seed, std::uint64_t{pair} << 32U));
    std::vector<Vec3> errors(least.size());
    for (Vec3& error : errors) {
      const double x = random.normal();
      const double y = random.normal();
      error = multiply(root, Vec3{x, y, random.normal()});
    }
    // Of the two rounds of a pair one has the errors of the other, turned round.
    for (const double sign : {1.0, -1.0})
      for (std::size_t times = 1; times <= 2; ++times) {
        const double size = sign * std::sqrt(static_cast<double>(times));
        std::vector<Lab> teeth = population.teeth;
        for (std::size_t i = 0; i < teeth.size(); ++i)
          teeth[i] = {teeth[i].l + size * errors[i][0], teeth[i].a + size * errors[i][1],
                      teeth[i].b + size * errors[i][2]};
        const PerTooth moved = nearest_of(nearest_distances(tabs, teeth, options.weights));
        const double share = factor[times] / static_cast<double>(rounds);
        for (std::size_t i = 0; i < teeth.size(); ++i) {
          near.de00[i] += share * moved.de00[i];
          near.perceptible[i] += share * moved.perceptible[i];
          near.acceptable[i] += share * moved.acceptable[i];
        }
      }
  }
  return near;
}

double mean_of(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

}  // namespace

std::vector<double> nearest_distances(const TabSet& tabs, const std::vector<Lab>& teeth,
                                      const DifferenceWeights& weights) {
  std::vector<double> of_tabs, of_teeth;
  for (const Tab& tab : tabs.tabs)
    of_tabs.insert(of_tabs.end(), {tab.lab.value.l, tab.lab.value.a, tab.lab.value.b});
  of_teeth.reserve(3 * teeth.size());
  for (const Lab& tooth : teeth) of_teeth.insert(of_teeth.end(), {tooth.l, tooth.a, tooth.b});
  std::vector<std::uint32_t> index(teeth.size());
  std::vector<double> least(teeth.size());
  nearest_rows<double>(LabRows<double>::interleaved(of_teeth),
                       LabRows<double>::interleaved(of_tabs), index, least, {.weights = weights});
  return least;
}

Coverage coverage(const TabSet& tabs, const Population& population,
                  const std::vector<double>& least, const AuditOptions& options) {
  const PerTooth near = without_noise(least, tabs, population, options);
  Coverage coverage;
  coverage.error_de00 = std::max(0.0, mean_of(near.de00));
  coverage.noise_de00 = mean_of(least) - coverage.error_de00;
  coverage.share_perceptible = std::clamp(mean_of(near.perceptible), 0.0, 1.0);
  coverage.share_acceptable = std::clamp(mean_of(near.acceptable), 0.0, 1.0);
  coverage.worst_de00 = *std::max_element(least.begin(), least.end());
  if (options.bootstrap == 0) {
    coverage.low = coverage.high = coverage.error_de00;
    return coverage;
  }
  std::tie(coverage.low, coverage.high) =
      interval_of_mean(near.de00, options.bootstrap, options.seed);
  coverage.low = std::max(coverage.low, 0.0);
  return coverage;
}

}  // namespace mamelon::detail
