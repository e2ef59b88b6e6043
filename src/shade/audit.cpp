#include "mamelon/audit.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "mamelon/appearance.h"

#include "base/listing.h"
#include "base/numbers.h"
#include "base/sha256.h"
#include "shade/content.h"
#include "shade/coverage.h"
#include "shade/pair_metric.h"
#include "shade/sample.h"
#include "shade/tooth_distances.h"

namespace mamelon {
namespace {

// Candidates for a new tab, and teeth that gaps and the new tab are looked for among: as many as
// this, evenly taken from a larger population. A share of 10 000 teeth has a standard error of half
// a per cent at the most, and the table of both takes 120 MB.
constexpr std::size_t most_candidates = 1500;
constexpr std::size_t most_teeth = 10'000;

void fill_pairs(const TabSet& tabs, const AuditOptions& options, Audit& result) {
  const std::size_t count = tabs.tabs.size();
  constexpr std::size_t draws = 4096;
  const detail::NormalSample sample(draws, options.seed);
  std::vector<std::size_t> nearest(count, count);
  std::vector<double> least(count, std::numeric_limits<double>::infinity());
  for (std::size_t i = 0; i < count; ++i)
    for (std::size_t j = i + 1; j < count; ++j) {
      const Tab& one = tabs.tabs[i];
      const Tab& two = tabs.tabs[j];
      const double de = de00(one.lab.value, two.lab.value, options.weights);
      for (const auto& [p, q] : {std::pair{i, j}, {j, i}})
        if (de < least[p]) {
          least[p] = de;
          nearest[p] = q;
        }
      if (de > threshold::perceptible_de00) continue;
      // The shared error moves both alike; only their own errors tell them apart.
      const auto errors = sample.draw(add(one.lab.random, two.lab.random),
                                      std::min(one.lab.dof, two.lab.dof), i * count + j);
      double within = 0;
      for (std::size_t k = 0; k < draws; ++k) {
        const Lab moved{one.lab.value.l + errors.x[k], one.lab.value.a + errors.y[k],
                        one.lab.value.b + errors.z[k]};
        within += de00(moved, two.lab.value, options.weights) <= threshold::perceptible_de00;
      }
      result.redundant.push_back({one.name, two.name, de, within / static_cast<double>(draws)});
    }
  for (std::size_t i = 0; i < count; ++i)
    result.neighbours.push_back(
        nearest[i] == count ? Neighbour{tabs.tabs[i].name, "", 0}
                            : Neighbour{tabs.tabs[i].name, tabs.tabs[nearest[i]].name, least[i]});
  std::stable_sort(result.redundant.begin(), result.redundant.end(),
                   [](const auto& p, const auto& q) { return p.de00 < q.de00; });
}

template <class Key>
std::vector<std::string> names_by(const TabSet& tabs, const Key& key) {
  std::vector<const Tab*> order;
  order.reserve(tabs.tabs.size());
  for (const Tab& tab : tabs.tabs) order.push_back(&tab);
  std::stable_sort(order.begin(), order.end(),
                   [&](const Tab* p, const Tab* q) { return key(*p) < key(*q); });
  std::vector<std::string> names;
  for (const Tab* tab : order) names.push_back(tab->name);
  return names;
}

// Candidates and their ΔE00 to every tooth.
struct Candidates {
  std::vector<Lab> labs;
  std::vector<double> de00;  // candidate-major
};
Candidates candidates_of(const std::vector<Lab>& teeth, const DifferenceWeights& weights) {
  Candidates candidates;
  for (const std::size_t i : detail::evenly_taken(teeth.size(), most_candidates)) {
    candidates.labs.push_back(teeth[i]);
  }
  candidates.de00 = detail::tooth_distances(candidates.labs, teeth, weights);
  return candidates;
}

// Greedy cover of the teeth that no tab serves: each gap takes its teeth away from the next.
void fill_gaps(const TabSet& tabs, const Candidates& candidates, std::vector<double> least,
               const DifferenceWeights& weights, Audit& result) {
  constexpr double smallest_share = 0.01;
  const std::size_t teeth = least.size();
  for (;;) {
    std::size_t best = 0;
    std::size_t most = 0;
    for (std::size_t c = 0; c < candidates.labs.size(); ++c) {
      std::size_t served = 0;
      for (std::size_t i = 0; i < teeth; ++i)
        served += least[i] > threshold::acceptable_de00 &&
                          candidates.de00[c * teeth + i] <= threshold::acceptable_de00
                      ? 1U
                      : 0U;
      if (served > most) {
        most = served;
        best = c;
      }
    }
    const double share = static_cast<double>(most) / static_cast<double>(teeth);
    if (most == 0 || share < smallest_share) return;
    Gap gap{candidates.labs[best], share, {}, std::numeric_limits<double>::infinity()};
    for (const Tab& tab : tabs.tabs) {
      const double de = de00(tab.lab.value, gap.centre, weights);
      if (de < gap.de00) {
        gap.de00 = de;
        gap.nearest = tab.name;
      }
    }
    result.gaps.push_back(std::move(gap));
    for (std::size_t i = 0; i < teeth; ++i)
      least[i] = std::min(least[i], candidates.de00[best * teeth + i]);
  }
}

double error_with(const Lab& extra, const std::vector<Lab>& teeth, const std::vector<double>& least,
                  const DifferenceWeights& weights) {
  double sum = 0;
  for (std::size_t i = 0; i < teeth.size(); ++i)
    sum += std::min(least[i], de00(teeth[i], extra, weights));
  return sum / static_cast<double>(teeth.size());
}

// The best of the candidates, then steps along the axes, halved until they no longer help: the
// best place need not be where a tooth of the sample is.
ExtraTab best_extra(const Candidates& candidates, const std::vector<Lab>& teeth,
                    const std::vector<double>& least, const DifferenceWeights& weights) {
  ExtraTab best{{}, std::numeric_limits<double>::infinity()};
  for (std::size_t c = 0; c < candidates.labs.size(); ++c) {
    double sum = 0;
    for (std::size_t i = 0; i < teeth.size(); ++i)
      sum += std::min(least[i], candidates.de00[c * teeth.size() + i]);
    const double error = sum / static_cast<double>(teeth.size());
    if (error < best.error_de00) best = {candidates.labs[c], error};
  }
  for (double step = 0.5; step > 0.02;) {
    bool better = false;
    for (const Vec3& move : {Vec3{step, 0, 0}, Vec3{-step, 0, 0}, Vec3{0, step, 0},
                             Vec3{0, -step, 0}, Vec3{0, 0, step}, Vec3{0, 0, -step}}) {
      const Lab tried{best.lab.l + move[0], best.lab.a + move[1], best.lab.b + move[2]};
      const double error = error_with(tried, teeth, least, weights);
      if (error < best.error_de00) {
        best = {tried, error};
        better = true;
      }
    }
    if (!better) step /= 2;
  }
  return best;
}

std::string digest_of(const Population& population) {
  detail::Sha256 sum;
  const auto take = [&sum](const std::string& text) { sum.take(std::as_bytes(std::span(text))); };
  take(population.name + "\n");
  // Of a generated population the numbers are computed: their last digits tell nothing.
  const auto number = [&](double value) {
    return population.generated ? detail::format_short(value, 9) : detail::format_number(value);
  };
  for (const Lab& lab : population.teeth)
    take(number(lab.l) + " " + number(lab.a) + " " + number(lab.b) + "\n");
  return sum.hex();
}

}  // namespace

Audit audit(const TabSet& tabs, const Population& population, const AuditOptions& options) {
  check_tab_set(tabs);
  check_same_viewing(population.viewing, tabs.viewing, "the population against the tab set");
  if (population.teeth.empty()) throw ArgumentError("the population has no teeth");

  Audit result;
  fill_pairs(tabs, options, result);
  result.by_lightness = names_by(tabs, [](const Tab& tab) { return -tab.lab.value.l; });
  result.by_chroma = names_by(tabs, [](const Tab& tab) { return to_lch(tab.lab.value).c; });

  const std::vector<Lab>& teeth = population.teeth;
  const std::vector<double> least = detail::nearest_distances(tabs, teeth, options.weights);
  result.coverage = detail::coverage(tabs, population, least, options);
  std::vector<Lab> some;
  std::vector<double> least_of_some;
  for (const std::size_t i : detail::evenly_taken(teeth.size(), most_teeth)) {
    some.push_back(teeth[i]);
    least_of_some.push_back(least[i]);
  }
  const Candidates candidates = candidates_of(some, options.weights);
  fill_gaps(tabs, candidates, least_of_some, options.weights, result);
  result.extra_tab = best_extra(candidates, some, least_of_some, options.weights);
  if (some.size() < teeth.size()) {
    result.extra_tab.error_de00 = error_with(result.extra_tab.lab, teeth, least, options.weights);
    result.warnings.push_back("gaps and the extra tab were looked for among " +
                              std::to_string(some.size()) + " of the " +
                              std::to_string(teeth.size()) + " teeth, evenly taken");
  }
  // The readings' own error adds to both alike.
  const double measured = result.coverage.error_de00 + result.coverage.noise_de00;
  if (measured > 0) result.extra_tab.error_de00 *= result.coverage.error_de00 / measured;

  result.population = population.name;
  result.population_note = population.note;
  if (population.generated)
    result.warnings.push_back("coverage is held against a generated population: " +
                              population.note);
  if (teeth.size() < 30)
    result.warnings.push_back("the population has " +
                              detail::counted(teeth.size(), "tooth", "teeth") +
                              " only: the bootstrap interval is too narrow below about 30");
  result.provenance = make_provenance(
      "audit",
      "bootstrap=" + std::to_string(options.bootstrap) + " seed=" + std::to_string(options.seed) +
          " weights=" + detail::format_number(options.weights.kl) + ":" +
          detail::format_number(options.weights.kc) + ":" +
          detail::format_number(options.weights.kh),
      {tabs.provenance.digest.empty() ? detail::digest_of(tabs) : tabs.provenance.digest,
       digest_of(population)});
  return result;
}

}  // namespace mamelon
