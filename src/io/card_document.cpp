// The card as a JSON document.

#include <filesystem>
#include <set>
#include <string>
#include <string_view>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/json_node.h"
#include "io/json_write.h"

namespace mamelon {
namespace {

using detail::Json;
using detail::Node;

constexpr std::string_view format = "mamelon-card";
constexpr double largest_mm = 1000;

Patch patch_of(const Node& node) {
  node.allow({"name", "x_mm", "y_mm", "width_mm", "height_mm", "neutral", "lab", "reflectance"});
  Patch patch;
  patch.name = node.at("name").text();
  patch.x_mm = node.at("x_mm").number(0, largest_mm);
  patch.y_mm = node.at("y_mm").number(0, largest_mm);
  patch.width_mm = node.at("width_mm").number(0.1, largest_mm);
  patch.height_mm = node.at("height_mm").number(0.1, largest_mm);
  if (const auto neutral = node.find("neutral")) patch.neutral = neutral->boolean();
  if (const auto lab = node.find("lab")) patch.lab = detail::lab_of(*lab);
  if (const auto curve = node.find("reflectance")) {
    patch.reflectance = detail::spectrum_of<unit::Reflectance>(*curve, 0, 2);
  }
  if (!patch.lab && !patch.reflectance) {
    node.fail("the patch has no colour; give \"lab\" or \"reflectance\"");
  }
  return patch;
}

void check_inside(const Node& node, const Card& card, double x, double y, double width,
                  double height) {
  constexpr double slack_mm = 1e-6;
  if (x + width > card.width_mm + slack_mm || y + height > card.height_mm + slack_mm) {
    node.fail("lies outside the card's width_mm and height_mm");
  }
}

void read_white(const Node& node, Card& card) {
  node.allow({"lab", "reflectance", "areas"});
  if (const auto lab = node.find("lab")) card.white_lab = detail::lab_of(*lab);
  if (const auto curve = node.find("reflectance")) {
    card.white_reflectance = detail::spectrum_of<unit::Reflectance>(*curve, 0, 2);
  }
  if (!card.white_lab && !card.white_reflectance) {
    node.fail("the white has no colour; give \"lab\" or \"reflectance\"");
  }
  if (const auto areas = node.find("areas")) {
    for (const Node& item : areas->items(0, 1000)) {
      item.allow({"x_mm", "y_mm", "width_mm", "height_mm"});
      const WhiteArea area{item.at("x_mm").number(0, largest_mm),
                           item.at("y_mm").number(0, largest_mm),
                           item.at("width_mm").number(0.1, largest_mm),
                           item.at("height_mm").number(0.1, largest_mm)};
      check_inside(item, card, area.x_mm, area.y_mm, area.width_mm, area.height_mm);
      card.white_areas.push_back(area);
    }
  }
}

CardDesign design_of(const Node& node) {
  node.allow({"errors", "variance_factor"});
  CardDesign design;
  for (const Node& item : node.at("errors").items(1, 20)) {
    item.allow({"light", "de00_median", "de00_p95"});
    design.errors.push_back({item.at("light").text(), item.at("de00_median").number(0, 100),
                             item.at("de00_p95").number(0, 100)});
  }
  design.variance_factor = node.at("variance_factor").number(0.01, 100);
  return design;
}

Json json_of(const CardDesign& design) {
  Json errors = Json::array();
  for (const DesignedError& e : design.errors) {
    errors.push_back(
        Json{{"light", e.light}, {"de00_median", e.de00_median}, {"de00_p95", e.de00_p95}});
  }
  return Json{{"errors", std::move(errors)}, {"variance_factor", design.variance_factor}};
}

Json json_of(const Patch& patch) {
  Json node{{"name", patch.name},           {"x_mm", patch.x_mm},
            {"y_mm", patch.y_mm},           {"width_mm", patch.width_mm},
            {"height_mm", patch.height_mm}, {"neutral", patch.neutral}};
  if (patch.lab) node["lab"] = detail::json_of(*patch.lab);
  if (patch.reflectance) node["reflectance"] = detail::json_of(*patch.reflectance);
  return node;
}

}  // namespace

Card parse_card(std::string_view json, const std::string& source) {
  const Node root = detail::parse_document(json, source, format, 1);
  root.allow({"format", "version", "name", "note", "viewing", "width_mm", "height_mm", "dictionary",
              "fiducials", "white", "patches", "design"});
  const Node viewing = root.at("viewing");
  Card card{.name = root.at("name").text(),
            .width_mm = root.at("width_mm").number(1, largest_mm),
            .height_mm = root.at("height_mm").number(1, largest_mm),
            .fiducials = {},
            .patches = {},
            .white_areas = {},
            .white_reflectance = {},
            .white_lab = {},
            .viewing = detail::viewing_of(viewing),
            .provenance = make_provenance("read_card", "", {sha256_hex(json)})};
  if (const auto note = root.find("note")) (void)note->text(4000);
  if (const Node dictionary = root.at("dictionary"); dictionary.text() != "4x4_50") {
    dictionary.fail("expected \"4x4_50\", the one dictionary of fiducials that is read");
  }
  const auto fiducials = root.at("fiducials").items(4, 4);
  std::set<int> ids;
  for (std::size_t i = 0; i < fiducials.size(); ++i) {
    const Node& node = fiducials[i];
    node.allow({"id", "x_mm", "y_mm", "size_mm"});
    Fiducial& fiducial = card.fiducials[i];
    fiducial = {.id = node.at("id").integer(0, 49),
                .x_mm = node.at("x_mm").number(0, largest_mm),
                .y_mm = node.at("y_mm").number(0, largest_mm),
                .size_mm = node.at("size_mm").number(0.5, largest_mm)};
    if (!ids.insert(fiducial.id).second) node.at("id").fail("the id is used twice");
    check_inside(node, card, fiducial.x_mm, fiducial.y_mm, fiducial.size_mm, fiducial.size_mm);
  }
  if (const auto white = root.find("white")) read_white(*white, card);
  if (const auto design = root.find("design")) card.design = design_of(*design);
  std::set<std::string> names;
  for (const Node& node : root.at("patches").items(1, 2000)) {
    card.patches.push_back(patch_of(node));
    const Patch& patch = card.patches.back();
    if (!names.insert(patch.name).second) {
      node.at("name").fail("the name \"" + patch.name + "\" is used twice");
    }
    check_inside(node, card, patch.x_mm, patch.y_mm, patch.width_mm, patch.height_mm);
  }
  try {
    check_card(card);
  } catch (const ArgumentError& error) {
    throw DataError(source + ": " + error.what());
  }
  return card;
}

Card read_card(const std::filesystem::path& file) {
  return parse_card(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const Card& card) {
  Json fiducials = Json::array();
  for (const Fiducial& f : card.fiducials) {
    fiducials.push_back(
        Json{{"id", f.id}, {"x_mm", f.x_mm}, {"y_mm", f.y_mm}, {"size_mm", f.size_mm}});
  }
  Json patches = Json::array();
  for (const Patch& patch : card.patches) patches.push_back(json_of(patch));
  Json root{{"format", format},          {"version", card.design ? "1.1" : "1.0"},
            {"name", card.name},         {"viewing", to_string(card.viewing)},
            {"width_mm", card.width_mm}, {"height_mm", card.height_mm},
            {"dictionary", "4x4_50"},    {"fiducials", std::move(fiducials)}};
  if (card.white_lab || card.white_reflectance || !card.white_areas.empty()) {
    Json white = Json::object();
    if (card.white_lab) white["lab"] = detail::json_of(*card.white_lab);
    if (card.white_reflectance) white["reflectance"] = detail::json_of(*card.white_reflectance);
    Json areas = Json::array();
    for (const WhiteArea& area : card.white_areas) {
      areas.push_back(Json{{"x_mm", area.x_mm},
                           {"y_mm", area.y_mm},
                           {"width_mm", area.width_mm},
                           {"height_mm", area.height_mm}});
    }
    white["areas"] = std::move(areas);
    root["white"] = std::move(white);
  }
  root["patches"] = std::move(patches);
  if (card.design) root["design"] = json_of(*card.design);
  return detail::dump(root);
}

}  // namespace mamelon
