// Whether what the statistics of tabs say of their own certainty is true: simulated studies with
// few readings, stated against seen. The truths and errors are made here, by code that shares
// nothing with the library. Usage: shade_studies [STUDIES] [PART]... [seed=N] [only=TEXT]; parts:
// outliers coverage drift chances transfer; all without; `only` takes the designs and readings
// whose name has the text. The seed 0 is that of the figures reported; what a method is chosen by
// takes another. Cells that state a chance are counted at the end by how many binomial standard
// errors, over studies or readings as each cell says, they lie off.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "mamelon/audit.h"
#include "mamelon/calibrate.h"
#include "mamelon/match.h"
#include "mamelon/population.h"
#include "mamelon/transfer.h"

#include "shade/coverage.h"

namespace {

using namespace mamelon;
using Random = std::mt19937_64;
using Triple = std::array<double, 3>;

const Viewing d65 = viewing_from_string("D65/2");
// Standard deviations of one reading about (72, 1.5, 17): 0.35 in root mean square ΔE00.
constexpr Triple repeat_sd{0.25, 0.13, 0.22};
constexpr Triple day_sd{0.2, 0.08, 0.15};
constexpr Triple operator_sd{0.15, 0.06, 0.12};

double gauss(Random& random) {
  return std::normal_distribution<double>()(random);
}
Triple errors(Random& random, const Triple& sd, bool heavy = false) {
  double stretch = 1;
  if (heavy) {  // Student's t on 5 degrees of freedom, scaled to the same covariance
    double chi = 0;
    for (int i = 0; i < 5; ++i) chi += std::pow(gauss(random), 2);
    stretch = std::sqrt(3 / chi);
  }
  return {stretch * sd[0] * gauss(random), stretch * sd[1] * gauss(random),
          stretch * sd[2] * gauss(random)};
}
Lab moved(const Lab& at, const Triple& by) {
  return {at.l + by[0], at.a + by[1], at.b + by[2]};
}
Lab some_tooth(Random& random) {
  return {72.1 + 4.8 * gauss(random), 1.3 + 1.4 * gauss(random), 16 + 4.4 * gauss(random)};
}
// A colour at a given ΔE00 from another, in a random direction.
Lab at_distance(const Lab& from, double wanted, Random& random) {
  Triple way{gauss(random), gauss(random), gauss(random)};
  const double length = std::sqrt(way[0] * way[0] + way[1] * way[1] + way[2] * way[2]);
  double low = 0, high = 60;
  for (int i = 0; i < 50; ++i) {
    const double size = (low + high) / 2;
    const Lab to =
        moved(from, {size * way[0] / length, size * way[1] / length, size * way[2] / length});
    (de00(from, to) < wanted ? low : high) = size;
  }
  return moved(from, {low * way[0] / length, low * way[1] / length, low * way[2] / length});
}
Reading reading_of(const std::string& name, const Lab& lab) {
  return {.label = name,
          .zone = {},
          .lab = {.value = lab},
          .reflectance = {},
          .viewing = d65,
          .warnings = {},
          .provenance = {}};
}
std::string name_of(std::size_t tab) {
  return "tab " + std::to_string(tab);
}

struct Design {
  const char* name;
  std::size_t repeats;  // in a sitting
  std::size_t days = 1;
  std::size_t operators = 1;
  bool nested = false;  // every operator has days of their own
  double missing = 0;   // share of readings that were not taken
};
struct Study {
  std::vector<RepeatReading> rows;
  std::vector<bool> gross;
};
Study simulate(const std::vector<Lab>& tabs, const Design& design, double gross_share, bool heavy,
               Random& random) {
  std::uniform_real_distribution<double> uniform;
  Study study;
  std::vector<Triple> day, by;
  for (std::size_t d = 0; d < design.days * design.operators; ++d)
    day.push_back(design.days > 1 ? errors(random, day_sd) : Triple{});
  for (std::size_t o = 0; o < design.operators; ++o)
    by.push_back(design.operators > 1 ? errors(random, operator_sd) : Triple{});
  for (std::size_t d = 0; d < design.days; ++d)
    for (std::size_t o = 0; o < design.operators; ++o)
      for (std::size_t t = 0; t < tabs.size(); ++t)
        for (std::size_t r = 0; r < design.repeats; ++r) {
          const bool first = d == 0 && o == 0;
          if (design.missing > 0 && !first && uniform(random) < design.missing) continue;
          const std::size_t of_day = design.nested ? d * design.operators + o : d;
          const Lab expected = moved(moved(tabs[t], day[of_day]), by[o]);
          Lab lab = moved(expected, errors(random, repeat_sd, heavy));
          const bool gross = uniform(random) < gross_share;
          if (gross) lab = at_distance(lab, 2 + 3 * uniform(random), random);
          study.rows.push_back({.reading = reading_of(name_of(t), lab),
                                .operator_name = design.operators > 1 ? std::to_string(o) : "",
                                .day = design.days > 1 ? std::to_string(of_day) : "",
                                .instrument = {},
                                .row = study.rows.size() + 1});
          study.gross.push_back(gross);
        }
  return study;
}

// Readings of a sitting that a likelihood-ratio test with the true scale finds, at the same chance
// of a false alarm: the farthest of a tab is taken out while it lies beyond 17.7 (χ² on 3).
std::vector<bool> found_knowing_scale(const Study& study, std::size_t tabs) {
  std::vector<bool> found(study.rows.size(), false);
  for (std::size_t t = 0; t < tabs; ++t) {
    std::vector<std::size_t> in;
    for (std::size_t i = 0; i < study.rows.size(); ++i)
      if (study.rows[i].reading.label == name_of(t)) in.push_back(i);
    while (in.size() > 1) {
      const auto n = static_cast<double>(in.size());
      Triple mean{};
      for (const std::size_t i : in) {
        const Lab& lab = study.rows[i].reading.lab.value;
        mean = {mean[0] + lab.l / n, mean[1] + lab.a / n, mean[2] + lab.b / n};
      }
      std::size_t worst = 0;
      double most = 0;
      for (std::size_t k = 0; k < in.size(); ++k) {
        const Lab& lab = study.rows[in[k]].reading.lab.value;
        const double size = (std::pow((lab.l - mean[0]) / repeat_sd[0], 2) +
                             std::pow((lab.a - mean[1]) / repeat_sd[1], 2) +
                             std::pow((lab.b - mean[2]) / repeat_sd[2], 2)) *
                            n / (n - 1);
        if (size > most) {
          most = size;
          worst = k;
        }
      }
      if (most < 17.73) break;
      if (in.size() == 2) {  // neither of two can be told wrong, nor then the one before them
        for (std::size_t i = 0; i < study.rows.size(); ++i)
          if (study.rows[i].reading.label == name_of(t)) found[i] = false;
        break;
      }
      found[in[worst]] = true;
      in.erase(in.begin() + static_cast<std::ptrdiff_t>(worst));
    }
  }
  return found;
}

double percent(double part, double whole) {
  return whole > 0 ? 100 * part / whole : 0;
}

bool has(const std::string& name, const std::string& text) {
  return name.find(text) != std::string::npos;
}

std::string with_sign(double standard_errors) {
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), "%+.1f", standard_errors);
  return text.data();
}

// How far seen shares lie from stated ones.
struct Tally {
  std::size_t cells = 0, within_two = 0, within_four = 0;
  // Both in per cent, `count` independent trials; gives the standard errors between them.
  double enter(double stated, double seen, double count) {
    const double off = (seen - stated) / std::sqrt(stated * (100 - stated) / count);
    cells += 1;
    within_two += std::fabs(off) <= 2;
    within_four += std::fabs(off) <= 4;
    return off;
  }
};

void outliers(std::size_t studies, std::uint64_t seed, const std::string& only, Tally& tally) {
  std::printf(
      "\noutliers, 16 tabs: design, tails, gross errors | sound set aside %% (stated 0.05; t5 at "
      "most 1) | "
      "found %% (knowing the scale) | 95 %% interval of a mean held %% | repeat variance\n");
  const std::vector<Design> designs{{"one sitting of 2", 2},
                                    {"one sitting of 3", 3},
                                    {"one sitting of 4", 4},
                                    {"one sitting of 5", 5},
                                    {"one sitting of 6", 6},
                                    {"one sitting of 10", 10},
                                    {"3 days of 3", 3, 3},
                                    {"5 days, 3 operators, 3", 3, 5, 3},
                                    {"nested 4 x 2, 2", 2, 4, 2, true},
                                    {"3 days of 3, 20 % missing", 3, 3, 1, false, 0.2}};
  for (const Design& design : designs)
    for (const bool heavy : {false, true})
      for (const double share : {0.0, 0.02, 0.05}) {
        if ((heavy && share > 0) || !has(design.name, only)) continue;
        Random random(11 + seed);
        const std::size_t runs = studies;
        double aside = 0, sound = 0, found = 0, known = 0, gross = 0, held = 0, means = 0;
        double variance = 0;
        for (std::size_t s = 0; s < runs; ++s) {
          std::vector<Lab> tabs;
          for (int t = 0; t < 16; ++t) tabs.push_back(some_tooth(random));
          const Study study = simulate(tabs, design, share, heavy, random);
          const Calibration result = calibrate(study.rows);
          std::vector<bool> listed(study.rows.size(), false);
          for (const SetAside& one : result.set_aside) listed[one.row - 1] = true;
          const std::vector<bool> reference = design.days == 1
                                                  ? found_knowing_scale(study, 16)
                                                  : std::vector<bool>(study.rows.size(), false);
          for (std::size_t i = 0; i < listed.size(); ++i) {
            (study.gross[i] ? gross : sound) += 1;
            (study.gross[i] ? found : aside) += listed[i];
            if (study.gross[i]) known += reference[i];
          }
          for (std::size_t t = 0; t < tabs.size(); ++t) {
            const TabRecord& record = result.records[t];
            const Triple truth{tabs[t].l, tabs[t].a, tabs[t].b};
            for (std::size_t k = 0; k < 3; ++k)
              held += truth[k] >= record.low[k] && truth[k] <= record.high[k];
            means += 3;
          }
          const Mat3& seen = result.parts.front().covariance;
          for (std::size_t k = 0; k < 3; ++k)
            variance += seen[k][k] / (repeat_sd[k] * repeat_sd[k]) / 3 / static_cast<double>(runs);
        }
        const double off = tally.enter(95, percent(held, means), static_cast<double>(runs));
        // Of a pair none is ever set aside, and heavy tails are stated to stay within 1 % only.
        const std::string alarms = heavy || design.repeats * design.days < 3
                                       ? "–"
                                       : with_sign(tally.enter(0.05, percent(aside, sound), sound));
        std::printf(
            "%s, %s, %.0f %% | %.3f (%s) of %.0f | %.1f (%.1f) of %.0f | %.1f (%+.1f) | %.3f\n",
            design.name, heavy ? "t5" : "normal", 100 * share, percent(aside, sound),
            alarms.c_str(), sound, percent(found, gross), percent(known, gross), gross,
            percent(held, means), off, variance);
        std::fflush(stdout);
      }
}

void coverage(std::size_t studies, std::uint64_t seed, Tally& tally) {
  std::printf("\ncoverage error: teeth, reading error | 95 %% interval held %%\n");
  Random random(21 + seed);
  std::vector<Lab> tabs;
  TabSet set{.name = "twelve", .tabs = {}, .viewing = d65, .provenance = {}};
  for (std::size_t t = 0; t < 12; ++t)
    set.tabs.push_back(
        {.name = name_of(t), .lab = {.value = some_tooth(random)}, .reflectance = {}});
  const auto error_of = [&](const Lab& tooth) {
    double least = 1e9;
    for (const Tab& tab : set.tabs) least = std::min(least, de00(tab.lab.value, tooth));
    return least;
  };
  double truth = 0;
  constexpr int many = 400000;
  for (int i = 0; i < many; ++i) truth += error_of(some_tooth(random)) / many;
  for (const double noise : {0.0, 3.0})
    for (const std::size_t count : {60U, 400U, 1000U, 5000U}) {
      const std::size_t runs = studies;
      double held = 0, bias = 0;
      for (std::size_t s = 0; s < runs; ++s) {
        Population teeth{.name = "teeth", .teeth = {}, .viewing = d65, .note = {}};
        const Triple sd{noise * repeat_sd[0], noise * repeat_sd[1], noise * repeat_sd[2]};
        teeth.reading_error = diagonal({sd[0] * sd[0], sd[1] * sd[1], sd[2] * sd[2]});
        for (std::size_t i = 0; i < count; ++i)
          teeth.teeth.push_back(moved(some_tooth(random), errors(random, sd)));
        AuditOptions options;
        options.bootstrap = 999;
        options.seed = s + 1;
        const Coverage found = detail::coverage(
            set, teeth, detail::nearest_distances(set, teeth.teeth, options.weights), options);
        held += truth >= found.low && truth <= found.high;
        bias += (found.error_de00 - truth) / static_cast<double>(runs);
      }
      const double share = percent(held, static_cast<double>(runs));
      std::printf("%zu teeth, rms %.2f | %.1f (%+.1f) of %zu (bias %.3f of %.3f)\n", count,
                  0.35 * noise, share, tally.enter(95, share, static_cast<double>(runs)), runs,
                  bias, truth);
      std::fflush(stdout);
    }
}

TabSet calibrated(const std::vector<Lab>& tabs, const Design& design, Random& random) {
  return calibrate(simulate(tabs, design, 0, false, random).rows, {.name = "bench"}).tabs;
}

void drifts(std::size_t studies, std::uint64_t seed, const std::string& only, Tally& tally) {
  std::printf(
      "\ndrift, 12 tabs and a check tile: design | steady sets that accuse a tab %% (stated "
      "5) | one tab moved by 0.5: found %% | set faded by 1: said with the tile %%, without "
      "%% | whole set moved by 0.5 any way, by 1: said without the tile %% | steady set said to "
      "have changed by the tile %%, to read otherwise without it %%\n");
  for (const Design& design :
       {Design{"one sitting of 3", 3}, Design{"one sitting of 5", 5}, Design{"3 days of 3", 3, 3},
        Design{"3 days, 2 operators, 2", 2, 3, 2}, Design{"nested 4 x 2, 2", 2, 4, 2, true}}) {
    if (!has(design.name, only)) continue;
    Random random(31 + seed), ways(131 + seed);
    double accused = 0, found = 0, told = 0, shifted = 0, wrongly = 0, otherwise = 0;
    double by_half = 0, by_one = 0;
    for (std::size_t s = 0; s < studies; ++s) {
      std::vector<Lab> tabs;
      for (int t = 0; t < 13; ++t) tabs.push_back(some_tooth(random));
      const TabSet before = calibrated(tabs, design, random);
      DriftOptions with;
      with.witnesses = {name_of(12)};
      const TabSet again = calibrated(tabs, design, random);
      const Drift steady = drift(before, again, with);
      accused += std::any_of(steady.tabs.begin(), steady.tabs.end(), [](const TabDrift& tab) {
        return tab.verdict != DriftVerdict::steady;
      });
      otherwise += steady.common_shift_p_value < 0.05;
      wrongly += steady.set_verdict == SetVerdict::changed;
      std::vector<Lab> one = tabs;
      one[0] = at_distance(tabs[0], 0.5, random);
      found += drift(before, calibrated(one, design, random), with).tabs[0].verdict !=
               DriftVerdict::steady;
      std::vector<Lab> all = tabs;
      for (std::size_t t = 0; t < 12; ++t) all[t].l += 1.3;  // ΔE00 about 1
      const TabSet faded = calibrated(all, design, random);
      told += drift(before, faded, with).set_verdict == SetVerdict::changed;
      shifted += drift(before, faded).common_shift_p_value < 0.05;
      for (const double by : {0.5, 1.0}) {
        const Lab from{72, 1.5, 17};
        const Lab to = at_distance(from, by, ways);
        TabSet elsewhere = again;
        for (Tab& tab : elsewhere.tabs)
          tab.lab.value = moved(tab.lab.value, {to.l - from.l, to.a - from.a, to.b - from.b});
        (by < 1 ? by_half : by_one) += drift(before, elsewhere).common_shift_p_value < 0.05;
      }
    }
    const auto runs = static_cast<double>(studies);
    std::printf("%s | %.1f (%+.1f) | %.1f | %.1f, %.1f | %.1f, %.1f | %.1f (%+.1f), %.1f (%+.1f)\n",
                design.name, percent(accused, runs), tally.enter(5, percent(accused, runs), runs),
                percent(found, runs), percent(told, runs), percent(shifted, runs),
                percent(by_half, runs), percent(by_one, runs), percent(wrongly, runs),
                tally.enter(5, percent(wrongly, runs), runs), percent(otherwise, runs),
                tally.enter(5, percent(otherwise, runs), runs));
    std::fflush(stdout);
  }
}

// Chances said and seen, in bins of tenths.
struct Bins {
  std::array<double, 10> said{}, seen{}, count{};
  double all_said = 0, all_seen = 0, all = 0;
  void enter(double chance, bool was) {
    const auto bin = std::min<std::size_t>(9, static_cast<std::size_t>(10 * chance));
    said[bin] += chance;
    seen[bin] += was;
    count[bin] += 1;
    all_said += chance;
    all_seen += was;
    all += 1;
  }
  void print(const char* what, Tally& tally) const {
    std::printf("  %s: said %.1f %%, was %.1f %% of %.0f; bins", what, percent(all_said, all),
                percent(all_seen, all), all);
    for (std::size_t b = 0; b < 10; ++b)
      if (count[b] > 100)
        std::printf(" %.1f/%.1f(%.0f, %+.1f)", percent(said[b], count[b]),
                    percent(seen[b], count[b]), count[b],
                    tally.enter(percent(said[b], count[b]), percent(seen[b], count[b]), count[b]));
    std::printf("\n");
    std::fflush(stdout);
  }
};

void chances(std::size_t studies, std::uint64_t seed, const std::string& only, Tally& tally) {
  std::printf("\nchances, 16 tabs, 3 days of 3 readings each\n");
  const Design design{"3 days of 3", 3, 3};
  struct Case {
    const char* name;
    Triple sd;     // of the tooth's reading, known
    int repeats;   // 0: the sd is stated; n: estimated from n repeats; -1: not stated at all
    bool carried;  // the set was read on another instrument
    bool elsewhere = false;  // the teeth are other ones than those that the prior tells of
    bool own_prior = false;  // the prior is of a thousand such teeth, not the generated one
  };
  const Triple anew{std::hypot(repeat_sd[0], day_sd[0]), std::hypot(repeat_sd[1], day_sd[1]),
                    std::hypot(repeat_sd[2], day_sd[2])};
  for (const Case& one :
       {Case{"instrument", repeat_sd, 0, false}, Case{"photo-like", {1.5, 0.6, 1.2}, 0, false},
        Case{"photo-like, prior of such teeth", {1.5, 0.6, 1.2}, 0, false, false, true},
        Case{"photo-like, darker and yellower teeth", {1.5, 0.6, 1.2}, 0, false, true},
        Case{"set carried over", repeat_sd, 0, true}, Case{"two repeats", repeat_sd, 2, false},
        Case{"three repeats", repeat_sd, 3, false},
        Case{"one reading, nothing stated", anew, -1, false}}) {
    if (!has(one.name, only)) continue;
    Random random(41 + seed);
    MatchOptions options;
    options.draws = 1024;
    if (one.own_prior) {
      std::vector<Lab> read;
      for (int i = 0; i < 1000; ++i) read.push_back(some_tooth(random));
      options.prior = prior_of(population_of("such teeth", std::move(read), d65));
    }
    Bins best, acceptable;
    double held = 0, intervals = 0, sure = 0, sure_right = 0;
    for (std::size_t s = 0; s < studies; ++s) {
      std::vector<Lab> tabs;
      for (int t = 0; t < 16; ++t) tabs.push_back(some_tooth(random));
      TabSet set = calibrated(tabs, design, random);
      std::vector<Lab> truth = tabs;
      if (one.carried) {
        // The other instrument: a shift, and a deviation of each colour's own.
        const Triple shift{0.6, -0.3, 0.5};
        for (Lab& lab : truth) lab = moved(moved(lab, shift), errors(random, {0.35, 0.2, 0.3}));
        std::vector<Lab> both(tabs.begin(), tabs.begin() + 10);
        std::vector<Lab> there(truth.begin(), truth.begin() + 10);
        TabSet first = set;
        first.tabs.resize(10);
        try {
          set = apply(fit_transfer(first, calibrated(there, design, random)), set);
        } catch (const ModelError&) {
          continue;
        }
      }
      std::vector<Lab> teeth;
      std::vector<Reading> readings;
      for (int k = 0; k < 4; ++k) {
        Lab tooth = some_tooth(random);
        if (one.elsewhere) tooth = moved(tooth, {-3, 0.5, 3});
        std::vector<Reading> repeats;
        for (int r = 0; r < std::max(1, one.repeats); ++r) {
          Reading read = reading_of("tooth", moved(tooth, errors(random, one.sd)));
          if (one.repeats == 0)
            read.lab.random =
                diagonal({one.sd[0] * one.sd[0], one.sd[1] * one.sd[1], one.sd[2] * one.sd[2]});
          repeats.push_back(std::move(read));
        }
        teeth.push_back(tooth);
        readings.push_back(combine(repeats));
      }
      const std::vector<Match> matches = match_all(readings, set, options);
      for (std::size_t k = 0; k < teeth.size(); ++k) {
        const Lab& tooth = teeth[k];
        const Match& found = matches[k];
        std::size_t nearest = 0;
        std::vector<double> de;
        for (const Lab& lab : truth) de.push_back(de00(lab, tooth));
        for (std::size_t t = 1; t < de.size(); ++t)
          if (de[t] < de[nearest]) nearest = t;
        for (const RankedTab& ranked : found.ranked) {
          const double true_de = de[std::stoul(ranked.tab.substr(4))];
          held += true_de >= ranked.low && true_de <= ranked.high;
          intervals += 1;
          if (!ranked.surely_acceptable_match) continue;
          sure += 1;
          sure_right += true_de <= 1.8;
        }
        const RankedTab& first = found.ranked.front();
        best.enter(first.chance_best, first.tab == name_of(nearest));
        acceptable.enter(first.chance_acceptable, de[std::stoul(first.tab.substr(4))] <= 1.8);
      }
    }
    std::printf(
        "%s: 95 %% interval of ΔE00 held %.1f %%; surely acceptable right %.1f %% of %.0f\n",
        one.name, percent(held, intervals), percent(sure_right, sure), sure);
    best.print("best", tally);
    acceptable.print("acceptable", tally);
  }
}

void transfers(std::size_t studies, std::uint64_t seed, Tally& tally) {
  std::printf(
      "\ntransfer: tabs | joint 95 %% region held %% | a curved difference warned of %%, a "
      "straight one %%\n");
  for (const std::size_t count : {6U, 8U, 12U, 16U}) {
    Random random(51 + seed);
    double held = 0, cases = 0, bent = 0, straight = 0;
    for (std::size_t s = 0; s < studies; ++s)
      for (const bool curved : {false, true}) {
        TabSet from{.name = "here", .tabs = {}, .viewing = d65, .provenance = {}};
        TabSet to = from;
        to.name = "there";
        const auto there = [&](const Lab& lab) {
          const double bend = curved ? 0.012 * std::pow(lab.l - 72, 2) : 0;
          return moved({lab.l + 0.6 + bend, lab.a - 0.3, lab.b + 0.5},
                       errors(random, {0.35, 0.2, 0.3}));
        };
        for (std::size_t t = 0; t < count; ++t) {
          const Lab lab = some_tooth(random);
          from.tabs.push_back({.name = name_of(t), .lab = {.value = lab}, .reflectance = {}});
          to.tabs.push_back({.name = name_of(t), .lab = {.value = there(lab)}, .reflectance = {}});
        }
        try {
          const Transfer transfer = fit_transfer(from, to);
          const bool warned = transfer.curvature_p_value < 0.01;
          (curved ? bent : straight) += warned;
          if (curved) continue;
          const Lab fresh = some_tooth(random);
          const Reading carried = apply(transfer, reading_of("fresh", fresh));
          held += joint_p_value(carried.lab, there(fresh)) >= 0.05;
          cases += 1;
        } catch (const ModelError&) {
        }
      }
    const auto runs = static_cast<double>(studies);
    std::printf("%zu | %.1f (%+.1f) of %.0f | %.1f, %.1f\n", count, percent(held, cases),
                tally.enter(95, percent(held, cases), cases), cases, percent(bent, runs),
                percent(straight, runs));
    std::fflush(stdout);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::size_t studies = argc > 1 ? std::strtoul(argv[1], nullptr, 10) : 1000;
  std::vector<std::string> parts(argv + std::min(argc, 2), argv + argc);
  std::uint64_t seed = 0;
  std::string only;
  std::erase_if(parts, [&](const std::string& part) {
    if (part.rfind("only=", 0) == 0) only = part.substr(5);
    if (part.rfind("seed=", 0) == 0) seed = std::strtoull(part.c_str() + 5, nullptr, 10);
    return has(part, "=");
  });
  const auto wanted = [&](const char* part) {
    return parts.empty() || std::find(parts.begin(), parts.end(), part) != parts.end();
  };
  std::printf("%zu studies a row; in brackets: standard errors off\n", studies);
  Tally tally;
  if (wanted("outliers")) outliers(studies, seed, only, tally);
  if (wanted("coverage")) coverage(studies, seed, tally);
  if (wanted("drift")) drifts(studies, seed, only, tally);
  if (wanted("chances")) chances(studies, seed, only, tally);
  if (wanted("transfer")) transfers(studies, seed, tally);
  std::printf("\n%zu cells: %zu within two standard errors, %zu within four\n", tally.cells,
              tally.within_two, tally.within_four);
  return 0;
}
