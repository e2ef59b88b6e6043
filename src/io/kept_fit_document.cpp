// A kept fit as a JSON document.

#include "mamelon/files.h"
#include "mamelon/kept_fit.h"
#include "mamelon/limits.h"

#include "io/data_error.h"
#include "io/json_value.h"

namespace mamelon {

KeptFit parse_kept_fit(std::string_view json, const std::string& source) {
  KeptFit kept = detail::parse_described<KeptFit>(json, source);
  detail::as_data_error(source + ": at ", [&] { check_card(kept.card, "$.card"); });
  return kept;
}

KeptFit read_kept_fit(const std::filesystem::path& file) {
  return parse_kept_fit(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const KeptFit& kept) {
  return detail::write_described(kept);
}

}  // namespace mamelon
