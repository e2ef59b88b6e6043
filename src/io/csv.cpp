#include "io/csv.h"

#include <algorithm>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/limits.h"

namespace mamelon::detail {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

void trim(std::string& text) {
  while (!text.empty() && is_blank(text.back())) text.pop_back();
  std::size_t first = 0;
  while (first < text.size() && is_blank(text[first])) ++first;
  text.erase(0, first);
}

// Splits one record, a line at a time, so that each character is looked at once however many lines
// a quote spans.
class Splitter {
 public:
  Splitter(char delimiter, std::vector<std::string>& cells) : delimiter_(delimiter), cells_(cells) {
    cells_.clear();
  }

  // Takes the record's next line; false while it ends inside quotes.
  bool take(std::string_view line) {
    for (std::size_t i = 0; i < line.size(); ++i) {
      const char c = line[i];
      if (quoted_) {
        if (c != '"') {
          cell_ += c;
        } else if (i + 1 < line.size() && line[i + 1] == '"') {
          cell_ += '"';
          ++i;
        } else {
          quoted_ = false;
        }
      } else if (c == '"' && blank_ && !was_quoted_) {
        cell_.clear();
        quoted_ = was_quoted_ = true;
      } else if (c == delimiter_) {
        finish();
      } else if (!was_quoted_ || (c != ' ' && c != '\r')) {
        cell_ += c;
        blank_ = blank_ && is_blank(c);
      }
    }
    if (quoted_) {
      cell_ += '\n';
      return false;
    }
    finish();
    return true;
  }

 private:
  void finish() {
    if (!was_quoted_) trim(cell_);
    cells_.push_back(std::move(cell_));
    cell_.clear();
    was_quoted_ = false;
    blank_ = true;
  }

  char delimiter_;
  std::vector<std::string>& cells_;
  std::string cell_;
  bool quoted_ = false;
  bool was_quoted_ = false;
  bool blank_ = true;  // the cell so far is spaces
};

char delimiter_of(std::string_view line) {
  bool quoted = false;
  bool semicolon = false;
  for (const char c : line) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\t') return '\t';
    if (c == ';') semicolon = true;
  }
  return semicolon ? ';' : ',';
}

// Whether `mark` stands between two digits as the only mark of the cell: a date has two.
bool has_decimal(std::string_view cell, char mark) {
  const auto at = cell.find_first_of(".,");
  return at != std::string_view::npos && cell[at] == mark && at > 0 && at + 1 < cell.size() &&
         is_digit(cell[at - 1]) && is_digit(cell[at + 1]) &&
         cell.find_first_of(".,", at + 1) == std::string_view::npos &&
         cell.find_first_not_of("0123456789+-.,eE% ") == std::string_view::npos;
}

}  // namespace

CsvReader::CsvReader(std::istream& in, std::string source) : lines_(in, std::move(source)) {
  sniff();
}

void CsvReader::sniff() {
  const std::string_view head = lines_.ahead();
  std::size_t begin = 0;
  bool first = true;
  bool stated = false;
  std::size_t points = 0;
  std::size_t commas = 0;
  std::vector<std::string> cells;
  for (int lines = 0; lines < 200 && begin < head.size(); ++lines) {
    const std::size_t end = std::min(head.find_first_of("\r\n", begin), head.size());
    const std::string_view line = head.substr(begin, end - begin);
    begin = end + 1;
    if (line.empty() || line.front() == '#') continue;
    if (first && line.size() == 5 && line.starts_with("sep=")) {
      delimiter_ = line[4];
      stated = true;
      first = false;
      continue;
    }
    if (first) delimiter_ = delimiter_of(line);
    first = false;
    Splitter(delimiter_, cells).take(line);
    for (const std::string& cell : cells) {
      points += has_decimal(cell, '.') ? 1U : 0U;
      commas += has_decimal(cell, ',') ? 1U : 0U;
    }
  }
  // A day such as 1.3 or a name such as 2.5 in some rows does not outweigh their values.
  decimal_comma_ = delimiter_ != ',' && commas > points;
  if (stated) {
    std::string passed_over;
    while (lines_.next(passed_over) && !passed_over.starts_with("sep=")) {
    }
  }
}

void CsvReader::refuse(std::size_t line, const std::string& why) {
  lines_.end();
  throw DataError(source() + ": line " + std::to_string(line) + ": " + why);
}

bool CsvReader::next(CsvRow& row) {
  std::string line;
  while (lines_.next(line)) {
    row.line = lines_.number();
    if (line.empty() || line.front() == '#') continue;
    Splitter splitter(delimiter_, row.cells);
    for (std::size_t taken = line.size(); !splitter.take(line); taken += line.size()) {
      visited_ += line.size();
      if (taken > limits::table_row_bytes || !lines_.next(line)) {
        refuse(row.line, "a quote is opened and never closed");
      }
    }
    visited_ += line.size();
    if (row.cells.size() > limits::table_columns) {
      refuse(row.line, "has " + std::to_string(row.cells.size()) + " cells; at most " +
                           std::to_string(limits::table_columns) + " are read");
    }
    const bool blank = std::all_of(row.cells.begin(), row.cells.end(),
                                   [](const std::string& cell) { return cell.empty(); });
    if (!blank) return true;
  }
  return false;
}

}  // namespace mamelon::detail
