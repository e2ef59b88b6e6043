#pragma once
// What a practice keeps in a case's file beside the case.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace mamelon::detail {

// How many outcomes the record in a case's file holds; none where no practice keeps it. Throws
// DataError as `parse_case`, and for a record that cannot be read.
std::optional<std::size_t> outcomes_kept(std::string_view zip, const std::string& source);

}  // namespace mamelon::detail
