#include "io/plan_json.h"

namespace mamelon::detail {
namespace {

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

}  // namespace

Json json_of(const Plan& plan) {
  Json predicted = Json::array();
  for (const PredictedColour& colour : plan.predicted) predicted.push_back(json_of(colour));
  return Json{{"layers", written(plan.layers)},
              {"increments", written(plan.increments)},
              {"predicted", std::move(predicted)},
              {"de00", plan.de00},
              {"de00_expected", plan.de00_rms},
              {"de00_p95", plan.de00_p95},
              {"metamerism", plan.metamerism},
              {"engine", to_string(plan.engine)},
              {"sampled", plan.sampled},
              {"de00_confirmed", plan.de00_confirmed},
              {"contact_wall", plan.contact_wall ? json_of(*plan.contact_wall) : Json(nullptr)}};
}

Json json_of(const PartingTie& tie) {
  return Json{{"nearer", tie.nearer},
              {"farther", tie.farther},
              {"illuminant", tie.viewing.illuminant.name()},
              {"apart_de00", tie.apart_de00}};
}

}  // namespace mamelon::detail
