#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "mamelon/audit.h"

#include "base/stop.h"
#include "shade/tooth_distances.h"

namespace mamelon {
namespace {

using Choice = std::vector<std::size_t>;  // ascending indices of tabs

constexpr double most_choices = 200000;
// Relative slack within which bound and choice count as equal.
constexpr double equal = 1e-9;

// ΔE00 of every tab to every tooth, and the coverage error of any choice.
struct Table {
  std::size_t tabs = 0;
  std::size_t teeth = 0;
  std::vector<double> de;

  [[nodiscard]] const double* row(std::size_t tab) const { return de.data() + tab * teeth; }

  [[nodiscard]] double error(const Choice& choice) const {
    double sum = 0;
    for (std::size_t i = 0; i < teeth; ++i) {
      double least = std::numeric_limits<double>::infinity();
      for (const std::size_t t : choice) least = std::min(least, row(t)[i]);
      sum += least;
    }
    return sum / static_cast<double>(teeth);
  }
};

// Distances that are kept at once, 128 MB; of a larger population as many teeth are evenly taken.
constexpr std::size_t most_distances = 16'000'000;

double choices(std::size_t n, std::size_t k) {
  double count = 1;
  for (std::size_t i = 1; i <= std::min(k, n - k); ++i)
    count *= static_cast<double>(n - i + 1) / static_cast<double>(i);
  return count;
}

// All choices in lexicographic order, the least distances of every prefix kept.
class Enumeration {
 public:
  Enumeration(const Table& table, std::size_t size)
      : table_(table),
        least_(size + 1, std::vector<double>(table.teeth, std::numeric_limits<double>::infinity())),
        current_(size) {
    visit(0, 0);
  }
  [[nodiscard]] const Choice& best() const { return best_; }

 private:
  void visit(std::size_t depth, std::size_t first) {
    if (depth == current_.size()) {
      const double sum = std::accumulate(least_[depth].begin(), least_[depth].end(), 0.0);
      if (sum < best_sum_) {
        best_sum_ = sum;
        best_ = current_;
      }
      return;
    }
    for (std::size_t t = first; t + (current_.size() - depth) <= table_.tabs; ++t) {
      const double* row = table_.row(t);
      for (std::size_t i = 0; i < table_.teeth; ++i)
        least_[depth + 1][i] = std::min(least_[depth][i], row[i]);
      current_[depth] = t;
      detail::stop_if_asked();
      visit(depth + 1, t + 1);
    }
  }

  const Table& table_;
  std::vector<std::vector<double>> least_;
  Choice current_;
  Choice best_;
  double best_sum_ = std::numeric_limits<double>::infinity();
};

Choice greedy(const Table& table, std::size_t size) {
  Choice choice;
  std::vector<double> least(table.teeth, std::numeric_limits<double>::infinity());
  std::vector<bool> taken(table.tabs, false);
  while (choice.size() < size) {
    std::size_t best = table.tabs;
    double best_sum = std::numeric_limits<double>::infinity();
    for (std::size_t t = 0; t < table.tabs; ++t) {
      if (taken[t]) continue;
      double sum = 0;
      for (std::size_t i = 0; i < table.teeth; ++i) sum += std::min(least[i], table.row(t)[i]);
      if (sum < best_sum) {
        best_sum = sum;
        best = t;
      }
    }
    taken[best] = true;
    choice.push_back(best);
    for (std::size_t i = 0; i < table.teeth; ++i) least[i] = std::min(least[i], table.row(best)[i]);
  }
  std::sort(choice.begin(), choice.end());
  return choice;
}

// One exchange after another, each the best of all, while they help (Teitz and Bart 1968). The
// least and second least distances give every exchange of one chosen tab in one pass.
Choice exchanged(const Table& table, Choice choice) {
  double error = table.error(choice);
  for (;;) {
    Choice best;
    double best_error = error * (1 - equal);
    for (std::size_t out = 0; out < choice.size(); ++out) {
      detail::stop_if_asked();
      std::vector<double> rest(table.teeth, std::numeric_limits<double>::infinity());
      for (std::size_t k = 0; k < choice.size(); ++k)
        if (k != out)
          for (std::size_t i = 0; i < table.teeth; ++i)
            rest[i] = std::min(rest[i], table.row(choice[k])[i]);
      for (std::size_t in = 0; in < table.tabs; ++in) {
        if (std::binary_search(choice.begin(), choice.end(), in)) continue;
        double sum = 0;
        for (std::size_t i = 0; i < table.teeth; ++i) sum += std::min(rest[i], table.row(in)[i]);
        const double tried = sum / static_cast<double>(table.teeth);
        if (tried >= best_error) continue;
        best_error = tried;
        best = choice;
        best[out] = in;
      }
    }
    if (best.empty()) return choice;
    std::sort(best.begin(), best.end());
    choice = best;
    error = best_error;
  }
}

// Lower bound on the coverage error: for any prices u of the teeth,
// Σ u + the sum of the k least of Σ min(0, de − u) is at most k tabs' total (Cornuéjols, Fisher,
// Nemhauser 1977); prices climb by subgradient steps towards the known choice's error.
double lagrangian_bound(const Table& table, const Choice& choice, double error) {
  constexpr int rounds = 400;
  const double target = error * static_cast<double>(table.teeth);
  std::vector<double> price(table.teeth, std::numeric_limits<double>::infinity());
  for (const std::size_t t : choice)
    for (std::size_t i = 0; i < table.teeth; ++i) price[i] = std::min(price[i], table.row(t)[i]);
  double best = 0;
  double stride = 1.0;
  int since_better = 0;
  std::vector<double> gain(table.tabs);
  std::vector<std::size_t> order(table.tabs);
  for (int round = 0; round < rounds; ++round) {
    detail::stop_if_asked();
    for (std::size_t t = 0; t < table.tabs; ++t) {
      gain[t] = 0;
      for (std::size_t i = 0; i < table.teeth; ++i)
        gain[t] += std::min(0.0, table.row(t)[i] - price[i]);
    }
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto chosen = order.begin() + static_cast<std::ptrdiff_t>(choice.size());
    std::partial_sort(order.begin(), chosen, order.end(), [&](std::size_t p, std::size_t q) {
      return gain[p] < gain[q] || (gain[p] == gain[q] && p < q);
    });
    double bound = std::accumulate(price.begin(), price.end(), 0.0);
    for (auto t = order.begin(); t != chosen; ++t) bound += gain[*t];
    if (bound > best) {
      best = bound;
      since_better = 0;
    } else if (++since_better == 10) {
      stride /= 2;
      since_better = 0;
    }
    double norm = 0;
    std::vector<double> slope(table.teeth, 1.0);
    for (auto t = order.begin(); t != chosen; ++t)
      for (std::size_t i = 0; i < table.teeth; ++i)
        if (table.row(*t)[i] < price[i]) slope[i] -= 1;
    for (const double s : slope) norm += s * s;
    if (norm == 0 || target - bound <= equal * target) break;
    const double step = stride * (target - bound) / norm;
    for (std::size_t i = 0; i < table.teeth; ++i)
      price[i] = std::max(0.0, price[i] + step * slope[i]);
  }
  return best / static_cast<double>(table.teeth);
}

}  // namespace

TabChoice best_tabs(const TabSet& tabs, const Population& population, std::size_t count,
                    const DifferenceWeights& weights) {
  check_tab_set(tabs);
  check_same_viewing(population.viewing, tabs.viewing, "the population against the tab set");
  if (population.teeth.empty()) throw ArgumentError("the population has no teeth");
  if (count == 0 || count > tabs.tabs.size())
    throw ArgumentError("the number of tabs to choose must lie in 1–" +
                        std::to_string(tabs.tabs.size()) + ", not " + std::to_string(count));
  std::vector<Lab> colours;
  for (const Tab& tab : tabs.tabs) colours.push_back(tab.lab.value);
  std::vector<Lab> teeth;
  const std::size_t most_teeth = std::max<std::size_t>(1, most_distances / tabs.tabs.size());
  for (const std::size_t i : detail::evenly_taken(population.teeth.size(), most_teeth)) {
    teeth.push_back(population.teeth[i]);
  }
  const Table table{tabs.tabs.size(), teeth.size(),
                    detail::tooth_distances(colours, teeth, weights)};

  Choice choice;
  TabChoice result;
  if (choices(table.tabs, count) <= most_choices) {
    choice = Enumeration(table, count).best();
    result.error_de00 = table.error(choice);
    result.bound_de00 = result.error_de00;
    result.exact = true;
  } else {
    choice = exchanged(table, greedy(table, count));
    result.error_de00 = table.error(choice);
    result.bound_de00 =
        std::min(result.error_de00, lagrangian_bound(table, choice, result.error_de00));
    result.exact = result.bound_de00 >= result.error_de00 * (1 - 1e-6);
  }
  for (const std::size_t t : choice) result.tabs.push_back(tabs.tabs[t].name);
  return result;
}

}  // namespace mamelon
