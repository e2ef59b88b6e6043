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
  // Throws DataError for a quote that is never closed.
  bool next(CsvRow& row);

  [[nodiscard]] char delimiter() const { return delimiter_; }
  [[nodiscard]] bool decimal_comma() const { return decimal_comma_; }
  [[nodiscard]] std::string_view encoding() const { return text_.encoding(); }
  [[nodiscard]] const std::string& source() const { return source_; }

 private:
  void sniff();
  bool fill();
  bool take_line(std::string& line);

  std::string source_;
  TextStream text_;
  std::string buffer_;
  std::size_t at_ = 0;
  std::size_t line_ = 0;
  bool ended_ = false;
  char delimiter_ = ',';
  bool decimal_comma_ = false;
};

}  // namespace mamelon::detail
