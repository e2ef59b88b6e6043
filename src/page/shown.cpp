#include "page/shown.h"

#include <algorithm>
#include <span>
#include <string>
#include <utility>

namespace mamelon::page {
namespace {

constexpr std::size_t corners = 64;

std::string hex_of(const Lab& lab, const Viewing& viewing) {
  return to_hex(to_display(lab, white_point(viewing)));
}

Json json_of(const std::vector<PointPx>& points) {
  Json out = Json::array();
  for (const PointPx& at : points) out.push_back({at.x, at.y});
  return out;
}

// How sure an outline is, in a word of the page's texts.
std::string confidence_word(double confidence) {
  if (!is_doubtful(confidence)) return "sure";
  return confidence >= 0.5 ? "look" : "unsure";
}

Json json_of(const Match& match, const Viewing& viewing) {
  Json ranked = Json::array();
  for (const RankedTab& tab : match.ranked) {
    ranked.push_back({{"tab", tab.tab},
                      {"hex", hex_of(tab.lab, viewing)},
                      {"de00", tab.de00},
                      {"inside", is_inside_interval(tab)},
                      {"low", tab.low},
                      {"high", tab.high},
                      {"chance_best", tab.chance_best},
                      {"chance_acceptable", tab.chance_acceptable},
                      {"grade", in_words(tab.grade)},
                      {"words", difference_in_words(tab)}});
  }
  return {{"ranked", std::move(ranked)},
          {"ties", match.indistinguishable},
          {"between", match.between ? Json(between_in_words(*match.between)) : Json(nullptr)}};
}

Json json_of(const Reading& reading) {
  const Lab& lab = reading.lab.value;
  return {{"name", zone_name(reading)},
          {"zone", reading.zone},
          {"lab", {lab.l, lab.a, lab.b}},
          {"sd", is_uncertainty_known(reading) ? Json(reading.lab.sd()) : Json(nullptr)},
          {"hex", hex_of(lab, reading.viewing)}};
}

Json json_of(const Report& report, std::size_t place) {
  const ToothReport& tooth = report.teeth[place];
  Json readings = Json::array();
  for (std::size_t i = 0; i < tooth.readings.size(); ++i) {
    Json one = json_of(tooth.readings[i]);
    one["match"] = i < tooth.matches.size() && !tooth.matches[i].ranked.empty()
                       ? json_of(tooth.matches[i], report.viewing)
                       : Json(nullptr);
    one["withheld"] = tooth.decides(i) ? Json(nullptr) : Json(*tooth.withheld[i]);
    readings.push_back(std::move(one));
  }
  Json zones = Json::array();
  Json out = {{"place", place},
              {"name", tooth.name},
              {"planned", tooth.planned},
              {"readings", std::move(readings)},
              {"outline", Json::array()},
              {"confidence", nullptr},
              {"word", ""}};
  if (tooth.zones) {
    out["outline"] = json_of(outline_of(tooth.zones->tooth, corners));
    out["confidence"] = tooth.zones->confidence;
    out["word"] = confidence_word(tooth.zones->confidence);
    for (const Zone& zone : tooth.zones->zones) {
      zones.push_back({{"name", zone.name}, {"outline", json_of(outline_of(zone.mask, corners))}});
    }
  }
  out["zones"] = std::move(zones);
  return out;
}

void add_plans(const Report& report, Json& out) {
  const ToothReport& tooth = report.first();
  if (!tooth.plans || !report.request) return;
  const PlanSet& set = *tooth.plans;
  Json plans = Json::array();
  for (std::size_t i = 0; i < set.plans.size(); ++i) {
    Json one = shown(set.plans[i], *report.request, i);
    one["equally_good"] = is_as_good(set.plans[i], set.plans[set.recommended]);
    plans.push_back(std::move(one));
  }
  out["plans"] = std::move(plans);
  out["recommended"] = set.recommended;
  out["why"] = set.why;
  out["plan_warnings"] = set.warnings;
  const Reading& target = tooth.readings[tooth.planned];
  out["planned_for"] = name_of(target);
  out["target_hex"] = hex_of(target.lab.value, target.viewing);
  const Reading floor = read_spectrum("floor", report.request->floor, report.viewing);
  out["floor_hex"] = hex_of(floor.lab.value, report.viewing);
}

Json json_of(const RankedTab& beside, const Viewing& viewing) {
  return {{"hex", hex_of(beside.lab, viewing)},
          {"de00", beside.de00},
          {"inside", is_inside_interval(beside)},
          {"low", beside.low},
          {"high", beside.high},
          {"words", difference_in_words(beside)},
          {"grade", in_words(beside.grade)}};
}

}  // namespace

Json shown(const TryInReport& found, const Report& report) {
  const Viewing& viewing = report.viewing;
  return {
      {"seen", json_of(found.seen)},
      {"outline", found.zones ? json_of(outline_of(found.zones->tooth, corners)) : Json::array()},
      {"word", found.zones ? confidence_word(found.zones->confidence) : ""},
      {"target", json_of(found.to_target, viewing)},
      {"prediction", found.to_prediction ? json_of(*found.to_prediction, viewing) : Json(nullptr)},
      {"verdict", found.verdict},
      {"cautions", found.cautions}};
}

Json shown(const CardFit& fit) {
  Json outline = Json::array();
  for (const PointMm at :
       {PointMm{0, 0}, PointMm{fit.card_width_mm, 0},
        PointMm{fit.card_width_mm, fit.card_height_mm}, PointMm{0, fit.card_height_mm}}) {
    const PointPx px = to_px(fit, at);
    outline.push_back({px.x, px.y});
  }
  const double median = fit.loo_de00_median;
  return {{"median", median},
          {"max", fit.loo_de00_max},
          {"word", median <= threshold::perceptible_de00  ? "good"
                   : median <= threshold::acceptable_de00 ? "fair"
                                                          : "poor"},
          {"corners", std::move(outline)},
          {"on_card", fit.card_width_mm > 0}};
}

Json shown(const Plan& plan, const PlanRequest& request, std::size_t index) {
  Json layers = Json::array();
  for (std::size_t i = 0; i < plan.layers.size(); ++i) {
    const std::span<const PlannedLayer> so_far(plan.layers.data(), i + 1);
    const PredictedColour seen = i + 1 == plan.layers.size()
                                     ? plan.predicted.front()
                                     : predict_plan(request, so_far).predicted.front();
    layers.push_back({{"paste", plan.layers[i].paste},
                      {"role", to_string(plan.layers[i].role)},
                      {"thickness_mm", plan.layers[i].thickness_mm},
                      {"hex", hex_of(seen.lab, seen.viewing)}});
  }
  Json steps = Json::array();
  for (const Increment& step : plan.increments) {
    steps.push_back({{"order", step.order},
                     {"paste", step.paste},
                     {"thickness_mm", step.thickness_mm},
                     {"exposure_s", step.exposure_s ? Json(*step.exposure_s) : Json(nullptr)},
                     {"exposure_j_cm2", step.exposure_j_cm2},
                     {"portion", to_string(step.portion)},
                     {"contour", step.contour}});
  }
  const PredictedColour& seen = plan.predicted.front();
  return {{"index", index},
          {"layers", std::move(layers)},
          {"increments", std::move(steps)},
          {"wall", plan.contact_wall ? Json{{"paste", plan.contact_wall->paste},
                                            {"height_mm", plan.contact_wall->height_mm},
                                            {"width_mm", plan.contact_wall->width_mm}}
                                     : Json(nullptr)},
          {"de00", plan.de00},
          {"de00_expected", plan.de00_rms},
          {"de00_p95", plan.de00_p95},
          {"hex", hex_of(seen.lab, seen.viewing)}};
}

Json shown(const ToothInView& tooth) {
  return {{"point", {tooth.at.x, tooth.at.y}},
          {"confidence", tooth.confidence},
          {"word", confidence_word(tooth.confidence)},
          {"outline", json_of(outline_of(tooth.tooth, corners))}};
}

Json shown(const Report& report) {
  Json teeth = Json::array();
  for (std::size_t i = 0; i < report.teeth.size(); ++i) teeth.push_back(json_of(report, i));
  Json out = {{"teeth", std::move(teeth)},
              {"warnings", report.warnings},
              {"notes", all_notes(report)},
              {"cautions", cautions()},
              {"card", report.fit ? shown(*report.fit) : Json(nullptr)},
              {"invented", is_invented(report)},
              {"answered", is_answered(report)},
              {"digest", report.provenance.digest}};
  add_plans(report, out);
  return out;
}

Json shown(const Calibration& calibration) {
  Json rows = Json::array();
  for (std::size_t i = 0; i < calibration.tabs.tabs.size(); ++i) {
    const Tab& tab = calibration.tabs.tabs[i];
    const TabRecord& record = calibration.records[i];
    const Lab& lab = tab.lab.value;
    rows.push_back({{"tab", tab.name},
                    {"hex", hex_of(lab, calibration.tabs.viewing)},
                    {"lab", {lab.l, lab.a, lab.b}},
                    {"sd", tab.lab.sd()},
                    {"used", record.used},
                    {"count", record.count},
                    {"mcdm", record.no_repeatability ? Json(nullptr) : Json(record.mcdm_de00)},
                    {"worse", record.repeats_worse}});
  }
  Json aside = Json::array();
  for (const SetAside& one : calibration.set_aside) {
    aside.push_back(
        {{"line", one.row}, {"tab", one.tab}, {"de00", one.de00}, {"reason", one.reason}});
  }
  return {{"rows", std::move(rows)}, {"aside", std::move(aside)}};
}

}  // namespace mamelon::page
