#include "io/plan_json.h"

namespace mamelon::detail {
namespace {

Json json_of(const PlannedLayer& layer) {
  return Json{{"paste", layer.paste},
              {"role", to_string(layer.role)},
              {"thickness_mm", layer.thickness_mm},
              {"de00_per_0_1_mm", layer.de00_per_0_1_mm},
              {"extrapolated", layer.extrapolated}};
}

Json json_of(const Increment& step) {
  return Json{{"order", step.order},
              {"paste", step.paste},
              {"thickness_mm", step.thickness_mm},
              {"exposure_j_cm2", step.exposure_j_cm2},
              {"exposure_s", step.exposure_s ? Json(*step.exposure_s) : Json(nullptr)},
              {"portion", to_string(step.portion)},
              {"share", step.share},
              {"blue_share", step.blue_share},
              {"blue_measured", step.blue_measured},
              {"contour", step.contour}};
}

Json json_of(const PredictedColour& colour) {
  return Json{{"illuminant", colour.viewing.illuminant.name()},
              {"lab", detail::json_of(colour.lab)},
              {"de00", colour.de00}};
}

Json json_of(const ContactWall& wall) {
  return Json{{"paste", wall.paste},
              {"height_mm", wall.height_mm},
              {"width_mm", wall.width_mm},
              {"in_front", json_of(wall.in_front)}};
}

template <class T>
Json list_of(const std::vector<T>& values) {
  Json list = Json::array();
  for (const T& value : values) list.push_back(json_of(value));
  return list;
}

}  // namespace

Json json_of(const Plan& plan) {
  return Json{{"layers", list_of(plan.layers)},
              {"increments", list_of(plan.increments)},
              {"predicted", list_of(plan.predicted)},
              {"de00", plan.de00},
              {"de00_expected", plan.de00_expected},
              {"de00_p95", plan.de00_p95},
              {"metamerism", plan.metamerism},
              {"engine", plan.engine == Engine::transport ? "transport" : "kubelka_munk"},
              {"sampled", plan.sampled},
              {"de00_confirmed", plan.de00_confirmed},
              {"contact_wall", plan.contact_wall ? json_of(*plan.contact_wall) : Json(nullptr)}};
}

Json json_of(const LayerGain& gain) {
  return Json{{"layers", gain.layers},
              {"de00_expected", gain.de00_expected},
              {"gain_de00", gain.gain_de00}};
}

Json json_of(const PartingTie& tie) {
  return Json{{"nearer", tie.nearer},
              {"farther", tie.farther},
              {"illuminant", tie.viewing.illuminant.name()},
              {"apart_de00", tie.apart_de00}};
}

Json json_of(const std::optional<OutOfReach>& reach) {
  if (!reach) return nullptr;
  return Json{{"de00", reach->de00}, {"reason", reach->reason}};
}

}  // namespace mamelon::detail
