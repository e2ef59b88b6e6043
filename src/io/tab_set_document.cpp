// The tab set as a JSON document.

#include <cmath>
#include <filesystem>
#include <limits>
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

constexpr std::string_view format = "mamelon-tab-set";

Tab tab_of(const Node& node) {
  node.allow({"name", "lab", "random", "shared", "dof", "shared_dof", "reflectance"});
  Tab tab;
  tab.name = node.at("name").text();
  tab.lab.value = detail::lab_of(node.at("lab"));
  if (const auto random = node.find("random")) tab.lab.random = detail::covariance_of(*random);
  if (const auto shared = node.find("shared")) tab.lab.shared = detail::covariance_of(*shared);
  if (const auto dof = node.find("dof")) tab.lab.dof = dof->number(0, 1e9);
  if (const auto dof = node.find("shared_dof")) tab.shared_dof = dof->number(0, 1e9);
  if (const auto curve = node.find("reflectance")) {
    tab.curve = detail::spectrum_of<unit::Reflectance>(*curve, 0, 2);
  }
  return tab;
}

}  // namespace

TabSet parse_tab_set(std::string_view json, const std::string& source) {
  const Node root = detail::parse_document(json, source, format, 0);
  root.allow({"format", "version", "name", "note", "viewing", "new_reading", "new_reading_dof",
              "tabs"});
  if (const auto note = root.find("note")) (void)note->text(4000);
  TabSet set{.name = root.at("name").text(),
             .tabs = {},
             .viewing = detail::viewing_of(root.at("viewing")),
             .provenance = make_provenance("read_tab_set", "", {sha256_hex(json)})};
  if (const auto covariance = root.find("new_reading"))
    set.new_reading = detail::covariance_of(*covariance);
  if (const auto dof = root.find("new_reading_dof")) set.new_reading_dof = dof->number(0, 1e9);
  std::set<std::string> names;
  for (const Node& node : root.at("tabs").items(1, 10000)) {
    set.tabs.push_back(tab_of(node));
    if (!names.insert(set.tabs.back().name).second) {
      node.at("name").fail("the name \"" + set.tabs.back().name +
                           "\" is used twice; give each tab its own name");
    }
  }
  detail::as_data_error(source, [&] { check_tab_set(set); });
  return set;
}

TabSet read_tab_set(const std::filesystem::path& file) {
  return parse_tab_set(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const TabSet& set) {
  Json tabs = Json::array();
  for (const Tab& tab : set.tabs) {
    Json node{{"name", tab.name}, {"lab", detail::json_of(tab.lab.value)}};
    if (!detail::is_zero(tab.lab.random)) node["random"] = tab.lab.random;
    if (!detail::is_zero(tab.lab.shared)) node["shared"] = tab.lab.shared;
    if (std::isfinite(tab.lab.dof)) node["dof"] = tab.lab.dof;
    if (std::isfinite(tab.shared_dof)) node["shared_dof"] = tab.shared_dof;
    if (tab.curve) node["reflectance"] = detail::json_of(*tab.curve);
    tabs.push_back(std::move(node));
  }
  Json document{{"format", format},
                {"version", "1.0"},
                {"name", set.name},
                {"viewing", to_string(set.viewing)}};
  if (!detail::is_zero(set.new_reading)) document["new_reading"] = set.new_reading;
  if (std::isfinite(set.new_reading_dof)) document["new_reading_dof"] = set.new_reading_dof;
  document["tabs"] = std::move(tabs);
  return detail::dump(document);
}

}  // namespace mamelon
