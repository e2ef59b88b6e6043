#include "mamelon/outcome.h"

#include <algorithm>
#include <utility>

#include "mamelon/error.h"

#include "base/find.h"
#include "base/listing.h"
#include "base/numbers.h"
#include "case/tooth_edge.h"

namespace mamelon {
namespace {

constexpr const char* target_name = "target";
constexpr const char* prediction_name = "prediction";

// The try-in's photo as a case of its own, read by the same card in the same way.
Case case_of_photo(const Case& given, std::size_t headline, const TryIn& try_in) {
  if (!given.card && !given.kept_fit) {
    throw ArgumentError(
        "a photo of the try-in is read by the case's card, and this case has none; give a reading");
  }
  Case out{.viewing = given.viewing};
  out.photo = try_in.photo;
  out.card = given.card;
  out.kept_fit = given.kept_fit;
  out.drift = given.drift;
  out.method = given.method;
  out.margin_mm = given.margin_mm;
  out.grid = given.grid;
  out.posterior = given.posterior;
  out.from_above = given.from_above;
  out.teeth.push_back({.number = given.teeth.at(headline).number,
                       .at = try_in.at,
                       .kind = SurfaceKind::restoration});
  return out;
}

// Reads what was tried in, in the zone of the target.
void see(const Case& given, std::size_t headline, const Reading& target, const TryIn& try_in,
         SolveMemory* memory, TryInReport& out) {
  if (try_in.photo.has_value() == try_in.reading.has_value()) {
    throw ArgumentError("a try-in is one of a photo and a reading");
  }
  if (try_in.reading) {
    check_same_viewing(try_in.reading->viewing, given.viewing, "the try-in's reading");
    out.seen = *try_in.reading;
    return;
  }
  const Report report = solve(case_of_photo(given, headline, try_in), {}, memory);
  const ToothReport& tooth = report.first();
  const auto found = detail::find_by(tooth.readings, target.zone, &Reading::zone);
  if (found == tooth.readings.end()) {
    std::vector<std::string> known;
    for (const Reading& reading : tooth.readings) known.push_back(zone_name(reading));
    throw ArgumentError("the try-in has no zone \"" + target.zone + "\"; there are " +
                        detail::listing(known));
  }
  out.seen = *found;
  out.zones = tooth.zones;
}

std::optional<Plan> plan_of(const Report& report, const TryIn& try_in) {
  if (!report.request || try_in.layers.empty()) return {};
  std::vector<PlannedLayer> layers;
  for (const PlacedLayer& layer : try_in.layers) {
    layers.push_back({.paste = layer.paste, .thickness_mm = layer.thickness_mm});
  }
  return predict_plan(*report.request, layers);
}

Tab tab_of(const char* name, const Measured<Lab>& lab) {
  return {.name = name, .lab = lab, .reflectance = {}};
}

// The prediction as the instrument of the try-in's reading would read it.
Measured<Lab> as_read(const Case& given, const Report& report, const TryIn& try_in,
                      const TryInReport& found) {
  Measured<Lab> prediction{*found.predicted, {}, {}};
  if (!try_in.reading || !given.aperture) return prediction;
  const Reading whole =
      detail::seen_widely(found.seen, *given.aperture, report.request->specular_included);
  const Lab& read = found.seen.lab.value;
  Lab& lab = prediction.value;
  lab = {lab.l - (whole.lab.value.l - read.l), lab.a - (whole.lab.value.a - read.a),
         lab.b - (whole.lab.value.b - read.b)};
  prediction.shared = add(whole.lab.shared, scale(found.seen.lab.shared, -1));
  return prediction;
}

std::string verdict_of(const TryIn& try_in, const TryInReport& found) {
  const std::string away = detail::format_fixed(found.to_target.de00, 1);
  if (!try_in.cured || !try_in.wet) {
    return "It lies ΔE00 " + away + " from the target; it is too early to judge the plan by it.";
  }
  if (!found.stated_p95) {
    return "It lies ΔE00 " + away + " from the target.";
  }
  const std::string stated = "19 of 20 such fillings were to come within ΔE00 " +
                             detail::format_fixed(*found.stated_p95, 1);
  if (found.to_target.de00 <= *found.stated_p95) {
    return "It lies ΔE00 " + away + " from the target, as the plan allowed for: " + stated + ".";
  }
  if (found.to_target.low <= *found.stated_p95) {
    return "It lies ΔE00 " + away + " from the target, farther than the plan allowed for (" +
           stated +
           "), but the reading may be off by that much: read it again before anything is changed.";
  }
  return "It lies ΔE00 " + away + " from the target, farther than plan and reading allow for (" +
         stated + "): look at thicknesses, floor and pastes before the next plan.";
}

std::vector<std::string> cautions_of(const TryIn& try_in) {
  std::vector<std::string> out;
  if (!try_in.cured) {
    out.emplace_back(
        "The paste is not cured: curing shifts its colour by ΔEab 4.2 on average at once (Oper "
        "Dent 2015;40:271), so this says little of the finished restoration.");
  }
  if (!try_in.wet) {
    out.emplace_back(
        "The tooth is dry: 87 of 100 teeth change visibly within a minute of drying (Suliman et "
        "al. 2019, J Esthet Restor Dent 31:118); compare again when it is wet.");
  }
  return out;
}

}  // namespace

TryInReport compare_try_in(const Case& given, const Report& report, const TryIn& try_in,
                           SolveMemory* memory) {
  const ToothReport& tooth = report.first();
  const Reading& target = tooth.readings.at(tooth.planned);
  auto out = blank<TryInReport>();
  see(given, report.headline, target, try_in, memory, out);
  const std::optional<Plan> plan = plan_of(report, try_in);
  TabSet beside{.name = "what it was to be",
                .tabs = {tab_of(target_name, target.lab)},
                .viewing = given.viewing,
                .provenance = {}};
  if (plan) {
    out.predicted = plan->predicted.front().lab;
    out.stated_p95 = plan->de00_p95;
    beside.tabs.push_back(tab_of(prediction_name, as_read(given, report, try_in, out)));
  }
  // A try-in is no tooth of the population: nothing but the readings counts.
  MatchOptions options = given.match;
  options.prior = {};
  options.keep = 0;
  for (RankedTab& one : match(out.seen, beside, options).ranked) {
    if (one.tab == target_name) {
      out.to_target = std::move(one);
    } else {
      out.to_prediction = std::move(one);
    }
  }
  out.verdict = verdict_of(try_in, out);
  out.cautions = cautions_of(try_in);
  return out;
}

}  // namespace mamelon
