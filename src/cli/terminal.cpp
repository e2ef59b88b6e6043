#include "cli/terminal.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>

#include <sys/ioctl.h>
#include <unistd.h>

#include "mamelon/error.h"

namespace mamelon::cli {
namespace {

std::string_view environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string_view() : std::string_view(value);
}

std::string padded(const std::string& text, std::size_t width, bool right) {
  const std::size_t shown = visible_width(text);
  const std::string space(width > shown ? width - shown : 0, ' ');
  return right ? space + text : text + space;
}

std::string without_trailing_spaces(std::string line) {
  while (!line.empty() && line.back() == ' ') line.pop_back();
  return line;
}

std::string as_record(const Terminal& terminal, const std::vector<Column>& columns,
                      const std::vector<std::string>& row) {
  std::string out;
  for (std::size_t c = 0; c < columns.size() && c < row.size(); ++c) {
    if (row[c].empty()) continue;
    const std::string line = columns[c].header.empty() ? row[c] : columns[c].header + ": " + row[c];
    out += (c == 0 ? "  " : "    ") + wrapped(line, terminal.width - 4, 6) + "\n";
  }
  return out;
}

// Length of the escape sequence of a swatch at the start of `text`; 0 where there is none.
std::size_t swatch_escape(std::string_view text) {
  if (text.starts_with("\x1b[0m")) return 4;
  constexpr std::string_view start = "\x1b[48;2;";
  if (!text.starts_with(start)) return 0;
  const std::size_t end = text.find_first_not_of("0123456789;", start.size());
  return end != std::string_view::npos && text[end] == 'm' ? end + 1 : 0;
}

std::vector<std::string> shown_cells(std::vector<std::string> cells) {
  for (std::string& cell : cells) {
    // A line feed in a cell would begin a row that is none, a tab another column.
    std::replace_if(
        cell.begin(), cell.end(), [](char c) { return c == '\n' || c == '\t'; }, ' ');
    cell = shown(cell);
  }
  return cells;
}

}  // namespace

Terminal Terminal::of_stdout() {
  Terminal terminal;
  const bool is_terminal = ::isatty(STDOUT_FILENO) == 1;
  const std::string_view depth = environment("COLORTERM");
  terminal.swatches =
      is_terminal && environment("NO_COLOR").empty() && (depth == "truecolor" || depth == "24bit");
  std::size_t columns = 0;
  const std::string_view stated = environment("COLUMNS");
  std::from_chars(stated.data(), stated.data() + stated.size(), columns);
  if (columns == 0 && is_terminal) {
    winsize size{};
    if (::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) columns = size.ws_col;
  }
  if (columns != 0) terminal.width = std::clamp<std::size_t>(columns, 24, 400);
  return terminal;
}

std::string swatch(const Terminal& terminal, const Lab& lab, const Viewing& viewing) {
  if (!terminal.swatches) return {};
  const DisplayColour colour = to_display(lab, white_point(viewing));
  const auto byte = [](double value) { return std::to_string(std::lround(255 * value)); };
  return "\x1b[48;2;" + byte(colour.r) + ";" + byte(colour.g) + ";" + byte(colour.b) +
         "m    \x1b[0m";
}

std::size_t visible_width(std::string_view text) {
  std::size_t width = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\x1b') {
      while (i < text.size() && text[i] != 'm') ++i;
    } else if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U) {
      ++width;
    }
  }
  return width;
}

std::string wrapped(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  std::size_t column = 0;
  bool first = true;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t length = visible_width(word);
    if (!first && column + 1 + length > width) {
      out += "\n" + std::string(indent, ' ');
      column = indent;
    } else if (!first) {
      out += ' ';
      ++column;
    }
    out += word;
    column += length;
    first = false;
  }
  return out;
}

std::string paragraph(const Terminal& terminal, std::string_view text, std::size_t indent) {
  return wrapped(text, terminal.width, indent) + "\n";
}

Column right(const char* header) {
  Column column(header);
  column.right = true;
  return column;
}

std::string shown(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  std::size_t plain = 0;  // start of what has not been taken over yet
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t kept = text[i] == '\n' || text[i] == '\t' ? 1 : swatch_escape(text.substr(i));
    if (kept == 0) {
      ++i;
      continue;
    }
    out += printable(text.substr(plain, i - plain));
    out += text.substr(i, kept);
    i += kept;
    plain = i;
  }
  return out + printable(text.substr(plain));
}

void write_table(const Terminal& terminal, const LongTable& table,
                 const std::function<void(const std::string& text)>& write) {
  constexpr std::size_t gap = 2;
  constexpr std::size_t narrowest_text = 16;
  const std::vector<Column>& columns = table.columns;
  std::vector<std::size_t> widths;
  for (const Column& column : columns) widths.push_back(visible_width(column.header));
  for (std::size_t i = 0; i < table.count; ++i) {
    const std::vector<std::string> row = shown_cells(table.row(i));
    for (std::size_t c = 0; c < row.size(); ++c) {
      widths[c] = std::max(widths[c], visible_width(row[c]));
    }
  }
  std::size_t before_last = gap;
  for (std::size_t c = 0; c + 1 < widths.size(); ++c) {
    if (widths[c] > 0) before_last += widths[c] + gap;
  }
  const bool records = before_last + std::min(widths.back(), narrowest_text) > terminal.width;
  const auto line = [&](const std::vector<std::string>& cells) {
    std::string out(gap, ' ');
    for (std::size_t c = 0; c + 1 < cells.size(); ++c) {
      if (widths[c] > 0) out += padded(cells[c], widths[c], columns[c].right) + "  ";
    }
    const std::string& last = cells.back();
    if (before_last + visible_width(last) <= terminal.width) {
      out += padded(last, columns.back().right ? widths.back() : 0, columns.back().right);
    } else {
      std::string broken = wrapped(last, terminal.width - before_last, 0);
      for (std::size_t at = broken.find('\n'); at != std::string::npos;
           at = broken.find('\n', at + 1)) {
        broken.insert(at + 1, before_last, ' ');
      }
      out += broken;
    }
    return without_trailing_spaces(out) + "\n";
  };
  if (!records) {
    std::vector<std::string> headers;
    headers.reserve(columns.size());
    for (const Column& column : columns) headers.push_back(column.header);
    write(line(headers));
  }
  for (std::size_t i = 0; i < table.count; ++i) {
    const std::vector<std::string> row = shown_cells(table.row(i));
    write(records ? as_record(terminal, columns, row) : line(row));
  }
}

std::string table(const Terminal& terminal, const std::vector<Column>& columns,
                  const std::vector<std::vector<std::string>>& rows) {
  std::string out;
  write_table(terminal, {columns, rows.size(), [&rows](std::size_t i) { return rows[i]; }},
              [&out](const std::string& text) { out += text; });
  return out;
}

}  // namespace mamelon::cli
