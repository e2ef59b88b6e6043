#include "io/table.h"

#include <algorithm>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/numbers.h"
#include "io/measurements.h"

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

TableReader::TableReader(std::istream& in, std::string source, const std::optional<Viewing>& given,
                         const TableOptions& options)
    : csv_(in, std::move(source)), viewing_(given ? *given : viewing_from_string("D65/2")) {
  if (!csv_.next(row_)) {
    throw DataError(csv_.source() + ": is empty; give a header row label,L,a,b or label,380,390,…");
  }
  Columns columns = columns_of(row_.cells, csv_.source() + ": line " + std::to_string(row_.line),
                               {.resample_nm = options.resample_nm, .stated = {}}, options.columns);
  read_units_row(columns);
  if (pending_ && columns.states_viewing()) {
    const std::string where = csv_.source() + ": line " + std::to_string(row_.line);
    StatedViewing stated = stated_viewing(columns, row_.cells, where);
    if (stated.illuminant && !stated.observer && given) stated.observer = given->observer;
    if (stated.illuminant || stated.observer) {
      if (!stated.illuminant && given) stated.illuminant = given->illuminant.name();
      viewing_ = settle_viewing(stated, given, !columns.has_curve(), where);
    }
  }
  reader_.emplace(std::move(columns), csv_.source(), viewing_, csv_.decimal_comma());
}

void TableReader::read_units_row(Columns& columns) {
  pending_ = csv_.next(row_);
  if (!pending_ || row_.cells.size() != columns.count ||
      !std::all_of(row_.cells.begin(), row_.cells.end(), is_units_word)) {
    return;
  }
  if (std::any_of(columns.bands.begin(), columns.bands.end(), [&](std::size_t i) {
        return row_.cells[i].find('%') != std::string::npos || row_.cells[i] == "percent";
      })) {
    columns.set_percent();
  }
  if (columns.has_xyz() &&
      (row_.cells[*columns.y] == "1" || row_.cells[*columns.y] == "fraction")) {
    columns.full_xyz = 1;
  }
  pending_ = csv_.next(row_);
}

bool TableReader::next(TableRow& row) {
  if (!pending_ && !csv_.next(row_)) {
    if (good_ > 0) reader_->check_units();
    return false;
  }
  pending_ = false;
  if (++given_ > limits::table_rows) {
    throw DataError(csv_.source() + ", line " + std::to_string(row_.line) + ": more than " +
                    std::to_string(limits::table_rows) + " rows; cut the table into parts");
  }
  row = reader_->read(row_.cells, row_.line, given_);
  ++good_;
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
           "; the colour is computed from them" +
           (columns.has_lab() ? ", not from the L*, a*, b* beside them\n" : "\n");
    if (columns.resampled) {
      out += "spectra are resampled to " + format_short(columns.grid.first_nm, 6) + "–" +
             format_short(columns.grid.last_nm(), 6) + " nm in steps of " +
             format_short(columns.grid.step_nm, 5) + " nm\n";
    }
  } else if (columns.has_lab()) {
    out += "the colour is the CIELAB as given\n";
  } else {
    out += "the colour is computed from tristimulus values, " + format_short(columns.full_xyz, 4) +
           " for the perfect diffuser\n";
  }
  out += "colours are under " + to_string(reader.viewing()) + "\n";
  return out;
}

void each_csv_row(ByteSource& source, const std::optional<Viewing>& given,
                  const TableOptions& options, const RowSink& sink) {
  TableReader reader(source.stream(), source.name(), given, options);
  TableRow row;
  std::size_t rows = 0;
  while (reader.next(row)) {
    sink(std::move(row), reader.viewing());
    ++rows;
  }
  if (rows == 0) throw DataError(source.name() + ": has a header and no row of values");
}

namespace {

std::vector<Reading> readings_of_csv(ByteSource source, const Viewing& viewing,
                                     const TableOptions& options) {
  ReadingList list(source);
  std::vector<Reading> readings;
  each_csv_row(source, viewing, options, [&](TableRow&& row, const Viewing& under) {
    list.make_room(row);
    readings.push_back(reading_of(row, under, "read_table", source.digest()));
  });
  return readings;
}

}  // namespace
}  // namespace detail

std::vector<Reading> parse_table(std::string_view csv, const std::string& source,
                                 const Viewing& viewing, const TableOptions& options) {
  return detail::readings_of_csv(detail::ByteSource::of_bytes(csv, source), viewing, options);
}

std::vector<Reading> read_table(const std::filesystem::path& file, const Viewing& viewing,
                                const TableOptions& options) {
  return detail::readings_of_csv(detail::ByteSource::of_file(file, limits::table_bytes), viewing,
                                 options);
}

}  // namespace mamelon
