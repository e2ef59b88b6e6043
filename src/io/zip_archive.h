#pragma once
// A zip in memory: parts of a name each, stored as they are, in a fixed order and with fixed times,
// so that the same parts give the same bytes.

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace mamelon::detail {

struct ZipPart {
  std::string name;
  std::string content;
};

std::string write_zip(const std::vector<ZipPart>& parts);

// All parts in their order. Throws DataError, naming `source`, for what is no zip, is damaged or
// encrypted, has a name twice, more than `most_parts`, or a part of more than `most_bytes`.
std::vector<ZipPart> read_zip(std::string_view zip, const std::string& source,
                              std::size_t most_parts, std::size_t most_bytes);

}  // namespace mamelon::detail
