#include "io/csv.h"

#include <algorithm>
#include <cctype>
#include <utility>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

// A row longer than this is a quote that was never closed, or no table at all.
constexpr std::size_t longest_row = std::size_t{1} << 20U;

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::string trimmed(std::string text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
  while (!text.empty() && blank(text.back())) text.pop_back();
  std::size_t first = 0;
  while (first < text.size() && blank(text[first])) ++first;
  text.erase(0, first);
  return text;
}

// Splits one record; false when it ends inside quotes.
bool split(std::string_view line, char delimiter, std::vector<std::string>& cells) {
  cells.clear();
  std::string cell;
  bool quoted = false;
  bool was_quoted = false;
  const auto finish = [&] {
    cells.push_back(was_quoted ? cell : trimmed(cell));
    cell.clear();
    was_quoted = false;
  };
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted) {
      if (c != '"') {
        cell += c;
      } else if (i + 1 < line.size() && line[i + 1] == '"') {
        cell += '"';
        ++i;
      } else {
        quoted = false;
      }
    } else if (c == '"' && trimmed(cell).empty() && !was_quoted) {
      cell.clear();
      quoted = was_quoted = true;
    } else if (c == delimiter) {
      finish();
    } else if (!was_quoted || (c != ' ' && c != '\r')) {
      cell += c;
    }
  }
  finish();
  return !quoted;
}

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

// Whether `mark` stands between two digits as the only mark of the cell.
bool has_decimal(std::string_view cell, char mark) {
  const auto at = cell.find(mark);
  return at != std::string_view::npos && at > 0 && at + 1 < cell.size() && is_digit(cell[at - 1]) &&
         is_digit(cell[at + 1]) &&
         cell.find_first_not_of("0123456789+-.,eE% ") == std::string_view::npos;
}

}  // namespace

CsvReader::CsvReader(std::istream& in, std::string source)
    : source_(std::move(source)), text_(in, source_) {
  fill();
  sniff();
}

bool CsvReader::fill() {
  buffer_.erase(0, at_);
  at_ = 0;
  if (!ended_ && !text_.read(buffer_)) ended_ = true;
  return !ended_;
}

void CsvReader::sniff() {
  const std::string_view head(buffer_);
  std::size_t begin = 0;
  bool first = true;
  bool points = false;
  bool commas = false;
  std::vector<std::string> cells;
  for (int lines = 0; lines < 200 && begin < head.size(); ++lines) {
    const std::size_t end = std::min(head.find_first_of("\r\n", begin), head.size());
    const std::string_view line = head.substr(begin, end - begin);
    begin = end + 1;
    if (line.empty() || line.front() == '#') continue;
    if (first && line.size() == 5 && line.starts_with("sep=")) {
      delimiter_ = line[4];
      at_ = begin;
      ++line_;
      if (at_ < head.size() && head[end] == '\r' && head[at_] == '\n') ++at_;
      first = false;
      continue;
    }
    if (first) delimiter_ = delimiter_of(line);
    first = false;
    split(line, delimiter_, cells);
    for (const std::string& cell : cells) {
      points = points || has_decimal(cell, '.');
      commas = commas || has_decimal(cell, ',');
    }
  }
  decimal_comma_ = delimiter_ != ',' && commas && !points;
}

bool CsvReader::take_line(std::string& line) {
  std::size_t searched = at_;
  for (;;) {
    const std::size_t end = buffer_.find_first_of("\r\n", searched);
    // A carriage return at the very end of the buffer may have its line feed in the next piece.
    const bool whole = end != std::string::npos && (end + 1 < buffer_.size() || ended_);
    if (whole) {
      line.append(buffer_, at_, end - at_);
      at_ = end + 1;
      if (buffer_[end] == '\r' && at_ < buffer_.size() && buffer_[at_] == '\n') ++at_;
      ++line_;
      return true;
    }
    if (buffer_.size() - at_ > longest_row) {
      throw DataError(source_ + ": line " + std::to_string(line_ + 1) +
                      ": is longer than a row of a table can be");
    }
    if (!ended_) {
      fill();
      searched = 0;
      continue;
    }
    if (at_ >= buffer_.size()) return false;
    line.append(buffer_, at_);
    at_ = buffer_.size();
    ++line_;
    return true;
  }
}

bool CsvReader::next(CsvRow& row) {
  std::string line;
  while (take_line(line)) {
    row.line = line_;
    if (line.empty() || line.front() == '#') {
      line.clear();
      continue;
    }
    while (!split(line, delimiter_, row.cells)) {
      line += '\n';
      if (line.size() > longest_row || !take_line(line)) {
        at_ = buffer_.size();
        ended_ = true;
        throw DataError(source_ + ": line " + std::to_string(row.line) +
                        ": a quote is opened and never closed");
      }
    }
    line.clear();
    const bool blank = std::all_of(row.cells.begin(), row.cells.end(),
                                   [](const std::string& cell) { return cell.empty(); });
    if (!blank) return true;
  }
  return false;
}

}  // namespace mamelon::detail
