#include "io/table.h"

#include <algorithm>
#include <sstream>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/numbers.h"

namespace mamelon {
namespace detail {
namespace {

bool is_units_word(const std::string& cell) {
  return cell.empty() || cell == "%" || cell == "nm" || cell == "1" || cell == "-" ||
         cell == "[%]" || cell == "(%)" || cell == "mm" || cell == "[-]" || cell == "fraction" ||
         cell == "percent";
}

std::string_view name_of(char delimiter) {
  return delimiter == '\t' ? "tab" : delimiter == ';' ? "semicolon" : "comma";
}

}  // namespace

TableReader::TableReader(std::istream& in, std::string source, const Viewing& viewing,
                         const TableOptions& options)
    : csv_(in, std::move(source)) {
  if (!csv_.next(row_)) {
    throw DataError(csv_.source() + ": is empty; give a header row label,L,a,b or label,380,390,…");
  }
  reader_.emplace(columns_of(row_.cells, csv_.source() + ": line " + std::to_string(row_.line),
                             {.resample_nm = options.resample_nm, .stated = {}}),
                  csv_.source(), viewing, csv_.decimal_comma());
  read_units_row();
}

void TableReader::read_units_row() {
  pending_ = csv_.next(row_);
  if (!pending_ || row_.cells.size() != columns().count ||
      !std::all_of(row_.cells.begin(), row_.cells.end(), is_units_word)) {
    return;
  }
  const bool percent =
      std::any_of(columns().bands.begin(), columns().bands.end(), [&](std::size_t i) {
        return row_.cells[i].find('%') != std::string::npos || row_.cells[i] == "percent";
      });
  if (percent) reader_->set_percent();
  pending_ = false;
}

bool TableReader::next(TableRow& row) {
  if (!pending_ && !csv_.next(row_)) return false;
  pending_ = false;
  ++given_;
  row = reader_->read(row_.cells, row_.line, given_);
  return true;
}

std::string explain(const TableReader& reader) {
  const Columns& columns = reader.columns();
  std::string out = std::string(reader.csv().encoding()) + ", cells apart by " +
                    std::string(name_of(reader.csv().delimiter())) + ", decimal " +
                    (reader.csv().decimal_comma() ? "comma" : "point") + "\n";
  for (std::size_t i = 0; i < columns.meanings.size(); ++i) {
    out += "column " + std::to_string(i + 1) + " \"" + columns.meanings[i].header +
           "\": " + columns.meanings[i].meaning + "\n";
  }
  if (columns.has_curve()) {
    out += std::string("reflectance values are ") + (columns.percent ? "percent" : "fractions") +
           "; the colour is computed from them\n";
    if (columns.resampled) {
      out += "spectra are resampled to " + format_short(columns.grid.first_nm, 6) + "–" +
             format_short(columns.grid.last_nm(), 6) + " nm in steps of " +
             format_short(columns.grid.step_nm, 5) + " nm\n";
    }
  } else if (columns.has_lab()) {
    out += "the colour is the CIELAB as given\n";
  } else {
    out += "the colour is computed from tristimulus values, 100 for the perfect diffuser\n";
  }
  return out;
}

}  // namespace detail

namespace {

// Reads on as long as the table stays within the limit.
bool next_within_limit(detail::TableReader& reader, detail::TableRow& row, std::size_t rows,
                       const std::string& source) {
  if (!reader.next(row)) return false;
  if (rows < limits::table_rows) return true;
  throw DataError(source + ", line " + std::to_string(row.line) + ": more than " +
                  std::to_string(limits::table_rows) + " rows; cut the table into parts");
}

}  // namespace

std::vector<Reading> parse_table(std::string_view csv, const std::string& source,
                                 const Viewing& viewing, const TableOptions& options) {
  std::istringstream in{std::string(csv)};
  detail::TableReader reader(in, source, viewing, options);
  const std::string digest = sha256_hex(csv);
  std::vector<Reading> readings;
  detail::TableRow row;
  while (next_within_limit(reader, row, readings.size(), source)) {
    readings.push_back(detail::reading_of(row, viewing, "read_table", digest));
  }
  if (readings.empty()) throw DataError(source + ": has a header and no row of values");
  return readings;
}

std::vector<RepeatReading> read_repeats(const std::filesystem::path& file, const Viewing& viewing,
                                        const TableOptions& options) {
  const std::string csv = read_file(file, limits::table_bytes);
  std::istringstream in{csv};
  detail::TableReader reader(in, file.string(), viewing, options);
  if (!reader.columns().label) {
    throw DataError(file.string() +
                    ": line 1: no column names the tab that was read; call it label or tab");
  }
  const std::string digest = sha256_hex(csv);
  std::vector<RepeatReading> repeats;
  detail::TableRow row;
  while (next_within_limit(reader, row, repeats.size(), file.string())) {
    repeats.push_back({.reading = detail::reading_of(row, viewing, "read_table", digest),
                       .operator_name = row.operator_name,
                       .day = row.day,
                       .instrument = row.instrument,
                       .row = row.line});
  }
  if (repeats.empty()) throw DataError(file.string() + ": has a header and no row of values");
  return repeats;
}

std::vector<Reading> read_table(const std::filesystem::path& file, const Viewing& viewing,
                                const TableOptions& options) {
  return parse_table(read_file(file, limits::table_bytes), file.string(), viewing, options);
}

}  // namespace mamelon
