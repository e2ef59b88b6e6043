// The paste set as a JSON document.

#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/json_value.h"

namespace mamelon {

PasteSet parse_paste_set(std::string_view json, const std::string& source) {
  PasteSet set = detail::parse_described<PasteSet>(json, source);
  set.provenance = make_provenance("read_paste_set", "", {sha256_hex(json)});
  return set;
}

PasteSet read_paste_set(const std::filesystem::path& file) {
  return parse_paste_set(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const PasteSet& set) {
  return detail::write_described(set);
}

}  // namespace mamelon
