// What is said of a card, as JSON documents.

#include <string>
#include <utility>

#include "mamelon/card_report.h"
#include "mamelon/error.h"
#include "mamelon/files.h"

#include "io/json_value.h"

namespace mamelon {

using detail::Json;

namespace {

Json patch_json(const PatchFit& patch) {
  Json node{{"name", patch.name}, {"used", patch.used}};
  if (!patch.used) node["reason"] = patch.reason;
  node["pixels"] = patch.pixels;
  node["clipped_fraction"] = patch.clipped_fraction;
  node["reference"] = detail::json_of(patch.reference);
  if (patch.used) {
    node["fitted"] = detail::json_of(patch.fitted);
    node["de00"] = patch.de00;
    node["loo_de00"] = patch.loo_de00;
  }
  return node;
}

// Light over the photo, row by row from its upper left, over the light at the card's centre.
Json light_json(const Photo& photo, const CardFit& fit) {
  constexpr int columns = 9;
  constexpr int rows = 6;
  Json relative = Json::array();
  Json log_sd = Json::array();
  for (int row = 0; row < rows; ++row) {
    Json lights = Json::array();
    Json sds = Json::array();
    for (int column = 0; column < columns; ++column) {
      const PointPx at = {static_cast<double>(photo.width) * (column + 0.5) / columns,
                          static_cast<double>(photo.height) * (row + 0.5) / rows};
      lights.push_back(fit.correction->light(at));
      sds.push_back(fit.correction->light_log_sd(at));
    }
    relative.push_back(std::move(lights));
    log_sd.push_back(std::move(sds));
  }
  return Json{{"relative", std::move(relative)}, {"log_sd", std::move(log_sd)}};
}

}  // namespace

std::string to_json(const CardReport& report) {
  const CardFit& fit = *report.fit;
  Json patches = Json::array();
  for (const PatchFit& patch : fit.patches) patches.push_back(patch_json(patch));
  Json icc = nullptr;
  if (const InputProfile* const profile = report.profile) {
    icc = Json{{"description", profile->description},
               {"form", profile->is_matrix ? "matrix" : "table"},
               {"de00_median", profile->de00_median},
               {"de00_max", profile->de00_max}};
  }
  return detail::dump_results(
      Json{{"mamelon", {{"version", library_version()}, {"provenance", fit.provenance.digest}}},
           {"card",
            {{"name", report.card->name},
             {"method", to_string(fit.correction->method())},
             {"loo_de00_median", fit.loo_de00_median},
             {"loo_de00_max", fit.loo_de00_max},
             {"reprojection_rms_px", fit.reprojection_rms_px},
             {"edge_blur_mm", fit.edge_blur_mm}}},
           {"encoding", to_string(report.photo->encoding)},
           {"light", light_json(*report.photo, fit)},
           {"patches", std::move(patches)},
           {"icc", std::move(icc)},
           {"warnings", report.warnings}});
}

std::string to_json(const CardHistory& history) {
  return detail::dump_results(
      Json{{"mamelon", {{"version", library_version()}}}, {"history", detail::written(history)}});
}

std::string to_json(const CardDesign& design, const std::vector<SuggestedPatch>* suggested) {
  Json told{{"design", detail::written(design)}};
  if (suggested != nullptr) told["add"] = detail::written(*suggested);
  return detail::dump_results(std::move(told));
}

std::string with_design(std::string_view json, const std::string& source,
                        const CardDesign& design) {
  (void)parse_card(json, source);
  Json document = Json::parse(json);
  document["version"] = "1.2";
  document["design"] = detail::written(design);
  return detail::dump(document);
}

}  // namespace mamelon
