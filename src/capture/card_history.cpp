#include "mamelon/card_history.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <optional>
#include <set>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/numbers.h"
#include "capture/card_map.h"
#include "capture/response_map.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

// Days since 1970 of YYYY-MM-DD in the Gregorian calendar, or nothing.
std::optional<double> days_of(const std::string& text) {
  if (text.size() < 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto number = [&](std::size_t at, std::size_t size) {
    int value = 0;
    for (std::size_t i = at; i < at + size; ++i) {
      if (text[i] < '0' || text[i] > '9') return -1;
      value = 10 * value + (text[i] - '0');
    }
    return value;
  };
  const std::chrono::year_month_day day{std::chrono::year(number(0, 4)),
                                        std::chrono::month(static_cast<unsigned>(number(5, 2))),
                                        std::chrono::day(static_cast<unsigned>(number(8, 2)))};
  if (number(0, 4) < 0 || !day.ok()) return std::nullopt;
  return static_cast<double>(std::chrono::sys_days(day).time_since_epoch().count());
}

struct Visit {
  double day = 0;
  std::string text;
  const KeptFit* fit = nullptr;
};

// Oldest first.
std::vector<Visit> in_order(const std::vector<CardVisit>& visits) {
  std::vector<Visit> out;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    const std::string& stated =
        visits[i].day.empty() ? visits[i].fit.settings.taken : visits[i].day;
    const auto day = days_of(stated);
    if (!day) {
      throw ArgumentError(
          "visit " + std::to_string(i + 1) +
          (stated.empty()
               ? ": its photo does not say when it was taken; state the day, as YYYY-MM-DD"
               : ": \"" + stated + "\" is no day as YYYY-MM-DD"));
    }
    out.push_back({*day, stated.substr(0, 10), &visits[i].fit});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Visit& a, const Visit& b) { return a.day < b.day; });
  return out;
}

// The definition of a card, without what a program says of it.
std::string definition_of(Card card) {
  card.design.reset();
  return digest_of(card);
}

void check_visits(const std::vector<Visit>& visits) {
  if (visits.size() < 2) throw ArgumentError("a history needs two photos of the card or more");
  if (visits.front().day == visits.back().day) {
    throw ArgumentError("all photos are of one day: nothing can be said of time");
  }
  const std::string first = definition_of(visits.front().fit->card);
  for (const Visit& visit : visits) {
    if (definition_of(visit.fit->card) == first) continue;
    throw ArgumentError("the photos are of two cards, '" + visits.front().fit->card.name +
                        "' and '" + visit.fit->card.name +
                        "', or of one whose document was changed: give one card's");
  }
}

// A patch as the others read it on one visit.
struct Residual {
  bool known = false;
  Eigen::Vector3d value = Eigen::Vector3d::Zero();
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
};

// Of every patch of the card, those in `changed` neither read nor used.
std::vector<Residual> residuals_of(const KeptFit& kept, const Viewing& viewing,
                                   const std::vector<bool>& changed) {
  detail::CardSamples samples = detail::samples_of(kept, viewing);
  for (std::size_t i = 0; i < changed.size(); ++i) {
    if (changed[i]) samples.patches[i].used = false;
  }
  const detail::CardMap c =
      detail::card_map(samples, kept.card, kept.encoding, viewing, {.method = kept.method});
  std::vector<Residual> out(changed.size());
  std::size_t at = 0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (!samples.patches[i].used || c.errors.empty()) continue;
    out[i] = {true, c.errors[at].error, c.errors[at].covariance};
    ++at;
  }
  return out;
}

// The change of one patch on a line over time, from the first visit to the last.
struct Change {
  bool known = false;
  Eigen::Vector3d value = Eigen::Vector3d::Zero();
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
  double misfit = 0;  // chi-squared of three degrees of freedom, where errors are as stated
};

Change change_of(const std::vector<Visit>& visits,
                 const std::vector<std::vector<Residual>>& residuals, std::size_t patch) {
  double mean = 0;
  double count = 0;
  for (std::size_t t = 0; t < visits.size(); ++t) {
    if (!residuals[t][patch].known) continue;
    mean += visits[t].day;
    count += 1;
  }
  if (count < 2) return {};
  mean /= count;
  double square = 0;
  for (std::size_t t = 0; t < visits.size(); ++t) {
    if (residuals[t][patch].known) square += (visits[t].day - mean) * (visits[t].day - mean);
  }
  if (square <= 0) return {};
  Change out;
  out.known = true;
  const double span = visits.back().day - visits.front().day;
  for (std::size_t t = 0; t < visits.size(); ++t) {
    const Residual& residual = residuals[t][patch];
    if (!residual.known) continue;
    const double weight = span * (visits[t].day - mean) / square;
    out.value += weight * residual.value;
    out.covariance += weight * weight * residual.covariance;
  }
  out.misfit = out.value.dot(out.covariance.ldlt().solve(out.value));
  return out;
}

// Patches differ in how well their errors are stated: over a card a misfit is distributed as three
// times F on 3 and so many degrees of freedom, not as chi-squared. Chosen on simulated cards that
// are as they were (other draws than those that tests/simulator/study_wear.py reports).
constexpr int scale_dof = 10;

// Chance of a misfit above `x`, in units of the card's scatter: the incomplete beta function in
// closed form for an even `scale_dof` (Abramowitz and Stegun 1964, 26.6.4).
double chance_above(double x) {
  const double below = x / (scale_dof + x);
  double term = 1;
  double sum = 1;
  for (int j = 1; j < scale_dof / 2; ++j) {
    term *= (j + 0.5) / j * (1 - below);
    sum += term;
  }
  return std::max(0.0, 1 - below * std::sqrt(below) * sum);
}

// A median of few patches is itself uncertain: of 20, this much is added for it. An assumption;
// tests/simulator/study_wear.py measures how often cards that are as they were are called changed.
constexpr double scatter_margin = 6;
constexpr std::size_t least_patches = 6;

// By how much errors are larger or smaller than stated: the median of the card's patches, which a
// few changed ones do not move; a median of few is itself uncertain.
double scatter_of(const std::vector<Change>& changes) {
  std::vector<double> misfits;
  for (const Change& change : changes) {
    if (change.known) misfits.push_back(change.misfit);
  }
  if (misfits.size() < least_patches) {
    throw CaptureError("only " + std::to_string(misfits.size()) +
                       " patches can be compared over time; 6 are needed");
  }
  std::sort(misfits.begin(), misfits.end());
  const std::size_t n = misfits.size();
  const double median = (misfits[(n - 1) / 2] + misfits[n / 2]) / 2;
  constexpr double expected = 2.535;  // the median of three times F on 3 and 10
  // Photos that are the same to the bit scatter by nothing.
  constexpr double least = 1e-9;
  return std::max(least, median / expected * (1 + scatter_margin / static_cast<double>(n)));
}

// The patches of one round of the test: those that are known not to have changed so far.
struct Round {
  std::vector<std::vector<Residual>> residuals;  // by visit and patch
  std::vector<Change> changes;                   // by patch
  double scatter = 1;
  std::vector<double> p_values;
  std::size_t tested = 0;
  std::size_t worst = 0;  // the patch of the largest misfit
};

Round round_of(const std::vector<Visit>& visits, const Viewing& viewing,
               const std::vector<bool>& changed) {
  Round out;
  for (const Visit& visit : visits) {
    out.residuals.push_back(residuals_of(*visit.fit, viewing, changed));
  }
  for (std::size_t i = 0; i < changed.size(); ++i) {
    out.changes.push_back(change_of(visits, out.residuals, i));
  }
  out.scatter = scatter_of(out.changes);
  out.p_values.assign(changed.size(), 1);
  for (std::size_t i = 0; i < changed.size(); ++i) {
    if (!out.changes[i].known) continue;
    ++out.tested;
    out.p_values[i] = chance_above(out.changes[i].misfit / out.scatter);
    if (out.changes[i].misfit > out.changes[out.worst].misfit) out.worst = i;
  }
  return out;
}

PatchHistory history_of(const Round& round, const Card& card, std::size_t i,
                        const Viewing& viewing) {
  const Change& change = round.changes[i];
  const Lab reference = patch_lab(card, card.patches[i], viewing);
  const Eigen::Vector3d end = detail::to_eigen(reference) + change.value;
  const Lab moved = {end[0], end[1], end[2]};
  const Eigen::Matrix3d covariance = round.scatter * change.covariance;
  PatchHistory out{
      .name = card.patches[i].name,
      .residual = {},
      .p_value = round.p_values[i],
      .changed = false,
      .change = detail::to_vec3(change.value),
      .change_covariance = detail::to_mat3(covariance),
      .de00 = de00(reference, moved),
      .de00_u95 = change.known ? std::sqrt(detail::squared_u95(moved, covariance)) : 0};
  for (const std::vector<Residual>& visit : round.residuals) {
    out.residual.push_back(visit[i].known ? std::optional(detail::to_vec3(visit[i].value))
                                          : std::nullopt);
  }
  return out;
}

}  // namespace

CardHistory card_history(const std::vector<CardVisit>& given, const Viewing& viewing,
                         double false_alarm_rate) {
  if (!(false_alarm_rate > 0 && false_alarm_rate < 1)) {
    throw ArgumentError("the rate of false alarms lies between 0 and 1");
  }
  for (std::size_t i = 0; i < given.size(); ++i) {
    const std::string where = "visit " + std::to_string(i + 1) + "'s fit";
    check(given[i].fit, where);
    check_card(given[i].fit.card, where);
  }
  const std::vector<Visit> visits = in_order(given);
  check_visits(visits);
  const Card& card = visits.front().fit->card;
  CardHistory out{.card = card.name,
                  .days = {},
                  .false_alarm_rate = false_alarm_rate,
                  .patches = {},
                  .warnings = {}};
  std::set<std::string> cameras;
  for (const Visit& visit : visits) {
    out.days.push_back(visit.text);
    cameras.insert(visit.fit->settings.camera);
  }
  if (cameras.size() > 1) {
    out.warnings.emplace_back(
        "the photos are by more than one camera: what cameras see otherwise widens the interval");
  }
  out.patches.resize(card.patches.size());
  std::vector<bool> changed(card.patches.size(), false);
  for (;;) {
    const Round round = round_of(visits, viewing, changed);
    for (std::size_t i = 0; i < changed.size(); ++i) {
      if (!changed[i]) out.patches[i] = history_of(round, card, i, viewing);
    }
    const double least = round.p_values[round.worst];
    if (least * static_cast<double>(round.tested) > false_alarm_rate) return out;
    out.patches[round.worst].changed = changed[round.worst] = true;
    if (round.tested == least_patches) {
      out.warnings.emplace_back("so many patches changed that the rest cannot be compared");
      return out;
    }
  }
}

}  // namespace mamelon
