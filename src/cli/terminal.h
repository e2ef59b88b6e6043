#pragma once
// Text for people: aligned tables that fit the terminal, and colour where it can be shown.

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/colour.h"
#include "mamelon/viewing.h"

namespace mamelon::cli {

struct Terminal {
  bool swatches = false;  // 24-bit colour can be shown
  std::size_t width = 100;

  // Of standard output: a terminal's width and what it says of its colours; a pipe gets neither
  // colour nor a width limit. `NO_COLOR` and `COLUMNS` are respected.
  static Terminal of_stdout();
};

// Two cells of the colour, or nothing where it cannot be shown.
std::string swatch(const Terminal& terminal, const Lab& lab, const Viewing& viewing);

// Characters that `text` takes on a line; escape sequences take none.
std::size_t visible_width(std::string_view text);

// `text` broken at spaces; lines after the first begin with `indent` spaces.
std::string wrapped(std::string_view text, std::size_t width, std::size_t indent);
// The same for the terminal, with a line feed after it.
std::string paragraph(const Terminal& terminal, std::string_view text, std::size_t indent = 2);

struct Column {
  Column(const char* shown) : header(shown) {}
  std::string header;
  bool right = false;  // set to the right, as numbers are
};
Column right(const char* header);

// `text` for a terminal: control characters, of which a label may be full, as `\xNN`; line feeds,
// tabs and the escapes of a swatch stay.
std::string shown(std::string_view text);

// Rows under a header. Where the rows are wider than the terminal the last column is broken at
// spaces; where even that does not fit, every row becomes lines of `header: value`.
std::string table(const Terminal& terminal, const std::vector<Column>& columns,
                  const std::vector<std::vector<std::string>>& rows);

// The same of rows that are made when they are needed, twice each, and given away piece by piece,
// so that a million of them need no memory.
struct LongTable {
  std::vector<Column> columns;
  std::size_t count = 0;
  std::function<std::vector<std::string>(std::size_t row)> row;
};
void write_table(const Terminal& terminal, const LongTable& table,
                 const std::function<void(const std::string& text)>& write);

}  // namespace mamelon::cli
