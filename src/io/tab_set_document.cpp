// The tab set as a JSON document.

#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/json_value.h"

namespace mamelon {

TabSet parse_tab_set(std::string_view json, const std::string& source) {
  TabSet set = detail::parse_described<TabSet>(json, source);
  set.provenance = make_provenance("read_tab_set", "", {sha256_hex(json)});
  return set;
}

TabSet read_tab_set(const std::filesystem::path& file) {
  return parse_tab_set(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const TabSet& set) {
  return detail::write_described(set);
}

}  // namespace mamelon
