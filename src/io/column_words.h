#pragma once
// What words of tables mean, in the languages of benches that export them.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace mamelon::detail {

// Lower case, with all that separates words left out.
std::string lowered(std::string_view text);

// A text as one word: lower case, without blanks and accents.
std::string word_of(const std::string& text);

// One meaning with the words for it, apart by blanks.
struct Meaning {
  std::string_view canonical;
  std::string_view words;
};

// Place of a word in a list of words, or npos.
std::size_t place_of(std::string_view word, std::string_view list);

// Nothing for a word that has none of the meanings.
std::string_view canonical_of(std::string_view word, std::span<const Meaning> meanings);

// What the columns of tables of readings mean. Of several names the one that stands first in the
// list of `label` is the label.
std::span<const Meaning> reading_columns();

// Meanings that the user gives to headers: a word such as `tab` or `L` and the header.
using ColumnNames = std::vector<std::pair<std::string, std::string>>;

// Puts into `meanings`, one a header, what the user says of them. Throws ArgumentError for names
// that the header does not have or that mean nothing; `can_mean` tells what columns can mean.
void take_names(std::vector<std::string_view>& meanings, const std::vector<std::string>& header,
                const ColumnNames& names, std::span<const Meaning> known, std::string_view can_mean,
                const std::string& where);

}  // namespace mamelon::detail
