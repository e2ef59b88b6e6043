#pragma once
// What the columns and cells of a table of drawdowns mean, in seven languages.

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "mamelon/drawdown.h"

#include "io/column_words.h"

namespace mamelon::detail {

struct DrawdownColumn {
  std::string_view word;   // what the column means
  std::string_view name;   // as it is written
  std::string_view holds;  // what a cell of it looks like
};
std::span<const DrawdownColumn> drawdown_columns();
const DrawdownColumn& drawdown_column(std::string_view word);

// What a header means: the word of a column, a wavelength aside; `unused` for what a table of
// readings may hold beside; nothing where it is not known. A unit of mm may follow.
std::string_view drawdown_meaning(const std::string& header);
// Of several names of the specimen the one of the lowest rank is meant.
std::size_t specimen_rank(const std::string& header);

// The meanings that `take_names` may give, with the same in words.
std::span<const Meaning> drawdown_meanings();
std::string_view drawdown_can_mean();

// What the cell `word` (as `word_of` has it) of a column says: none, contact, airgap, internal,
// external, smooth, rough or endless; the word itself where it is none of them.
std::string cell_meaning(std::string_view column, const std::string& word);

// Nothing for a word that is no geometry.
std::optional<Geometry> geometry_of_word(const std::string& word);

}  // namespace mamelon::detail
