// The paste set as a JSON document.

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/json_node.h"
#include "io/json_write.h"

namespace mamelon {
namespace {

using detail::Json;
using detail::Node;

constexpr std::string_view format = "mamelon-paste-set";

Role role_of(const Node& node) {
  try {
    return role_from_string(node.text());
  } catch (const ArgumentError& error) {
    node.fail(error.what());
  }
}

void set_number(const Node& node, std::string_view key, double least, double most, double& value) {
  if (const auto found = node.find(key)) value = found->number(least, most);
}

ConstantsMode mode_of(const Node& node, const Grid& grid) {
  node.allow({"ln_absorption", "ln_reduced_scattering", "anisotropy", "refractive_index"});
  constexpr double most = 20;
  ConstantsMode mode{
      .ln_absorption = node.at("ln_absorption").numbers(grid.count, grid.count, -most, most),
      .ln_reduced_scattering =
          node.at("ln_reduced_scattering").numbers(grid.count, grid.count, -most, most)};
  set_number(node, "anisotropy", -1, 1, mode.anisotropy);
  set_number(node, "refractive_index", -1, 1, mode.refractive_index);
  return mode;
}

Json json_of(const TransportConstants& constants) {
  Json out{{"absorption_per_mm", constants.absorption.values()},
           {"reduced_scattering_per_mm", constants.reduced_scattering.values()},
           {"anisotropy", constants.anisotropy}};
  if (constants.modes.empty()) return out;
  out["reflectance_sd"] = constants.reflectance_sd;
  Json modes = Json::array();
  for (const ConstantsMode& mode : constants.modes) {
    modes.push_back(Json{{"ln_absorption", mode.ln_absorption},
                         {"ln_reduced_scattering", mode.ln_reduced_scattering},
                         {"anisotropy", mode.anisotropy},
                         {"refractive_index", mode.refractive_index}});
  }
  out["modes"] = std::move(modes);
  return out;
}

Paste paste_of(const Node& node, const Grid& grid) {
  node.allow({"name", "role", "absorption_per_mm", "scattering_per_mm", "refractive_index",
              "increment_limit_mm", "radiant_exposure_j_cm2", "minimum_mm", "maximum_mm",
              "reflectance_sd", "transport", "fitted_mm"});
  constexpr double most_per_mm = 1000;
  Paste paste;
  paste.name = node.at("name").text();
  paste.role = role_of(node.at("role"));
  paste.absorption =
      PerMm(grid, node.at("absorption_per_mm").numbers(grid.count, grid.count, 0, most_per_mm));
  paste.scattering =
      PerMm(grid, node.at("scattering_per_mm").numbers(grid.count, grid.count, 1e-9, most_per_mm));
  set_number(node, "refractive_index", 1.3, 1.8, paste.refractive_index);
  set_number(node, "increment_limit_mm", 0.1, 6, paste.increment_limit_mm);
  set_number(node, "radiant_exposure_j_cm2", 1, 200, paste.radiant_exposure_j_cm2);
  set_number(node, "minimum_mm", 0.01, 20, paste.minimum_mm);
  set_number(node, "maximum_mm", 0.01, 30, paste.maximum_mm);
  set_number(node, "reflectance_sd", 0, 0.2, paste.reflectance_sd);
  if (const auto transport = node.find("transport")) {
    transport->allow({"absorption_per_mm", "reduced_scattering_per_mm", "anisotropy", "modes",
                      "reflectance_sd"});
    const auto curve = [&](std::string_view key, double least) {
      return PerMm(grid, transport->at(key).numbers(grid.count, grid.count, least, most_per_mm));
    };
    paste.transport =
        TransportConstants{.absorption = curve("absorption_per_mm", 0),
                           .reduced_scattering = curve("reduced_scattering_per_mm", 1e-9),
                           .anisotropy = transport->at("anisotropy").number(0, 0.999)};
    set_number(*transport, "reflectance_sd", 0, 0.2, paste.transport->reflectance_sd);
    if (const auto modes = transport->find("modes")) {
      for (const Node& mode : modes->items(0, most_constants_modes)) {
        paste.transport->modes.push_back(mode_of(mode, grid));
      }
    }
  }
  if (const auto fitted = node.find("fitted_mm")) {
    const std::vector<double> range = fitted->numbers(2, 2, 0.001, 30);
    if (range[0] > range[1]) fitted->fail("must be [thinnest, thickest] in mm");
    paste.fitted_from_mm = range[0];
    paste.fitted_to_mm = range[1];
  }
  return paste;
}

}  // namespace

PasteSet parse_paste_set(std::string_view json, const std::string& source) {
  const Node root = detail::parse_document(json, source, format, 3);
  root.allow({"format", "version", "name", "note", "grid", "pastes"});
  if (const auto note = root.find("note")) (void)note->text(4000);
  const Node stated = root.at("grid");
  stated.allow({"first_nm", "step_nm", "count"});
  const Grid grid{.first_nm = stated.at("first_nm").number(200, 2500),
                  .step_nm = stated.at("step_nm").number(0.1, 20),
                  .count = static_cast<std::size_t>(stated.at("count").integer(3, 2400))};
  if (grid.last_nm() > 2500) stated.fail("the grid runs past 2500 nm");
  PasteSet set{.name = root.at("name").text(),
               .pastes = {},
               .provenance = make_provenance("read_paste_set", "", {sha256_hex(json)})};
  std::set<std::string> names;
  for (const Node& node : root.at("pastes").items(1, 1000)) {
    set.pastes.push_back(paste_of(node, grid));
    if (!names.insert(set.pastes.back().name).second) {
      node.at("name").fail("the name \"" + set.pastes.back().name +
                           "\" is used twice; give each paste its own name");
    }
  }
  detail::as_data_error(source, [&] { check_paste_set(set); });
  return set;
}

PasteSet read_paste_set(const std::filesystem::path& file) {
  return parse_paste_set(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const PasteSet& set) {
  Json pastes = Json::array();
  std::string_view version = "1.0";
  for (const Paste& paste : set.pastes) {
    pastes.push_back(Json{{"name", paste.name},
                          {"role", to_string(paste.role)},
                          {"absorption_per_mm", paste.absorption.values()},
                          {"scattering_per_mm", paste.scattering.values()},
                          {"refractive_index", paste.refractive_index},
                          {"increment_limit_mm", paste.increment_limit_mm},
                          {"radiant_exposure_j_cm2", paste.radiant_exposure_j_cm2},
                          {"minimum_mm", paste.minimum_mm},
                          {"maximum_mm", paste.maximum_mm},
                          {"reflectance_sd", paste.reflectance_sd}});
    if (paste.transport) {
      // 1.1 brought the constants of radiative transfer.
      version = std::max(version, std::string_view("1.1"));
      pastes.back()["transport"] = json_of(*paste.transport);
      // 1.3 brought the errors of the constants.
      if (!paste.transport->modes.empty()) version = "1.3";
    }
    if (std::isfinite(paste.fitted_to_mm)) {
      // 1.2 brought the thicknesses of the fit.
      version = std::max(version, std::string_view("1.2"));
      pastes.back()["fitted_mm"] = {paste.fitted_from_mm, paste.fitted_to_mm};
    }
  }
  const Grid grid = set.pastes.empty() ? Grid{} : set.pastes.front().absorption.grid();
  return detail::dump(Json{
      {"format", format},
      {"version", version},
      {"name", set.name},
      {"grid", {{"first_nm", grid.first_nm}, {"step_nm", grid.step_nm}, {"count", grid.count}}},
      {"pastes", std::move(pastes)}});
}

}  // namespace mamelon
