#pragma once
// Rows of delimited text (RFC 4180 and its regional kin), one at a time.

#include <cstddef>
#include <istream>
#include <string>
#include <string_view>
#include <vector>

#include "io/text_stream.h"

namespace mamelon::detail {

struct CsvRow {
  std::size_t line = 0;  // of its first character, counted from 1
  std::vector<std::string> cells;
};

class CsvReader {
 public:
  // Tells the delimiter (tab, semicolon or comma) and the decimal mark from the first lines.
  CsvReader(std::istream& in, std::string source);

  // The next row that is not empty and not a comment (`#`); cells without the spaces around them.
  // Throws DataError for a quote that is never closed and for a row that is too long.
  bool next(CsvRow& row);

  // How many characters have been looked at: what reading costs, which grows as the file does.
  [[nodiscard]] std::size_t characters_visited() const {
    return lines_.characters_visited() + visited_;
  }

  [[nodiscard]] char delimiter() const { return delimiter_; }
  [[nodiscard]] bool decimal_comma() const { return decimal_comma_; }
  [[nodiscard]] std::string_view encoding() const { return lines_.encoding(); }
  [[nodiscard]] const std::string& source() const { return lines_.source(); }

 private:
  void sniff();
  [[noreturn]] void refuse(std::size_t line, const std::string& why);

  LineReader lines_;
  std::size_t visited_ = 0;
  char delimiter_ = ',';
  bool decimal_comma_ = false;
};

}  // namespace mamelon::detail
