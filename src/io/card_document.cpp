// The card as a JSON document.

#include "mamelon/card.h"
#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "io/data_error.h"
#include "io/json_value.h"

namespace mamelon {

Card parse_card(std::string_view json, const std::string& source) {
  Card card = detail::parse_described<Card>(json, source);
  detail::as_data_error(source + ": at ", [&] { check_card(card, "$"); });
  card.provenance = make_provenance("read_card", "", {sha256_hex(json)});
  return card;
}

Card read_card(const std::filesystem::path& file) {
  return parse_card(read_file(file, limits::document_bytes), file.string());
}

std::string to_json(const Card& card) {
  return detail::write_described(card);
}

}  // namespace mamelon
