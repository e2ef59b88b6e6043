#include "base/listing.h"

#include <algorithm>
#include <cstddef>

namespace mamelon::detail {

std::string listing(std::span<const std::string> names) {
  constexpr std::size_t most = 12;
  constexpr std::size_t longest = 60;
  std::string out;
  for (const std::string& name : names.first(std::min(most, names.size()))) {
    std::size_t end = std::min(longest, name.size());
    // Not within a character of several bytes.
    while (end < name.size() && end > 0 &&
           (static_cast<unsigned char>(name[end]) & 0xC0U) == 0x80U) {
      --end;
    }
    out += (out.empty() ? "" : ", ") + name.substr(0, end) + (end < name.size() ? "…" : "");
  }
  if (names.size() > most) out += " and " + std::to_string(names.size() - most) + " more";
  return out;
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
  return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

}  // namespace mamelon::detail
