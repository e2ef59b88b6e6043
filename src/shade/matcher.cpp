#include "shade/matcher.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numeric>
#include <set>
#include <utility>

#include "mamelon/batch.h"

#include "base/numbers.h"
#include "base/stop.h"
#include "colour/vectors.h"
#include "shade/content.h"
#include "shade/distributions.h"
#include "shade/draw_loops.h"
#include "shade/order_statistics.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"

namespace mamelon::detail {
namespace {

// Errors up to this size (root mean square in Lab) go through the linearised ΔE00, whose chances
// then lie within 0.003 of those of the exact formula; larger ones through the formula itself.
constexpr double linear_rms = 0.8;
// The same holds only where the chroma is large against the error.
constexpr double linear_chroma = 8;

// Standard deviations beyond which a tab is not held to have a chance: 1 in 2000.
constexpr double unlikely = 0.0005;
constexpr double normal_reach = 3.2905;

constexpr double interval_tail = 0.025;

// Colours that differences by vectors are held to be right for.
bool is_for_vectors(const Lab& lab) {
  constexpr double far_out = 5000;
  return std::fabs(lab.l) < far_out && std::fabs(lab.a) < far_out && std::fabs(lab.b) < far_out;
}

Lab plus(const Lab& lab, const Vec3& v) {
  return {lab.l + v[0], lab.a + v[1], lab.b + v[2]};
}

double dot(const Vec3& v, const Vec3& w) {
  return v[0] * w[0] + v[1] * w[1] + v[2] * w[2];
}

double determinant(const Mat3& m) {
  return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
         m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
         m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

bool is_prior(const ToothPrior& prior) {
  return prior.covariance != Mat3{};
}

std::string content_of(const ToothPrior& prior) {
  return prior.name + " " + detail::content_of(Measured<Lab>{prior.mean, prior.covariance, {}});
}

double reach_of(double dof) {
  return is_estimated(dof) ? t_quantile(1 - unlikely, std::floor(dof)) : normal_reach;
}

void check_reading(const Reading& reading, const TabSet& tabs) {
  const std::string where = "reading '" + reading.label + "'";
  check_same_viewing(reading.viewing, tabs.viewing, where + " against the tab set");
  const Lab& lab = reading.lab.value;
  if (!std::isfinite(lab.l) || !std::isfinite(lab.a) || !std::isfinite(lab.b))
    throw ArgumentError(where + " has a colour that is not finite");
  if (!is_covariance(reading.lab.random) || !is_covariance(reading.lab.shared))
    throw ArgumentError(where + " has a covariance that is not symmetric positive semi-definite");
  if (!(reading.lab.dof >= 0))
    throw ArgumentError(where + " has negative or undefined degrees of freedom");
}

std::vector<double> dofs_of(std::span<const Reading> readings, const TabSet& tabs) {
  std::vector<double> dofs;
  for (const Reading& reading : readings) {
    check_reading(reading, tabs);
    dofs.push_back(uncertainty_in(reading, tabs).dof);
  }
  return dofs;
}

std::vector<std::string> warnings_of_set(const TabSet& tabs) {
  std::vector<std::string> warnings;
  if (tabs.tabs.size() == 1)
    warnings.push_back("the set has one tab only: the pick says nothing about the choice");
  std::vector<std::size_t> by_colour(tabs.tabs.size());
  std::iota(by_colour.begin(), by_colour.end(), std::size_t{0});
  const auto key = [&](std::size_t i) {
    const Lab& lab = tabs.tabs[i].lab.value;
    return std::array<double, 3>{lab.l, lab.a, lab.b};
  };
  std::stable_sort(by_colour.begin(), by_colour.end(),
                   [&](std::size_t i, std::size_t j) { return key(i) < key(j); });
  for (std::size_t i = 1; i < by_colour.size(); ++i)
    if (key(by_colour[i - 1]) == key(by_colour[i]))
      warnings.push_back("tabs '" + tabs.tabs[by_colour[i - 1]].name + "' and '" +
                         tabs.tabs[by_colour[i]].name + "' have the same colour");
  return warnings;
}

void check_options(const MatchOptions& options) {
  if (options.draws < 64 || options.draws > 1048576)
    throw ArgumentError("draws must lie in 64–1048576, not " + std::to_string(options.draws));
  const auto positive = [](double k) { return k > 0 && std::isfinite(k); };
  if (!positive(options.weights.kl) || !positive(options.weights.kc) ||
      !positive(options.weights.kh))
    throw ArgumentError("the weights of ΔE00 must be positive and finite");
  const Lab& mean = options.prior.mean;
  if (!is_covariance(options.prior.covariance) || !std::isfinite(mean.l + mean.a + mean.b))
    throw ArgumentError("the prior needs a finite mean and a positive semi-definite covariance");
}

}  // namespace

Matcher::Matcher(const TabSet& tabs, std::span<const Reading> readings, const MatchOptions& options)
    : tabs_((check_options(options), check_tab_set(tabs), tabs)),
      options_(options),
      interval_errors_(tabs, dofs_of(readings, tabs), NormalSample(options.draws, options.seed),
                       Question::interval),
      set_warnings_(warnings_of_set(tabs)),
      picks_under_(tabs) {
  bool estimated = false;
  for (const Reading& reading : readings) {
    const double given = uncertainty_in(reading, tabs).dof;
    if (!is_estimated(given)) continue;
    estimated = true;
    const double dof = std::floor(given);
    if (!reach_.contains(dof)) reach_[dof] = reach_of(dof);
  }
  std::set<double> seen;
  for (const Tab& tab : tabs.tabs) {
    for_vectors_ = for_vectors_ && is_for_vectors(tab.lab.value);
    tab_labs_.insert(tab_labs_.end(), {tab.lab.value.l, tab.lab.value.a, tab.lab.value.b});
    tab_rms_.push_back(std::sqrt(trace(tab.lab.covariance())));
    largest_tab_rms_ = std::max(largest_tab_rms_, tab_rms_.back());
    for (const double dof : {tab.lab.dof, tab.shared_dof}) {
      estimated = estimated || is_estimated(dof);
      if (seen.insert(dof).second) tab_reach_ = std::max(tab_reach_, reach_of(dof));
    }
  }
  if (estimated)
    comparison_errors_.emplace(tabs, dofs_of(readings, tabs),
                               NormalSample(options.draws, options.seed), Question::comparison);
  set_digest_ = tabs.provenance.digest.empty() ? digest_of(tabs) : tabs.provenance.digest;
  settings_ = "draws=" + std::to_string(options.draws) + " seed=" + std::to_string(options.seed) +
              " keep=" + std::to_string(options.keep) +
              " weights=" + format_number(options.weights.kl) + ":" +
              format_number(options.weights.kc) + ":" + format_number(options.weights.kh) +
              " prior=" + (is_prior(options.prior) ? content_of(options.prior) : "none");
}

// Whether a tab may be nearer than the one found nearest, in the metric around the reading: there
// t is nearer than t1 where r lies beyond the plane halfway, so that the difference of the squared
// distances is linear in the error of r and, to first order, in those of the tabs.
class Matcher::Comparison {
 public:
  Comparison(const Matcher& matcher, const Measured<Lab>& reading, const Mat3& metric,
             std::size_t first)
      : matcher_(matcher), at_(reading.value), metric_(metric) {
    const Tab& tab = matcher.tabs_.tabs[first];
    common_ = add(reading.covariance(), tab.lab.shared);
    first_ = tab.lab.value;
    const Vec3 pull = multiply(metric_, minus(first_, at_));
    squared_ = dot(pull, minus(first_, at_));
    own_variance_ = dot(pull, multiply(tab.lab.random, pull));
    reach_ = std::max(matcher.tab_reach_, is_estimated(reading.dof)
                                              ? matcher.reach_.at(std::floor(reading.dof))
                                              : normal_reach);
    const double size = std::sqrt(mean_square(metric_, common_));
    const double per_lab = std::sqrt(std::max({metric_[0][0], metric_[1][1], metric_[2][2]}));
    // The metric is that of the reading; a tab farther out than this cannot win in any.
    window_ =
        1.1 * (std::sqrt(squared_) + reach_ * (2 * size + per_lab * (matcher.tab_rms_[first] +
                                                                     matcher.largest_tab_rms_)));
  }

  [[nodiscard]] double window() const { return window_; }

  [[nodiscard]] bool may_be_nearer(std::size_t i, double de) const {
    if (de > window_) return false;
    const Tab& tab = matcher_.tabs_.tabs[i];
    const Vec3 delta = minus(tab.lab.value, at_);
    const Vec3 pull = multiply(metric_, delta);
    const Vec3 apart = multiply(metric_, minus(tab.lab.value, first_));
    const double margin = (dot(pull, delta) - squared_) / 2;
    const double variance = dot(apart, multiply(common_, apart)) +
                            dot(pull, multiply(tab.lab.random, pull)) + own_variance_;
    return margin <= reach_ * std::sqrt(variance);
  }

 private:
  const Matcher& matcher_;
  Lab at_;
  Lab first_;
  Mat3 metric_{};
  Mat3 common_{};
  double squared_ = 0;
  double own_variance_ = 0;
  double reach_ = 0;
  double window_ = 0;
};

double Matcher::rms(const Measured<Lab>& reading) const {
  return std::sqrt(trace(reading.covariance()));
}

Matcher::Order Matcher::order(const Measured<Lab>& reading) const {
  const Lab& at = reading.value;
  const std::size_t count = tabs_.tabs.size();
  Order order;
  order.de00.resize(count);
  order.nearest.resize(count);
  std::iota(order.nearest.begin(), order.nearest.end(), std::size_t{0});
  const auto before = [&](std::size_t i, std::size_t j) {
    return order.de00[i] < order.de00[j] || (order.de00[i] == order.de00[j] && i < j);
  };
  const auto exact = [&](std::size_t i) {
    return de00(tabs_.tabs[i].lab.value, at, options_.weights);
  };
  const std::size_t keep = options_.keep == 0 ? count : std::min(options_.keep, count);
  const auto kept = order.nearest.begin() + static_cast<std::ptrdiff_t>(keep);
  if (kept == order.nearest.end() || !for_vectors_ || !is_for_vectors(at)) {
    for (std::size_t i = 0; i < count; ++i) order.de00[i] = exact(i);
    std::sort(order.nearest.begin(), order.nearest.end(), before);
    return order;
  }

  // Differences by vectors tell for which tabs the exact one matters.
  constexpr double vector_error = 1e-9;
  const std::array<double, 3> lab{at.l, at.a, at.b};
  de00_table<double>(LabRows<double>::interleaved(lab), LabRows<double>::interleaved(tab_labs_),
                     order.de00, {.weights = options_.weights, .threads = 1});
  std::nth_element(order.nearest.begin(), kept - 1, order.nearest.end(), before);
  double far = 0;
  std::size_t first = *order.nearest.begin();
  double near = exact(first);
  for (auto i = order.nearest.begin(); i != kept; ++i) {
    const double de = exact(*i);
    far = std::max(far, de);
    if (de < near || (de == near && *i < first)) {
      near = de;
      first = *i;
    }
  }
  const Comparison comparison(*this, reading, local_metric(at, options_.weights), first);
  far = std::max(far, comparison.window()) + vector_error;
  std::erase_if(order.nearest, [&](std::size_t i) { return order.de00[i] > far; });
  for (const std::size_t i : order.nearest) order.de00[i] = exact(i);
  const auto last = order.nearest.begin() + static_cast<std::ptrdiff_t>(keep);
  std::partial_sort(order.nearest.begin(), last, order.nearest.end(), before);
  const auto others = std::partition(last, order.nearest.end(), [&](std::size_t i) {
    return comparison.may_be_nearer(i, order.de00[i]);
  });
  std::sort(last, others, before);
  order.nearest.erase(others, order.nearest.end());
  return order;
}

Matcher::Sampled Matcher::as_measured(const Measured<Lab>& reading,
                                      const ErrorSample& errors) const {
  return {reading.value, errors.of_reading(reading), rms(reading)};
}

std::optional<Matcher::Sampled> Matcher::under_prior(const Measured<Lab>& reading,
                                                     const ErrorSample& errors) const {
  const ToothPrior& prior = options_.prior;
  if (!is_prior(prior)) return std::nullopt;
  const Mat3 own = reading.covariance();
  // Standard deviations of reading against teeth from which on the prior tells anything.
  constexpr double narrow = 0.15;
  bool wide = false;
  for (std::size_t i = 0; i < 3; ++i)
    wide = wide || own[i][i] > narrow * narrow * prior.covariance[i][i];
  if (!wide) return std::nullopt;

  constexpr double share_of_far = 0.05;
  constexpr double farther = 16;  // variance
  const Vec3 off = minus(prior.mean, reading.value);
  const auto density = [&](double factor) {
    const Mat3 whole = add(own, scale(prior.covariance, factor));
    return std::exp(-quadratic(covariance_inverse(whole), off) / 2) / std::sqrt(determinant(whole));
  };
  const double near = (1 - share_of_far) * density(1);
  const double far = share_of_far * density(farther);
  const double chance_near = near + far > 0 ? near / (near + far) : 0;

  // gain = own (own + prior)⁻¹ draws the colour towards the mean of teeth.
  const auto posterior = [&](double factor) {
    const Mat3 gain = multiply(own, covariance_inverse(add(own, scale(prior.covariance, factor))));
    Measured<Lab> drawn = reading;
    drawn.value = plus(reading.value, multiply(gain, off));
    const Mat3 less = add(own, scale(multiply(gain, own), -1));
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) drawn.random[i][j] = (less[i][j] + less[j][i]) / 2;
    drawn.shared = {};
    return drawn;
  };
  const Measured<Lab> of_near = posterior(1);
  Sampled sampled = as_measured(of_near, errors);
  const auto first_far =
      static_cast<std::size_t>(std::lround(chance_near * static_cast<double>(options_.draws)));
  if (first_far == options_.draws) return sampled;
  const Measured<Lab> of_far = posterior(farther);
  const Draws more = errors.of_reading(of_far);
  const Vec3 apart = minus(of_far.value, of_near.value);
  for (std::size_t i = first_far; i < options_.draws; ++i) {
    sampled.errors.x[i] = more.x[i] + apart[0];
    sampled.errors.y[i] = more.y[i] + apart[1];
    sampled.errors.z[i] = more.z[i] + apart[2];
  }
  sampled.rms += (1 - chance_near) * std::sqrt(dot(apart, apart));
  return sampled;
}

bool Matcher::needs_exact(const Sampled& reading, const Order& order) const {
  double largest_tab = 0;
  for (const std::size_t i : order.nearest) largest_tab = std::max(largest_tab, tab_rms_[i]);
  const double size = std::sqrt(reading.rms * reading.rms + largest_tab * largest_tab);
  const Lab& at = reading.at;
  return size > linear_rms || std::sqrt(at.a * at.a + at.b * at.b) < linear_chroma * size;
}

void Matcher::fill_distances(const Sampled& reading, const Order& order, const ErrorSample& errors,
                             std::span<double> squared) const {
  const std::size_t draws = options_.draws;
  const std::size_t count = squared.size() / draws;
  const Lab& at = reading.at;
  const Draws& of_reading = reading.errors;
  const bool exact = needs_exact(reading, order);
  for (std::size_t k = 0; k < count; ++k) {
    stop_if_asked();
    const std::size_t tab = order.nearest[k];
    const Lab& centre = tabs_.tabs[tab].lab.value;
    const Draws& of_tab = errors.of_tab(tab);
    double* out = squared.data() + k * draws;
    if (exact) {
      for (std::size_t i = 0; i < draws; ++i) {
        const double de =
            de00(plus(centre, {of_tab.x[i], of_tab.y[i], of_tab.z[i]}),
                 plus(at, {of_reading.x[i], of_reading.y[i], of_reading.z[i]}), options_.weights);
        out[i] = de * de;
      }
      continue;
    }
    linear_squares(pair_metric(centre, at, options_.weights), of_reading, of_tab, {out, draws});
  }
}

void Matcher::fill_chances(std::span<const double> squared, const Order& order,
                           Match& result) const {
  const std::size_t draws = options_.draws;
  const std::size_t count = order.nearest.size();
  const auto enter = [&](std::size_t k, double wins) {
    const double chance = wins / static_cast<double>(draws);
    if (k < result.ranked.size()) result.ranked[k].chance_best = chance;
    if (chance >= 0.05) result.indistinguishable.push_back(tabs_.tabs[order.nearest[k]].name);
  };
  const std::vector<std::uint64_t> wins = wins_without_ties(squared, draws);
  if (!wins.empty()) {
    for (std::size_t k = 0; k < count; ++k) enter(k, static_cast<double>(wins[k]));
    return;
  }

  // Tabs that tie in a draw share it.
  std::vector<double> best(squared.begin(), squared.begin() + static_cast<std::ptrdiff_t>(draws));
  for (std::size_t k = 1; k < count; ++k) {
    const double* own = squared.data() + k * draws;
    for (std::size_t i = 0; i < draws; ++i) best[i] = own[i] < best[i] ? own[i] : best[i];
  }
  std::vector<double> share(draws, 0.0);
  for (std::size_t k = 0; k < count; ++k) {
    const double* own = squared.data() + k * draws;
    for (std::size_t i = 0; i < draws; ++i) share[i] += own[i] == best[i] ? 1.0 : 0.0;
  }
  for (double& s : share) s = 1 / s;
  for (std::size_t k = 0; k < count; ++k) {
    const double* own = squared.data() + k * draws;
    double shared_wins = 0;
    for (std::size_t i = 0; i < draws; ++i) shared_wins += own[i] == best[i] ? share[i] : 0.0;
    enter(k, shared_wins);
  }
}

void Matcher::fill_chances(const Measured<Lab>& reading, const Order& order, Match& result) const {
  const std::size_t draws = options_.draws;
  const std::size_t reported = result.ranked.size();
  const std::size_t contenders = order.nearest.size();
  // Every value is written before it is read.
  const auto room = std::unique_ptr<double[]>(new double[contenders * draws]);
  const std::span<double> squared(room.get(), contenders * draws);
  const ErrorSample& comparison = comparison_errors_ ? *comparison_errors_ : interval_errors_;
  const std::optional<Sampled> expected = under_prior(reading, comparison);
  fill_distances(expected ? *expected : as_measured(reading, comparison), order, comparison,
                 squared);
  fill_chances(squared, order, result);
  constexpr double pt = threshold::perceptible_de00 * threshold::perceptible_de00;
  constexpr double at = threshold::acceptable_de00 * threshold::acceptable_de00;
  const auto total = static_cast<double>(draws);
  for (std::size_t k = 0; k < reported; ++k) {
    const std::span<const double> own(squared.data() + k * draws, draws);
    RankedTab& ranked = result.ranked[k];
    ranked.chance_perceptible = static_cast<double>(count_at_most(own, pt)) / total;
    ranked.chance_acceptable = static_cast<double>(count_at_most(own, at)) / total;
  }
  if (expected || comparison_errors_)
    fill_distances(as_measured(reading, interval_errors_), order, interval_errors_,
                   squared.first(reported * draws));
  for (std::size_t k = 0; k < reported; ++k) {
    const std::span<const double> own(squared.data() + k * draws, draws);
    RankedTab& ranked = result.ranked[k];
    ranked.surely_perceptible_match =
        static_cast<double>(count_at_most(own, pt)) >= (1 - 2 * interval_tail) * total;
    ranked.surely_acceptable_match =
        static_cast<double>(count_at_most(own, at)) >= (1 - 2 * interval_tail) * total;
    const auto [low, high] = central_interval(own, interval_tail);
    ranked.low = std::sqrt(std::max(low, 0.0));
    ranked.high = std::sqrt(std::max(high, 0.0));
  }
}

std::optional<Between> Matcher::between(const Lab& reading, const Order& order) const {
  constexpr std::size_t most_tabs = 10;
  constexpr double least_share = 0.1;
  constexpr double gain = 0.75;
  const double nearest = order.de00[order.nearest.front()];
  if (!(nearest > threshold::perceptible_de00)) return std::nullopt;

  const Mat3 metric = local_metric(reading, options_.weights);
  const std::size_t count = std::min(most_tabs, order.nearest.size());
  // One of the two is the nearest: a pair of others would name a worse tab as the nearer.
  const Tab& one = tabs_.tabs[order.nearest.front()];
  std::optional<Between> best;
  for (std::size_t j = 1; j < count; ++j) {
    const Tab& two = tabs_.tabs[order.nearest[j]];
    const Vec3 along = minus(two.lab.value, one.lab.value);
    const Vec3 image = multiply(metric, along);
    const Vec3 to_reading = minus(reading, one.lab.value);
    const double length = along[0] * image[0] + along[1] * image[1] + along[2] * image[2];
    const double share =
        (to_reading[0] * image[0] + to_reading[1] * image[1] + to_reading[2] * image[2]) / length;
    if (!(share >= least_share && share <= 0.5)) continue;
    const Lab mixed = plus(one.lab.value, {share * along[0], share * along[1], share * along[2]});
    const double de = de00(mixed, reading, options_.weights);
    if (de > gain * nearest || (best && de >= best->de00)) continue;
    best = Between{one.name, two.name, share, de};
  }
  return best;
}

Match Matcher::match(const Reading& reading) const {
  const Measured<Lab> measured = uncertainty_in(reading, tabs_);
  const Order nearest_first = order(measured);
  Match result;
  result.label = reading.label;
  result.zone = reading.zone;
  result.weights = options_.weights;
  result.prior = is_prior(options_.prior) ? options_.prior.name : std::string();
  const std::size_t keep = options_.keep == 0
                               ? nearest_first.nearest.size()
                               : std::min(options_.keep, nearest_first.nearest.size());
  result.ranked.resize(keep);
  for (std::size_t k = 0; k < keep; ++k) {
    const Tab& tab = tabs_.tabs[nearest_first.nearest[k]];
    RankedTab& ranked = result.ranked[k];
    const SignedDifference parts = de00_parts(tab.lab.value, reading.lab.value, options_.weights);
    ranked.tab = tab.name;
    ranked.lab = tab.lab.value;
    ranked.de00 = nearest_first.de00[nearest_first.nearest[k]];
    ranked.dl = parts.dl;
    ranked.dc = parts.dc;
    ranked.dh = parts.dh;
    const Vec3 plain = minus(reading.lab.value, tab.lab.value);
    ranked.difference = {plain[0], plain[1], plain[2]};
    ranked.grade = grade(ranked.de00);
  }
  fill_chances(measured, nearest_first, result);
  result.between = between(reading.lab.value, nearest_first);
  result.picks_under = picks_under_(reading, nearest_first.nearest.front(), options_.weights);

  result.warnings = set_warnings_;
  if (rms(reading.lab) == 0 && rms(measured) > 0)
    result.warnings.push_back(
        "the reading states no uncertainty: that of a new reading by the set's own means stands in "
        "for it");
  else if (rms(reading.lab) == 0)
    result.warnings.push_back(
        "the reading states no uncertainty: chances and intervals count the tabs' alone");
  if (std::string metamerism = metamerism_warning(result.picks_under); !metamerism.empty())
    result.warnings.push_back(std::move(metamerism));
  result.provenance = make_provenance(
      "match", settings_,
      {reading.provenance.digest.empty() ? digest_of(reading) : reading.provenance.digest,
       set_digest_});
  return result;
}

}  // namespace mamelon::detail
