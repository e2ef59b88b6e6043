#include "mamelon/calibrate.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>
#include <vector>

#include "base/algebra.h"
#include "base/numbers.h"
#include "shade/content.h"
#include "shade/distributions.h"
#include "shade/gross_errors.h"
#include "shade/pair_metric.h"
#include "shade/spread.h"
#include "shade/variance_analysis.h"

namespace mamelon {
namespace {

using detail::outer_square;

using detail::StudyRows;
using detail::VarianceAnalysis;

constexpr double interval_tail = 0.025;
// Fewer degrees of freedom than this say less about a covariance than the prior does.
constexpr double least_dof = 3;

Lab to_lab_value(const Vec3& v) {
  return {v[0], v[1], v[2]};
}

Mat3 mean_metric(const std::vector<Vec3>& colours) {
  Mat3 sum{};
  double count = 0;
  for (const Vec3& c : colours) {
    if (!std::isfinite(c[0])) continue;
    sum = add(sum, detail::local_metric(to_lab_value(c), {}));
    count += 1;
  }
  return scale(sum, 1 / count);
}

// Unbiased estimates from a mean square M on ν degrees of freedom of (tr Σ)² and tr Σ², in the
// ΔE00 metric: E (tr M)² = (tr Σ)² + 2 tr Σ²/ν and E tr M² = (1 + 1/ν) tr Σ² + (tr Σ)²/ν.
struct Axes {
  double of_sum = 0;      // (tr Σ)², relative to (tr M)²
  double of_squares = 0;  // tr Σ², relative to the same
};
Axes unbiased_axes(const Mat3& metric, const detail::MeanSquare& square) {
  const double nu = square.dof;
  const double trace = detail::mean_square(metric, square.matrix);
  const double of_square = trace * trace / detail::effective_axes(metric, square.matrix);
  const double squares =
      (of_square - trace * trace / nu) / (1 + 1 / nu - 2 / (nu * nu)) / (trace * trace);
  return {1 - 2 * squares / nu, squares};
}

// How many equal axes the circumstances' covariances spread over: one figure for all of them,
// because two or three levels cannot show it, drawn towards the shape of the repeats.
double axes_of_factors(const Mat3& metric, const VarianceAnalysis& analysis) {
  constexpr double weight_of_repeats = 3;
  double of_sum = weight_of_repeats;
  double of_squares = weight_of_repeats / detail::effective_axes(metric, analysis.repeat.matrix);
  for (const auto& part : analysis.factors) {
    if (part.mean_square.dof < 2) continue;
    const Axes axes = unbiased_axes(metric, part.mean_square);
    of_sum += part.mean_square.dof * axes.of_sum;
    of_squares += part.mean_square.dof * axes.of_squares;
  }
  return std::clamp(of_sum / std::max(of_squares, 1e-9), 1.0, 3.0);
}

// A part whose mean square expects error + (k / dof) · part, with the interval that is exact where
// the error's mean square is known (Tukey 1951; Williams 1962).
VariancePart part_between(std::string source, const Mat3& metric, const detail::MeanSquare& square,
                          const Mat3& error, double k, double axes) {
  VariancePart part;
  part.source = std::move(source);
  part.dof = square.dof;
  const double per_square = square.dof / k;
  part.covariance = scale(add(square.matrix, scale(error, -1)), per_square);
  part.variance = detail::mean_square(metric, part.covariance);
  part.sd_de00 = std::sqrt(std::max(part.variance, 0.0));
  const double own = detail::mean_square(metric, square.matrix);
  const double rest = detail::mean_square(metric, error);
  const double nu = axes * square.dof;
  const auto at = [&](double p) {
    const double share = detail::chi_squared_quantile(p, nu) / nu;
    return std::max(0.0, (own / share - rest) * per_square);
  };
  part.variance_low = at(1 - interval_tail);
  part.variance_high = at(interval_tail);
  return part;
}

std::vector<VariancePart> parts_of(const Mat3& metric, const VarianceAnalysis& analysis) {
  std::vector<VariancePart> parts;
  if (analysis.repeat.dof > 0) {
    const Mat3 none{};
    VariancePart repeat = part_between("repeat", metric, analysis.repeat, none, analysis.repeat.dof,
                                       detail::effective_axes(metric, analysis.repeat.matrix));
    repeat.levels = analysis.residuals.size();
    parts.push_back(std::move(repeat));
  }
  if (analysis.placement)
    parts.push_back(part_between("placement", metric, analysis.placement_square,
                                 analysis.repeat.matrix, analysis.placement_k,
                                 detail::effective_axes(metric, analysis.placement_square.matrix)));
  const double axes = axes_of_factors(metric, analysis);
  for (const auto& factor : analysis.factors) {
    VariancePart part =
        part_between(detail::factor_names[factor.factor], metric, factor.mean_square,
                     add(analysis.error.matrix, factor.of_nested), factor.k, axes);
    part.levels = factor.levels;
    part.note = factor.note;
    parts.push_back(std::move(part));
  }
  return parts;
}

// The part of a colour's error that changes with day, operator and instrument, each averaged over
// its levels or not, on top of `repeats` times the error of one reading.
struct SharedError {
  Mat3 covariance{};
  double dof = std::numeric_limits<double>::infinity();
};
SharedError shared_error(const Mat3& metric, const VarianceAnalysis& analysis, bool averaged,
                         double repeats) {
  SharedError shared;
  std::vector<std::pair<double, double>> parts;
  const double error = detail::mean_square(metric, analysis.error.matrix);
  double own = repeats;
  for (const auto& factor : analysis.factors) {
    const double share = averaged ? factor.weight_in_mean : factor.weight_in_new;
    shared.covariance = add(shared.covariance, scale(factor.excess, share));
    parts.emplace_back(share * detail::mean_square(metric, factor.pooled.matrix),
                       factor.pooled.dof);
    own -= share;
  }
  shared.covariance =
      add(detail::positive_part(shared.covariance), scale(analysis.error.matrix, repeats));
  if (repeats > 0) parts.emplace_back(own * error, std::max(analysis.error.dof, 0.0));
  shared.dof = detail::satterthwaite_dof(parts);
  return shared;
}

// 95 % interval of every coordinate of a mean, by Student's t.
void fill_interval(const VarianceAnalysis& analysis, const Mat3& random, double random_dof,
                   const Vec3& mean, TabRecord& record) {
  for (std::size_t axis = 0; axis < 3; ++axis) {
    double shared = 0;
    double error_part = random[axis][axis];
    std::vector<std::pair<double, double>> parts;
    for (const auto& factor : analysis.factors) {
      const double share = factor.weight_in_mean;
      const double own = share * factor.pooled.matrix[axis][axis];
      const double rest = share * analysis.error.matrix[axis][axis];
      shared += share < 0 ? own - rest : std::max(0.0, own - rest);
      error_part -= rest;
      parts.emplace_back(own, factor.pooled.dof);
    }
    const double variance = random[axis][axis] + std::max(0.0, shared);
    parts.emplace_back(error_part, random_dof);
    const double half =
        detail::t_quantile(1 - interval_tail, detail::careful_dof(parts)) * std::sqrt(variance);
    record.low[axis] = mean[axis] - half;
    record.high[axis] = mean[axis] + half;
  }
}

// Mean square of a tab's residuals where it is significantly larger than the others'.
std::optional<detail::MeanSquare> wider_scatter(const Mat3& metric, const StudyRows& rows,
                                                const VarianceAnalysis& analysis, std::size_t tab) {
  constexpr double chance = 0.001;
  detail::MeanSquare own;
  Mat3 rest{};
  double count = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Vec3& r = analysis.residuals[i];
    (rows.tab[i] == tab ? own.matrix : rest) =
        add(rows.tab[i] == tab ? own.matrix : rest, outer_square(r));
    if (rows.tab[i] == tab) count += 1;
  }
  own.dof = count - 1;
  const double rest_dof = analysis.error.dof - own.dof;
  if (own.dof < least_dof || rest_dof < least_dof) return std::nullopt;
  own.matrix = scale(own.matrix, 1 / own.dof);
  const double others = detail::mean_square(metric, rest) / rest_dof;
  const double axes = detail::effective_axes(metric, analysis.error.matrix);
  const double ratio = detail::mean_square(metric, own.matrix) / others;
  const auto tabs = static_cast<double>(rows.tab_names.size());
  if (1 - detail::f_cdf(ratio, axes * own.dof, axes * rest_dof) >= chance / tabs)
    return std::nullopt;
  return own;
}

std::vector<SetAside> list_gross(std::span<const RepeatReading> readings, const StudyRows& rows,
                                 const detail::GrossErrors& gross) {
  std::vector<SetAside> listed;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (!gross.gross[i]) continue;
    SetAside entry;
    entry.row = readings[i].row == 0 ? i + 1 : readings[i].row;
    entry.tab = rows.tab_names[rows.tab[i]];
    entry.lab = readings[i].reading.lab.value;
    entry.distance = gross.distance[i];
    entry.chance_gross = gross.chance_gross[i];
    entry.de00 = de00(to_lab_value(gross.expected[i]), entry.lab);
    entry.reason =
        "lies " + detail::format_fixed(entry.distance, 1) + " standard deviations (ΔE00 " +
        detail::format_fixed(entry.de00, 2) + ") from what the other readings of '" + entry.tab +
        "' lead to expect; sound readings stay within " + detail::format_fixed(gross.cut, 1);
    listed.push_back(std::move(entry));
  }
  return listed;
}

// What is not known of a tab's readings moves its mean and widens its covariance: a reading set
// aside may have been sound, by its chance; of readings that disagree any may be the right one.
void add_doubts(const StudyRows& rows, const detail::GrossErrors& gross, std::size_t tab,
                Vec3& mean, Mat3& random) {
  const auto off = [&](std::size_t i) {
    Vec3 rest{};
    for (std::size_t axis = 0; axis < 3; ++axis)
      rest[axis] = rows.lab[i][axis] - gross.expected[i][axis];
    return rest;
  };
  const auto move = [&](const Vec3& by, double factor) {
    for (std::size_t axis = 0; axis < 3; ++axis) mean[axis] += factor * by[axis];
  };
  double used = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) used += rows.tab[i] == tab && !gross.gross[i];
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows.tab[i] != tab || !gross.gross[i]) continue;
    const Vec3 rest = off(i);
    const double sound = 1 - gross.chance_gross[i];
    move(rest, sound / (used + 1));
    random =
        add(random, scale(outer_square(rest), sound * (1 - sound) / ((used + 1) * (used + 1))));
  }
  // A reading that was kept may be a gross error too: the mean of the others lies farther from it.
  // Of two it is told of both alike, and one of them is it.
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows.tab[i] != tab || !gross.keep[i] || used < 2) continue;
    const double chance = used == 2 ? gross.chance_gross[i] / 2 : gross.chance_gross[i];
    random = add(random, scale(outer_square(off(i)), chance / ((used - 1) * (used - 1))));
  }
  for (const auto& torn : gross.torn) {
    if (torn.tab != tab) continue;
    const double share = 1 / static_cast<double>(torn.rows.size());
    Vec3 centre{};
    for (const std::size_t i : torn.rows) {
      const Vec3 rest = off(i);
      for (std::size_t axis = 0; axis < 3; ++axis) centre[axis] += share * rest[axis];
    }
    for (const std::size_t i : torn.rows) {
      Vec3 apart = off(i);
      if (gross.keep[i]) move(apart, -1);
      for (std::size_t axis = 0; axis < 3; ++axis) apart[axis] -= centre[axis];
      random = add(random, scale(outer_square(apart), share));
    }
    move(centre, 1);
  }
}

// The mean curve of the readings used, where all of them have one on one grid.
std::optional<Reflectance> mean_curve(std::span<const RepeatReading> readings,
                                      const std::vector<std::size_t>& used) {
  if (used.empty() || !readings[used.front()].reading.reflectance) return std::nullopt;
  const Grid& grid = readings[used.front()].reading.reflectance->grid();
  std::vector<double> mean(grid.count, 0.0);
  for (const std::size_t i : used) {
    const auto& curve = readings[i].reading.reflectance;
    if (!curve || curve->grid() != grid) return std::nullopt;
    for (std::size_t k = 0; k < grid.count; ++k) mean[k] += (*curve)[k];
  }
  for (double& value : mean) value /= static_cast<double>(used.size());
  return Reflectance(grid, std::move(mean));
}

// What the readings say of their own shared error, for instance a camera's.
Mat3 own_shared(std::span<const RepeatReading> readings) {
  Mat3 largest{};
  double trace = 0;
  for (const RepeatReading& repeat : readings) {
    const Mat3& s = repeat.reading.lab.shared;
    if (!is_covariance(s))
      throw ArgumentError("reading '" + repeat.reading.label +
                          "' has a shared covariance that is not positive semi-definite");
    const double size = s[0][0] + s[1][1] + s[2][2];
    if (size > trace) {
      trace = size;
      largest = s;
    }
  }
  return largest;
}

std::vector<std::string> circumstances(const StudyRows& rows, const VarianceAnalysis& analysis) {
  std::vector<std::string> warnings = analysis.notes;
  for (std::size_t f = 0; f < detail::factor_count; ++f) {
    const auto& names = rows.level_names[f];
    const std::string name = detail::factor_names[f];
    std::string words;
    if (names.size() == 1) {
      words =
          names.front().empty() ? "no " + name + " was noted" : "all readings share one " + name;
      words += ": the intervals do not contain the error that changes with the ";
      words += name;
    } else if (std::find(names.begin(), names.end(), std::string{}) != names.end()) {
      words = "rows without " + name;
      words += " were taken as one " + name;
      words += " of their own";
    }
    if (!words.empty()) warnings.push_back(std::move(words));
  }
  return warnings;
}

void check_options(const CalibrationOptions& options) {
  if (!(options.gross_error_chance > 0 && options.gross_error_chance <= 0.05))
    throw ArgumentError("the chance of a false alarm among gross errors must lie in (0, 0.05]");
  for (const double sd : options.unrepeated_sd)
    if (!(sd > 0 && std::isfinite(sd)))
      throw ArgumentError("the standard deviations of an unrepeated reading must be positive");
}

std::string content_of(const RepeatReading& repeat) {
  return repeat.reading.label + "\n" + detail::content_of(repeat.reading.lab) + "\n" +
         repeat.operator_name + "\n" + repeat.day + "\n" + repeat.instrument + "\n";
}

}  // namespace

Mcdm mcdm(std::span<const Lab> readings) {
  if (readings.empty()) throw ArgumentError("the mean colour difference of no readings was asked");
  const auto count = static_cast<double>(readings.size());
  Lab mean{};
  for (const Lab& lab : readings) {
    mean.l += lab.l / count;
    mean.a += lab.a / count;
    mean.b += lab.b / count;
  }
  Mcdm result;
  for (const Lab& lab : readings) {
    result.de00 += de00(mean, lab) / count;
    result.de76 += de76(mean, lab) / count;
  }
  return result;
}

Calibration calibrate(std::span<const RepeatReading> readings, const CalibrationOptions& options) {
  check_options(options);
  const StudyRows rows = detail::study_rows(readings);
  const detail::GrossErrors gross =
      detail::find_gross_errors(rows, options.gross_error_chance, options.unrepeated_sd);
  const StudyRows sound = detail::subset(rows, gross.keep);

  const Mat3 metric = mean_metric(sound.lab);
  VarianceAnalysis analysis = detail::analyse(sound, metric);
  // Setting aside beyond the cut takes the tails of sound readings too.
  for (Mat3* square : {&analysis.error.matrix, &analysis.repeat.matrix})
    *square = scale(*square, gross.variance_ratio);
  const Mat3 prior = diagonal({options.unrepeated_sd[0] * options.unrepeated_sd[0],
                               options.unrepeated_sd[1] * options.unrepeated_sd[1],
                               options.unrepeated_sd[2] * options.unrepeated_sd[2]});
  Mat3 pooled = analysis.error.matrix;
  double pooled_dof = analysis.error.dof;
  std::vector<std::optional<detail::MeanSquare>> own_scatter;
  for (std::size_t t = 0; t < rows.tab_names.size(); ++t)
    own_scatter.push_back(wider_scatter(metric, sound, analysis, t));
  if (!analysis.placement)
    for (const auto& own : own_scatter) {
      if (!own || pooled_dof - own->dof < least_dof) continue;
      // The others need not carry what this tab alone scatters.
      pooled = scale(add(scale(pooled, pooled_dof), scale(own->matrix, -own->dof)),
                     1 / (pooled_dof - own->dof));
      pooled_dof -= own->dof;
    }
  pooled = detail::positive_part(pooled);
  const bool weak = pooled_dof < least_dof;
  if (weak) {
    pooled_dof = std::max(pooled_dof, 0.0);
    pooled = scale(add(scale(pooled, pooled_dof), scale(prior, least_dof)),
                   1 / (pooled_dof + least_dof));
    pooled_dof = pooled_dof > 0 ? pooled_dof + least_dof : 0;
  }
  SharedError shared = shared_error(metric, analysis, true, 0);
  const SharedError anew = shared_error(metric, analysis, false, 1);
  shared.covariance = add(shared.covariance, own_shared(readings));

  Calibration result{.tabs = {.name = options.name,
                              .tabs = {},
                              .viewing = readings.front().reading.viewing,
                              .provenance = {}},
                     .records = {},
                     .set_aside = list_gross(readings, rows, gross),
                     .parts = parts_of(metric, analysis),
                     .new_reading = {},
                     .warnings = circumstances(rows, analysis)};
  result.new_reading = anew.covariance;
  result.new_reading_dof = anew.dof;
  result.tabs.new_reading = anew.covariance;
  result.tabs.new_reading_dof = anew.dof;
  if (weak)
    result.warnings.push_back("too few repeat readings to tell repeatability: a prior of " +
                              detail::format_short(options.unrepeated_sd[0]) +
                              " in L* stands in for it");

  std::size_t without_curve = 0;
  for (std::size_t t = 0; t < rows.tab_names.size(); ++t) {
    TabRecord record;
    record.tab = rows.tab_names[t];
    std::vector<std::size_t> used;
    std::vector<Lab> colours;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (rows.tab[i] != t) continue;
      ++record.count;
      if (gross.gross[i]) continue;
      used.push_back(i);
      colours.push_back(readings[i].reading.lab.value);
    }
    record.used = used.size();
    record.no_repeatability = used.size() == 1;
    const Mcdm spread = mcdm(colours);
    record.mcdm_de00 = spread.de00;
    record.mcdm_de76 = spread.de76;

    Mat3 one_reading = pooled;
    double dof = pooled_dof;
    if (const auto& own = own_scatter[t]) {
      record.repeats_worse = true;
      one_reading = own->matrix;
      dof = own->dof;
      result.warnings.push_back("tab '" + record.tab +
                                "' repeats worse than the others and keeps its own covariance");
    } else if (record.no_repeatability) {
      // Nothing shows that this tab repeats like the others: the wider of theirs and the prior.
      if (detail::mean_square(metric, prior) > detail::mean_square(metric, pooled)) {
        one_reading = prior;
        dof = 0;
      }
      result.warnings.push_back("tab '" + record.tab + "' was read once only: no repeatability");
    }
    Vec3 mean = analysis.means[t];
    Mat3 random = scale(one_reading, analysis.mean_factor[t]);
    add_doubts(rows, gross, t, mean, random);
    fill_interval(analysis, random, dof, mean, record);

    Tab tab;
    tab.name = record.tab;
    tab.lab = {to_lab_value(mean), random, shared.covariance, dof};
    tab.shared_dof = shared.dof;
    tab.reflectance = mean_curve(readings, used);
    if (!tab.reflectance) ++without_curve;
    result.tabs.tabs.push_back(std::move(tab));
    result.records.push_back(std::move(record));
  }
  if (without_curve > 0 && without_curve < rows.tab_names.size())
    result.warnings.push_back(std::to_string(without_curve) +
                              " tabs have no common curve and stand in the set by CIELAB alone");
  for (const auto& torn : gross.torn)
    result.warnings.push_back("the readings of tab '" + rows.tab_names[torn.tab] +
                              "' disagree and none can be told wrong: read it again");
  std::string content;
  for (const RepeatReading& repeat : readings) content += content_of(repeat);
  result.tabs.provenance = make_provenance(
      "calibrate",
      "name=" + options.name +
          " gross_error_chance=" + detail::format_number(options.gross_error_chance) +
          " unrepeated_sd=" + detail::format_number(options.unrepeated_sd[0]) + "," +
          detail::format_number(options.unrepeated_sd[1]) + "," +
          detail::format_number(options.unrepeated_sd[2]),
      {sha256_hex(content)});
  return result;
}

}  // namespace mamelon
