// The tab set as a JSON document.

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/json_value.h"

namespace mamelon {

TabSet parse_tab_set(std::string_view json, const std::string& source) {
  TabSet set = detail::parse_described<TabSet>(json, source);
  set.provenance = make_provenance("read_tab_set", "", {sha256_hex(json)});
  // The rule of cards and tabs alike: see `lab_disagreement`.
  for (const Tab& tab : set.tabs) {
    if (!tab.reflectance) continue;
    const double apart = lab_disagreement(tab.lab.value, *tab.reflectance, set.viewing);
    if (apart > largest_lab_disagreement) {
      throw DataError(source + ": tab '" + tab.name + "': its Lab and its reflectance are ΔE00 " +
                      detail::format_fixed(apart, 1) + " apart under " + to_string(set.viewing) +
                      "; in a photo the reflectance counts, and they may differ by 1");
    }
  }
  return set;
}

TabSet read_tab_set(const std::filesystem::path& file) {
  return parse_tab_set(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const TabSet& set) {
  return detail::write_described(set);
}

}  // namespace mamelon
